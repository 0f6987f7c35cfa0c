"""The state machine: everything that may happen to a rig, in any order.

A few simple pots stand behind the probes, so that doses can go well; each probe
may show its pot or something else. After every rule the Model must have nothing
to say. `Rules.steps` counts the rules that ran, in this process.
"""

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from cuttable_rig import POINTS, SLOTS, CuttableRig
from model import TENDED, Model

import kit
from potreeve.logic import reasons, timekeep

CAUSES = (timekeep.POWER_ON, timekeep.WATCHDOG, timekeep.BUTTON, timekeep.OTHER_RESET, timekeep.BROWN_OUT)
QUIET = (0, 3, -2, 5, -4, 1, 2, -1, 0)
WILD = (0, 30000, 3, 60000, 20000, 45000, 9, 15000, 52000)

# What a probe may show instead of its pot: a count, or one of these words.
SHOWS = ("its pot", "its pot, noisily", "wild", 0, 300, 65535, 65000, 52000, 51000, 23000, 30000, 37000, 42000, 49000)

# Valid changes: (key, values), of the rig and of a channel.
RIG_CHANGES = (("rig_day_ml", (30, 60, 120, 400, 1000)), ("tray_headroom_ml", (120, 250, 600, 1500)),
               ("wake_s", (600, 1800, 7200)), ("soak_s", (300, 1800, 7200)), ("battery_stop_mv", (3000, 3200, 3500)),
               ("battery_reserve_pm", (30, 80, 300)))
POT_CHANGES = (("day_ml", (150, 170, 200, 400)), ("dose_ml", (40, 100, 150)), ("unproven_max", (1, 2, 3, 5)),
               ("ration_ml", (5, 25, 60)), ("pump_ul_s", (3001, 3333, 4000, 4111)), ("pump_spread_pm", (0, 150, 333)),
               ("curve", ([[52000, 0], [22000, 1000]], [[53000, 0], [21000, 1000]])), ("depletion_pm", (200, 400, 600)))
SPOILT = (b"", b"{", b"null", b"[]", b'{"tray_headroom_ml": 1500', b"\xff\xfe", b"1" * 40)

# Lower than this a pot is not let fall by the days that go by.
LOWEST_PM = 150


class Rules(RuleBasedStateMachine):
    """See the module."""

    steps = 0
    current = None

    def __init__(self):
        super().__init__()
        Rules.current = self
        self.model = Model()
        self.rig = None

    # ---- the start ----------------------------------------------------------------------

    @initialize(channels=st.integers(1, 3), keeps_ram=st.sampled_from((1, 1, 0)), remembers=st.booleans(),
                pm=st.sampled_from((300, 500, 620, 850)))
    def set_up(self, channels, keeps_ram, remembers, pm):
        self.rig = CuttableRig(self.model, 4, keeps_ram)
        self.rig.on_water = self.water
        self.channels = channels
        self.pms = [pm] * 4
        self.shows = ["its pot"] * 4
        self.tube_to = [0, 1, 2, 3]
        self.fall_pm_day = 120
        self.data = kit.make_data(channels, tray_headroom_ml=600)
        self.sleep_s = 1800
        self.last_good = None
        self.owner_has_it = False
        self.rig.write_settings(self.data)
        if remembers:
            self.remember(channels)
        self.start(timekeep.POWER_ON)
        self.wake()

    def remember(self, channels):
        """A rig that was set up days ago."""
        from potreeve.logic import ledger

        self.rig.store.write(SLOTS[0], ledger.encode(1, kit.make_state(channels, typical_um=1500)))

    # ---- what the harness does ----------------------------------------------------------

    def water(self, channel, ml):
        """Water arrives in a pot of half a litre, or nowhere."""
        to = self.tube_to[channel]
        if to >= 0:
            self.pms[to] = min(1150, self.pms[to] + ml * 2)

    def time_passes(self, seconds):
        self.model.passed(seconds)
        self.rig.utc_s = max(0, min(4000000000, self.rig.utc_s + (seconds if self.rig.utc_s else 0)))
        fall = self.fall_pm_day * seconds // 86400
        self.pms = [max(min(LOWEST_PM, pm), pm - fall) for pm in self.pms]

    def show(self):
        for index in range(4):
            what = self.shows[index]
            noise = WILD if what == "wild" else QUIET
            if what in ("its pot", "its pot, noisily", "wild"):
                raw = kit.raw_at(int(self.pms[index]))
                noise = [40 * one for one in QUIET] if what == "its pot, noisily" else noise
            else:
                raw, noise = what, (0,) * 9
            self.rig.samples[index] = [max(0, min(65535, raw + one)) for one in noise]

    def start(self, cause):
        """A boot. What it finds on flash is judged before the firmware reads it."""
        store = self.rig.store
        newest = store.newest()
        allowed = self.settings_allowed()
        session = self.rig.boot(cause)
        settings = session.settings
        if settings not in allowed:
            self.model.say("W7", f"runs with {settings}, not one of {len(allowed)} that may be")
        self.last_good = settings or self.last_good
        if settings is None:
            return
        self.model.runs_with(settings)
        count = len(settings["channels"])
        lost = newest is None or newest.rig.channels != count or "read" in store.fails
        if lost:
            self.model.memory_lost(count)

    def settings_allowed(self):
        """The settings a boot may come up with now."""
        store = self.rig.store
        if "read" in store.fails:
            return [None]
        if self.rig.store.files["settings.json"] not in SPOILT and self.rig.store.files["settings.json"] != self.bad_text():
            return [kit.make_settings_from(self.data)]
        return [self.last_good]

    def bad_text(self):
        return getattr(self, "bad", None)

    def wake(self):
        """One wake; where the power was cut in it, the reboot and its wake."""
        self.show()
        seconds = self.rig.wake()
        return seconds

    # ---- checked after every rule --------------------------------------------------------

    @invariant()
    def nothing_is_wrong(self):
        Rules.steps += 1
        assert not self.model.wrong, "\n".join(self.model.wrong)
