"""When the board sends, how long it may try, and what it says: the messages of the project's message document.

All times are proven seconds or measured milliseconds; no wall clock decides. Nothing here is asked before
the wake's water was given, and nothing that comes in changes more than the mark of the queue.
"""

import struct
from binascii import crc32

from potreeve.logic import record, recorded, segments
from potreeve.logic.units import DAY_S, clamp, const, div_up

# Files beside the log: what became of the last tries, and the name of this life of the log; owed.AIR is the third.
NAME = "sent.try"
BOOT = "sent.boot"
CA = "ca.der"

# What may be spent on one connection: on an access point joined before, on joining at all, in all (a Pico W joins in
# 3 to
# 8 s, pico-sdk issues 912 and 1165), in all after failed tries, and on the station's word or command at the end.
HINT_MS = 4000
JOIN_MS = 12000
MOST_MS = 20000
_TIRED_MS = const(14000)
ACK_MS = 3000
ASK_MS = 1500

# From so many failed tries on each waits twice as long as the one before, up to six hours. A try that ended in a reset
# waits half a day: the firmware must never hold its rig for starts that its radio causes (ladder.BOOT_FADE_S).
FREE_TRIES = 2
_LONGEST_S = const(6 * 3600)
_CRASHED_S = const(12 * 3600)

# A battery with less than this sends half as often, one near its reserve a quarter, one below it an eighth.
_LOW_PM = const(300)

# The board file's report_uah is one report on the air for so long, on top of being awake. ESP32: 136 mA in all then,
# against
# 120 mA published; RP2040: 112 mA against 50 to 80 (from memory), so it is never counted short.
REPORT_MS = 4000

# A promise holds though two tries fail, each as late as a sleep can make it; a timer is late by a twentieth.
_TRIES = const(3)
_LATE_PM = const(1060)
_PROMISE_MOST_S = const(604800)

SCHEMA = 1
_LOG_HEAD = "<2sBBIIIHHI"

_FORMAT = "<HIIIIBBB7s"
_MAGIC = const(0x5451)


_FIELDS = ("magic", "at_s", "wait_s", "every_s", "about", "fails", "trying", "alarm", "hint")


class Past:
    """What came of sending so far.

    at_s: proven second of the last try; wait_s: so long until the next; every_s: the interval that was promised;
    about: sum of what was last told of the rig itself; fails: in a row; trying: 1 while one is under way; alarm:
    signals.* told last; hint: see hal.radio.
    """

    magic = _MAGIC
    at_s = wait_s = every_s = about = fails = trying = alarm = 0
    hint = b""


def encode(past):
    """The file's bytes."""
    body = struct.pack(_FORMAT, *[getattr(past, name) for name in _FIELDS])
    return body + struct.pack("<I", crc32(body) & 0xFFFFFFFF)


def decode(data):
    """The Past in the file's bytes; a fresh one, that sends at once, from anything else."""
    past = Past()
    size = struct.calcsize(_FORMAT)
    if not data or len(data) != size + 4 or struct.unpack("<I", data[size:])[0] != crc32(data[:size]) & 0xFFFFFFFF:
        return past
    for name, value in zip(_FIELDS, struct.unpack(_FORMAT, data[:size])):
        setattr(past, name, value)
    if past.magic != _MAGIC:
        return Past()
    if past.hint == bytes(7):
        past.hint = b""
    if past.trying:
        # The try ended in a reset.
        ended(past, False)
        past.wait_s = _CRASHED_S
    return past


def due(past, up_s, alarm):
    """True when it is time to send. alarm: signals.* of this wake; a louder one than was told does not wait."""
    gone_s = up_s - past.at_s
    # Less than nothing: the memory was lost, and seconds count anew.
    return gone_s < 0 or gone_s >= past.wait_s or (alarm > past.alarm and not past.fails)


def begin(past, up_s):
    """Note that a try begins; stored before it, so that one which hangs the board is known of."""
    past.at_s = up_s
    past.trying = 1


def ended(past, well):
    """Note how it ended, and when to try again."""
    past.trying = 0
    if not well:
        past.hint = b""
    past.fails = 0 if well else clamp(past.fails + 1, 0, 255)
    wait_s = past.every_s
    for _ in range(clamp(past.fails - FREE_TRIES, 0, 6)):
        wait_s *= 2
    past.wait_s = max(past.every_s, min(wait_s, _LONGEST_S))


