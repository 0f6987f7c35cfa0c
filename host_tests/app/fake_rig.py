"""A rig made of lists and dictionaries, for app.py and keep.py on the host.

Every call that matters leaves a line in `rig.events`, so that tests can judge
the order of things. Any adapter's call can be made to fail.
"""

import json

import kit
from potreeve import app
from potreeve.logic import ledger, record, recorded, segments
from rig import Rig
from stores import MemoryStore
from ticks import PERIOD


class FakeRig(Rig):
    """A rig of `count` channels. Set `pms`, `battery_mv`, `level` (the button, a function of the ticks)."""

    utc_s = 1780000000
    air = (2100, 450)

    def __init__(self, count=2, settings=None, keeps_ram=1, cause=6):
        self.events = []
        self.pms = [800] * count
        self.level = lambda now_ms: 0
        self.pumping = False
        board = {"energy": kit.ENERGY, "flash": {"blocks": 212, "block_bytes": 4096}, "wdt_max_ms": 8388}
        super().__init__(board, MemoryStore(self.events), count, cause, keeps_ram)
        self.now_ms = PERIOD - 3000
        if settings is not None:
            self.store.files["settings.json"] = json.dumps(settings).encode()

    def button(self):
        return self.level(self.now_ms)

    def led(self, *args):
        self.events.append(("led", *args))

    def beep(self, *args):
        self.events.append(("beep", *args))

    def feed(self):
        self.events.append(("feed",))

    def start_watchdog(self, *args):
        self.events.append(("watchdog", *args))

    def report(self, lines):
        self.events.append(("report", lines))
        return len(lines) // record.RECORD_BYTES

    def pumps_off(self):
        self.pumping = False
        self.events.append(("all_off",))

    def pulse(self, channel, ms, feed):
        self.events.append(("pulse", channel, ms, self.open_intent()))
        self.pumping = True
        self.pass_ms(ms)
        feed()
        self.pumps.sag_mv = self.battery_mv - 200
        self.pumping = False
        return ms

    def burst(self, channel, buf):
        buf[:] = [kit.raw_at(self.pms[channel]) + spread for spread in (0, 3, -2, 5, -4, 1, 2, -1, 0)]
        return len(buf)

    def sleep(self, seconds, proves=1):
        self.events.append(("sleep", seconds))
        self.pass_ms(seconds * 1000)
        return seconds * 1000, 0

    def open_intent(self):
        """[ms per channel] of the intents open in the newest ledger on flash; None without one."""
        newest, _, _ = ledger.choose(*[self.store.files.get(name) for name in ledger.SLOTS])
        return None if newest is None else [pot.intent_ms for pot in newest.pots]

    def keep_state(self, state, number=1, slot=0):
        """Put a state on flash as the newest ledger."""
        self.store.files[ledger.SLOTS[slot]] = ledger.encode(number, state)

    def newest_state(self):
        return ledger.choose(*[self.store.files.get(name) for name in ledger.SLOTS])[0]

    def pulses(self):
        return [event for event in self.events if event[0] == "pulse"]

    def feeds_between(self, first, last):
        """Feeds from the first event of a kind to the last of another."""
        at = [index for index, event in enumerate(self.events) if event[0] == first][0]
        to = [index for index, event in enumerate(self.events) if event[0] == last][-1]
        return sum(event[0] == "feed" for event in self.events[at:to])


def thirsty(**changes):
    """A rig whose first pot needs water now and may have it."""
    rig = FakeRig(2, kit.make_data(2), **changes)
    rig.pms = [500, 850]
    rig.keep_state(kit.make_state(2))
    return rig


def wake(rig, session=None):
    """(session, seconds to sleep) of one wake; a new session where none is given."""
    session = session or app.Session(rig)
    return session, session.wake()


def records(rig):
    """All records on the rig's flash, decoded, oldest first."""
    found = []
    for number in segments.numbers(rig.store.files):
        data = rig.store.files[segments.name(number)][segments.HEAD_BYTES :]
        size = record.RECORD_BYTES
        found += [recorded.decode(data[at : at + size]) for at in range(0, len(data), size)]
    return found
