"""A rig whose power can be cut at any named point of a wake, and whose flash can rot.

Points, in the order a wake passes them: see POINTS. The flash outlives the cut;
everything else starts anew. The rig tells a Model what the board is shown and
what its pumps do.
"""

import json
from fractions import Fraction

import kit
from ends import PowerCut, Restart
from potreeve import app, keep
from potreeve.logic import cycle, demand, ledger, reasons, segments, watch
from rig import TIMER, Part, Rig
from stores import MemoryStore
from ticks import PERIOD

SLOTS = ledger.SLOTS

POINTS = (
    "before the last good copy",
    "reading",
    "before the intent is written",
    "while the intent is written",
    "after the intent is written",
    "before the log",
    "before the pulse",
    "early in the pulse",
    "late in the pulse",
    "after the pulse",
    "while the completion is written",
    "after the completion",
    "while reporting",
)

# What a broker says of a piece it was given, one after another: sense and nonsense.
ANSWERS = (1, 8, 3, 0, -1, 10**9, None, 2, "all", 8)


class Flash(MemoryStore):
    """`broken`: a set of calls that raise OSError ("read", "write", "replace", ...)."""

    def __init__(self, rig):
        super().__init__()
        self.rig = rig
        self.broken = set()
        self.rotten = set()  # slots that the harness has spoilt
        self.order = []  # slots in the order they were last written whole
        self.fails = lambda count, call, name: call.split("_")[0] in self.broken

    def write(self, name, data):
        if name == ledger.WITNESS:
            # Its folder is its own; what comes of a cut around it is for the real littlefs (test_power_cuts).
            self.files[name] = data
            return
        if name == segments.MARK:
            super().write(name, data)
            return
        first = not self.rig.pumped
        word = "intent" if first else "completion"
        if first:
            self.rig.cut("before the intent is written")
        self._call("write", name)
        if self.rig.cuts_at(f"while the {word} is written"):
            self.spoil(name, data[: len(data) // 2])
            raise PowerCut
        self.files[name] = data
        self.rotten.discard(name)
        self.order = [one for one in self.order if one != name] + [name]
        self.rig.cut("after the intent is written" if first else "after the completion")

    def replace(self, name, data):
        self.rig.cut("before the last good copy" if name == keep.LAST_GOOD else "before the log")
        super().replace(name, data)

    def append(self, name, data):
        self.rig.cut("before the log")
        super().append(name, data)

    def spoil(self, name, data):
        """Leave something in a slot that is no ledger."""
        self.files[name] = data
        self.rotten.add(name)

    def newest_bytes(self):
        """The newest whole slot, or None. The harness kept count itself: it does not ask the firmware."""
        whole = [name for name in self.order if name in self.files and name not in self.rotten]
        return self.files[whole[-1]] if whole else None

    def newest(self):
        """What the newest whole slot holds: a State, or None."""
        data = self.newest_bytes()
        return None if data is None else ledger.decode(data)[1]


class CuttableRig(Rig):
    """`boot()` makes a new `session` on the same flash. Set `samples` (9 per channel), `battery_mv`, `air`, `lx`,
    `utc_s`, `cut_at` (one of POINTS)."""

    def __init__(self, model, channels, keeps_ram):
        self.model = model
        self.keeps_ram = keeps_ram
        board = {
            "energy": kit.ENERGY,
            "flash": {"blocks": 212, "block_bytes": 4096},
            "wdt_max_ms": 8388,
            "sleep_max_ms": 10**8,
        }
        super().__init__(board, Flash(self), channels)
        self.battery = Part(read_mv=self.read_battery)
        self.now_ms = PERIOD - 5000
        self.samples = [[0] * 9] * 4
        self.battery_mv = 4100
        self.sag_mv = 150
        self.air, self.utc_s = (2100, 450), 1780000000
        self.cut_at = None
        self.code_is_whole = True
        self.pumping = False
        self.pumped = False
        self.session = None
        self.ran = set()  # (ledger, channel) of every pulse that began
        self.on_water = lambda channel, ml: None
        self.on_time = lambda ms: None
        self.on_look = lambda: None
        self.wakes_early_ms = None
        self.pieces = 0  # that the broker was given

    # ---- power ------------------------------------------------------------------------

    def cuts_at(self, point):
        if self.cut_at != point:
            return False
        self.cut_at = None
        return True

    def cut(self, point):
        if self.cuts_at(point):
            raise PowerCut

    def boot(self, cause):
        """Start over with what is on flash. The pumps go off first, as in app.run."""
        self.pumped = False
        self.power.cause, self.power.keeps_ram = cause, self.keeps_ram
        self.pumps.all_off()
        self.session = app.Session(self)

    def wake(self):
        """One wake; returns the seconds to sleep, or None where the power was cut in it."""
        self.pumped = False
        try:
            return self.session.wake()
        except PowerCut:
            self.pumps_off()
            return None
        finally:
            self.cut_at = None
            self.press_ms = 0

    def rest(self, seconds, early_ms=None):
        """Sleep; returns False where the power was cut before the board slept.

        early_ms: the button ends it then.
        """
        self.wakes_early_ms = early_ms
        try:
            self.session.sleep(seconds)
        except PowerCut:
            return False
        except Restart:
            pass
        return True

    def sleep(self, seconds, proves=1):
        if not self.keeps_ram:
            raise Restart(TIMER)
        early_ms, self.wakes_early_ms = self.wakes_early_ms, None
        ms = seconds * 1000 if early_ms is None else min(early_ms, seconds * 1000)
        self.pass_ms(ms)
        return ms, 0 if early_ms is None else 1

    def pass_ms(self, ms):
        """True time passes, and the board's counter sees it."""
        super().pass_ms(ms)
        self.press_ms = max(0, self.press_ms - ms)
        self.on_time(ms)

    # ---- devices ----------------------------------------------------------------------

    def pumps_off(self):
        self.pumping = False

    def read_battery(self):
        self.model.battery(self.battery_mv)
        return self.battery_mv

    def burst(self, channel, buffer):
        self.cut("reading")
        self.on_look()
        buffer[:] = self.samples[channel]
        self.model.saw(channel, self.samples[channel], self.drinks_pm_h(channel))
        return len(buffer)

    def drinks_pm_h(self, channel):
        """What the board holds a plant to drink in an hour, in the air of now or of its last wake."""
        state, told = self.session.state, self.session.settings
        if state is None or channel >= len(state.pots):
            return 0
        rate_um_h = max(state.rig.rate_um_h, state.rig.typical_um // 24, cycle.UNKNOWN_UM_H)
        if self.air:
            rate_um_h = max(rate_um_h, demand.rate_um_h(demand.deficit_pa(*self.air), self.lx, told["dark_lx"]))
        one = told["channels"][channel]
        return Fraction(watch.use_ul_mm(state.pots[channel], one) * rate_um_h, one["holds_ml"] * 1000)

    def report(self, records):
        self.cut("while reporting")
        self.pieces += 1
        return ANSWERS[self.pieces % len(ANSWERS)]

    def manifest(self):
        return {"main.py": 1}

    def crc(self, path):
        return 1 if self.code_is_whole else 2

    def button(self):
        return 1 if self.press_ms > 0 else 0

    def pulse(self, channel, ms, feed):
        self.cut("before the pulse")
        self.pumped = True
        self.ran.add((self.store.newest_bytes(), channel))
        newest = self.store.newest()
        on_flash_ms = None if newest is None else newest.pots[channel].intent_ms
        pot = self.session.state.pots[channel]
        stands = (pot.ladder, pot.reason == reasons.NO_RISE)
        self.model.pulse(channel, ms, on_flash_ms, stands, self.drinks_pm_h(channel))
        self.pumping = True
        for point, part in (("early in the pulse", 10), ("late in the pulse", 90)):
            if self.cuts_at(point):
                self._run(channel, ms * part // 100)
                raise PowerCut
        self._run(channel, ms)
        self.pumps_off()
        self.pumps.sag_mv = max(0, self.battery_mv - self.sag_mv)
        self.cut("after the pulse")
        self.model.pulled_down(self.pumps.sag_mv)
        return ms

    def _run(self, channel, ms):
        self.pass_ms(ms)
        settings = self.session.settings["channels"][channel]
        self.on_water(channel, Fraction(ms * settings["pump_ul_s"], 10**6))

    # ---- settings ---------------------------------------------------------------------

    def write_settings(self, data):
        """Put a settings file on flash: a dict, or bytes that are none."""
        self.store.files[keep.SETTINGS] = data if isinstance(data, bytes) else json.dumps(data).encode()
