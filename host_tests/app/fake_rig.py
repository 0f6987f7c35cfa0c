"""A rig made of lists and dictionaries, for app.py and keep.py on the host.

Every call that matters leaves a line in `rig.events`, so that tests can judge
the order of things. Any adapter's call can be made to fail.
"""

import json

import kit
from potreeve import app
from potreeve.logic import ledger, record, segments

TICKS = 1 << 30


class FakeStore:
    """hal's store over a dictionary. `fails` is asked before each call: fails(count, call, name) -> True to
    raise OSError(errno); `torn`: a failing write or append leaves half of its data, as a full flash might."""

    def __init__(self, events):
        self.files = {}
        self.events = events
        self.count = 0
        self.fails = lambda count, call, name: False
        self.torn = False
        self.errno = 28

    def _call(self, call, name=""):
        self.count += 1
        if self.fails(self.count, call, name):
            self.events.append(("fails", call, name))
            raise OSError(self.errno)
        self.events.append((call, name))

    def read(self, name):
        self._call("read", name)
        return self.files.get(name)

    def _put(self, call, name, data, start):
        try:
            self._call(call, name)
        except OSError:
            if self.torn:
                self.files[name] = start + data[: len(data) // 2]
            raise
        self.files[name] = start + data

    def write(self, name, data):
        self._put("write", name, data, b"")

    def read_part(self, name, start, size):
        self._call("read_part", name)
        return self.files[name][start : start + size]

    def replace(self, name, data):
        self._call("replace", name)
        self.files[name] = data

    def append(self, name, data):
        self._put("append", name, data, self.files.get(name, b""))

    def size(self, name):
        self._call("size", name)
        return len(self.files.get(name, b""))

    def names(self):
        self._call("names")
        return sorted(self.files)

    def remove(self, name):
        self._call("remove", name)
        if name not in self.files:
            raise OSError(2)
        del self.files[name]


class Part:
    """An adapter whose calls come from a dictionary of name -> function or value."""

    def __init__(self, **calls):
        for name, call in calls.items():
            setattr(self, name, call)


class FakeRig:
    """A rig of `count` channels. Set `pms`, `battery_mv`, `level` (the button, a function of the ticks)."""

    def __init__(self, count=2, settings=None, keeps_ram=1, cause=6):
        self.events = []
        self.now_ms = TICKS - 3000
        self.pms = [800] * count
        self.battery_mv = 3900
        self.level = lambda now_ms: 0
        self.pumping = False
        self.board = {"energy": kit.ENERGY, "flash": {"blocks": 212, "block_bytes": 4096}, "wdt_max_ms": 8388}
        self.store = FakeStore(self.events)
        if settings is not None:
            self.store.files["settings.json"] = json.dumps(settings).encode()
        self.pumps = Part(count=count, all_off=self._all_off, pulse=self._pulse, sag_mv=0)
        self.probes = Part(burst=self._burst)
        self.climate = Part(read=lambda: (2100, 450))
        self.light = Part(read_lx=lambda: 800)
        self.battery = Part(read_mv=lambda: self.battery_mv)
        self.clock = Part(
            ticks_ms=lambda: self.now_ms,
            sleep_ms=self._pass_ms,
            utc_s=lambda: 1780000000,
            ticks_diff=lambda one, other: (one - other + TICKS // 2) % TICKS - TICKS // 2,
            ticks_add=lambda ticks, ms: (ticks + ms) % TICKS,
        )
        self.panel = Part(button=lambda: self.level(self.now_ms), led=self._note("led"), beep=self._note("beep"))
        self.power = Part(
            cause=cause,
            keeps_ram=keeps_ram,
            usb=lambda: 0,
            feed=self._note("feed"),
            start_watchdog=self._note("watchdog"),
            sleep=self._sleep,
        )
        self.radio = Part(reach=lambda: True, report=self._report)
        self.code = Part(manifest=lambda: None, crc=lambda path: 0)

    def _note(self, name):
        return lambda *args: self.events.append((name, *args))

    def _report(self, lines):
        self.events.append(("report", lines))
        return len(lines) // record.RECORD_BYTES

    def _pass_ms(self, ms):
        self.now_ms = (self.now_ms + ms) % TICKS

    def _all_off(self):
        self.pumping = False
        self.events.append(("all_off",))

    def _pulse(self, channel, ms, feed):
        self.events.append(("pulse", channel, ms, self.open_intent()))
        self.pumping = True
        self._pass_ms(ms)
        feed()
        self.pumps.sag_mv = self.battery_mv - 200
        self.pumping = False
        return ms

    def _burst(self, channel, buf):
        buf[:] = [kit.raw_at(self.pms[channel]) + spread for spread in (0, 3, -2, 5, -4, 1, 2, -1, 0)]
        return len(buf)

    def _sleep(self, seconds):
        self.events.append(("sleep", seconds))
        self._pass_ms(seconds * 1000)
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
        found += [record.decode(data[at : at + size]) for at in range(0, len(data), size)]
    return found