def interval_s(send_s, soc_pm, reserve_pm):
    """Seconds between two reports, by the battery's charge."""
    times = 1
    if soc_pm < reserve_pm:
        times = 8
    elif soc_pm < 2 * reserve_pm:
        times = 4
    elif soc_pm < _LOW_PM:
        times = 2
    return max(send_s, min(send_s * times, DAY_S))


def promise_s(every_s, sleep_s):
    """Seconds within which the next report comes, though two tries fail. sleep_s: longest sleep between two wakes."""
    return min(_TRIES * (every_s + sleep_s) * _LATE_PM // 1000, _PROMISE_MOST_S)


def budget_ms(fails):
    """Milliseconds for a connection, all in all, after so many failed tries."""
    return MOST_MS if fails < FREE_TRIES else _TIRED_MS


def extra_ms(air_ms, energy):
    """Awake time that draws what the radio drew in air_ms on top of being awake."""
    return div_up(div_up(air_ms * energy["report_uah"], REPORT_MS) * 3600000, energy["active_ua"] + energy["probe_ua"])


def boot_of(data):
    """The name of this life of the log from its file's bytes, or from random ones: 1..2**31 - 1; 0 where that gives
    none."""
    return struct.unpack("<I", data)[0] & 0x7FFFFFFF if data and len(data) == 4 else 0


def log_head(boot, come_from, place, count, due_s):
    """What stands before the records of one `log` message: see the message document."""
    return struct.pack(_LOG_HEAD, b"PL", SCHEMA, count, boot, come_from[0], place[0], come_from[1], place[1], due_s)


def taken(ack, place, count):
    """How many of the records from a place on a station's word takes in; ack: (segment, byte) or None."""
    if ack is None or ack < place:
        return 0
    # A later segment takes them all in.
    return count if ack[0] > place[0] else min((ack[1] - place[1]) // record.RECORD_BYTES, count)


def told(ack, boot, end):
    """(segment, byte) that a station's word acknowledges, or None where it is not for this log, or beyond its end."""
    if not isinstance(ack, dict) or ack.get("boot") != boot:
        return None
    number, at = ack.get("segment"), ack.get("byte")
    if not (_is_count(number) and _is_count(at)) or (number, at) > end:
        return None
    mark = segments.decode_mark(segments.encode_mark((number, at)))
    return mark if mark == (number, at) else None


def time_of(ack):
    """The station's time in it, Unix seconds; 0 where there is none."""
    time_s = ack.get("time_s") if isinstance(ack, dict) else 0
    return time_s if isinstance(time_s, int) else 0


def _is_count(value):
    return isinstance(value, int) and value is not True and value is not False and 0 <= value < 0x80000000


def report(line, rig, boot, due_s, names, firmware):
    """The `report` message as a dictionary; line: the newest record's bytes; names: of the pots."""
    head, pots = recorded.decode(line)
    told = {
        "v": SCHEMA,
        "rig": rig,
        "firmware": firmware,
        "boot": boot,
        "seq": head["seq"],
        "time_s": head["utc_s"] or None,
        "proven_s": head["up_s"],
        "due_s": due_s,
        "battery_mv": head["battery_mv"] or None,
        "charge_pm": head["soc_pm"],
        "battery_left_d": head["days_left"],
        "temperature_cdeg": _known(head["temp_cdeg"], record.NO_TEMP),
        "humidity_pm": _known(head["rh_pm"], record.NO_RH),
        "light_lx": _known(head["lx"], record.NO_LX),
        "tray_most_ml": head["tray_ml"],
        "rig_hold": head["hold"],
        "alarm": head["alarm"],
        "errors": head["errors"],
        "memory_lost": int(head["memory"] != 0),
        "pots": [
            {
                "pot": names[index],
                "moisture_pm": pot["pm"],
                "rung": pot["ladder"],
                "reason": pot["reason"],
                "pulse_ms": pot["pulse_ms"],
            }
            for index, pot in enumerate(pots)
        ],
    }
    if head["version"] >= record.EXTRA_VERSION:
        from potreeve.logic import extra

        told.update(extra.told(head))
    return told


def _known(value, unknown):
    return None if value == unknown else value
