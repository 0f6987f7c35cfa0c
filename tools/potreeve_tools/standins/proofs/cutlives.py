"""The lives that cuts.py cuts the power in: what lies on the flash when each begins, and what goes on in it."""

import json

from potreeve import keep
from potreeve.logic import errors, record, segments
from potreeve.logic.state import fresh
from stores import fill

# Records that wait for a broker in a log written beforehand.
UNSENT = 3

# More wakes than it takes for a memory that began with its day's water counted as given to give some.
FIRST_DAYS = 120


def prepare_tending(rig, texts):
    """A rig at work: its owner has seen to it, its first day is over, a dose begun."""
    rig.power_on()
    rig.send_settings(json.dumps(rig.settings).encode())
    for _ in range(2):
        rig.sill.press_ms = 2600
        rig.wakes(1)
    rig.wakes(FIRST_DAYS, lambda: rig.pulses > 0)
    if not rig.pulses:
        raise ValueError("the rig never gave a pulse: nothing would be shown")
    rig.power_off()


def act_wakes(rig, texts):
    rig.wakes(4)


def act_new_settings(rig, texts):
    rig.send_settings(texts["new"])
    rig.wakes(1)


def act_bad_settings(rig, texts):
    rig.texts.append(texts["bad"])
    rig.store.replace(keep.SETTINGS, texts["bad"])
    rig.texts = [texts["bad"]]
    rig.wakes(1)


def prepare_bad_settings(rig, texts):
    prepare_tending(rig, texts)
    rig.may_err = errors.SETTINGS


def prepare_nearly_full(rig, texts):
    """The newest segment takes one more record."""
    prepare_tending(rig, texts)
    rig.power_on()
    _write_segments(rig, 1, segments.RECORDS - 1)
    rig.power_off()


def prepare_queue(rig, texts):
    """A broker listens; the newest segment is full, its last records wait, the next wake's will too."""
    prepare_tending(rig, texts)
    rig.power_on()
    _write_segments(rig, 1, segments.RECORDS)
    rig.power_off()
    rig.broker = True


def act_sends(rig, texts):
    rig.wakes(1)


def prepare_limit(rig, texts):
    """As many segments as there may be, the newest full."""
    prepare_tending(rig, texts)
    rig.power_on()
    _write_segments(rig, rig.most, segments.RECORDS)
    rig.power_off()


def prepare_full(rig, texts):
    """No room on the flash: the log must give way."""
    prepare_tending(rig, texts)
    rig.power_on()
    _write_segments(rig, 3, segments.RECORDS - 1)
    fill(rig.store, "filler")
    rig.power_off()
    rig.may_drop = True
    rig.may_err = errors.LEDGER | errors.NOT_KEPT


def _write_segments(rig, count, in_last):
    """Replace the log by `count` segments, the last with so many records."""
    for name in rig.store.names():
        if name.startswith(segments.PREFIX):
            rig.store.remove(name)
    rig.acked = b""
    seq = 0
    for number in range(1, count + 1):
        lines = []
        for _ in range(in_last if number == count else segments.RECORDS):
            lines.append(_line(rig, seq))
            seq += 1
        head = segments.encode_head(number, fresh(len(rig.settings["channels"])))
        body = b"".join(lines)
        rig.store.replace(segments.name(number), head + body)
        rig.acked += body
    # All but the last few have been sent.
    rig.waits = count, segments.HEAD_BYTES + (in_last - UNSENT) * record.RECORD_BYTES
    rig.store.replace(segments.MARK, segments.encode_mark(rig.waits))


def _line(rig, seq):
    count = len(rig.settings["channels"])
    head = (count, seq) + (0,) * (len(record.HEAD_NAMES) - 4)
    return record.encode(head, [(0,) * len(record.POT_NAMES)] * count)


def prepare_nothing(rig, texts):
    """An empty flash, and pots so dry that whoever may would water them."""
    rig.sill.pm = [600] * len(rig.sill.pm)
    rig.may_pump = False


def act_first_boot(rig, texts):
    """As rp2's own first boot does it: format, then look for settings, which come later."""
    rig.wakes(1)
    rig.send_settings(json.dumps(rig.settings).encode())
    rig.wakes(2)


SCENARIOS = {
    "wake": (prepare_tending, act_wakes),
    "settings": (prepare_tending, act_new_settings),
    "bad-settings": (prepare_bad_settings, act_bad_settings),
    "rotation": (prepare_nearly_full, act_wakes),
    "queue": (prepare_queue, act_sends),
    "limit": (prepare_limit, act_wakes),
    "full": (prepare_full, act_wakes),
    "first": (prepare_nothing, act_first_boot),
}
