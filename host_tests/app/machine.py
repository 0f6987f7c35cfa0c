"""The state machine: everything that may happen to a rig, in any order.

A few simple pots stand behind the probes, so that doses can go well; each probe
may show its pot or something else. After every rule the Model must have nothing
to say. `Rules.steps` counts the rules that ran in this process.
"""

import kit
from cuttable_rig import POINTS, SLOTS, CuttableRig
from ends import PowerCut
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from model import Model
from potreeve.logic import debounce, ledger, reasons, settings, timekeep

# The button comes more often, because starts that nobody planned soon hold the rig.
CAUSES = (
    timekeep.BUTTON,
    timekeep.POWER_ON,
    timekeep.BUTTON,
    timekeep.WATCHDOG,
    timekeep.BUTTON,
    timekeep.OTHER_RESET,
    timekeep.BUTTON,
    timekeep.BROWN_OUT,
)
QUIET = (0, 3, -2, 5, -4, 1, 2, -1, 0)
WILD = (0, 30000, -14000, 9000, -20000, 15000, -9, -8000, 12000)

# What a probe may show instead of its pot: a count, or one of these words.
SHOWS = ("its pot", "its pot, noisily", "wild", 0, 300, 65535, 65000, 52000, 51000, 23000, 30000, 37000, 42000, 49000)

# Changes that keep settings valid, alone and together.
RIG_CHANGES = {
    "rig_day_ml": (30, 60, 120, 400, 1000),
    "tray_headroom_ml": (120, 250, 600, 1500),
    "wake_s": (600, 1800, 7200),
    "soak_s": (300, 1800, 7200),
    "battery_stop_mv": (3000, 3200, 3500),
    "battery_reserve_pm": (30, 80, 300),
}
POT_CHANGES = {
    "day_ml": (150, 170, 200, 400),
    "dose_ml": (40, 100, 150),
    "unproven_max": (1, 2, 3, 5),
    "ration_ml": (5, 25, 60),
    "pump_ul_s": (3001, 3333, 4000, 4111),
    "pump_spread_pm": (0, 150, 333),
    "tube_full_h": (0, 48),
    "curve": ([[52000, 0], [22000, 1000]], [[53000, 0], [21000, 1000]]),
    "depletion_pm": (200, 400, 600),
}
CHANGES = tuple(
    (where, key, value)
    for where, table in (("rig", RIG_CHANGES), ("pot", POT_CHANGES))
    for key, values in table.items()
    for value in values
)

# Files that are no settings, and changes that make good ones bad.
NO_SETTINGS = (b"", b"{", b"null", b"[]", b'{"tray_headroom_ml": 1500', b"\xff\xfe", b"1" * 40)
BAD_CHANGES = (
    ("pot", "pulse_max_ms", 60000),
    ("pot", "day_ml", 0),
    ("pot", "day_ml", 10**6),
    ("pot", "pulse_ml", 170),
    ("pot", "unproven_max", 99),
    ("rig", "rig_day_ml", "1000"),
    ("rig", "tray_headroom_ml", 10),
    ("rig", "battery_stop_mv", 0),
    ("rig", "day_mll", 400),
    ("pot", "fill_pm", 500),
)

BOARD_CHANNELS = 4
LOWEST_PM = 150


class Rules(RuleBasedStateMachine):
    """See the module."""

    steps = 0
    pulses = 0
    current = None

    def __init__(self):
        super().__init__()
        Rules.current = self
        self.model = Model()
        self.rig = CuttableRig(self.model, BOARD_CHANNELS, 1)
        self.rig.on_water, self.rig.on_time, self.rig.on_look = self.water, self.counted_time_passes, self.look
        self.seen_settings = None
        self.people_here = False
        self.cut_cause, self.cut_off_s = timekeep.POWER_ON, 0

    @initialize(
        channels=st.integers(1, 3),
        keeps_ram=st.sampled_from((1, 1, 0)),
        remembers=st.sampled_from((1, 1, 1, 0)),
        pm=st.sampled_from((300, 500, 620, 850)),
        headroom_ml=st.sampled_from((120, 250, 600)),
        rig_day_ml=st.sampled_from((60, 120, 400, 1000)),
        fall_pm_day=st.sampled_from((120, 400, 900)),
        restarts_by=st.sampled_from((timekeep.BUTTON, timekeep.OTHER_RESET)),
    )
    def set_up(self, channels, keeps_ram, remembers, pm, headroom_ml, rig_day_ml, fall_pm_day, restarts_by):
        """A rig that was just set up, or one that was set up days ago."""
        self.rig.keeps_ram = keeps_ram
        self.pms = [float(pm)] * BOARD_CHANNELS
        self.shows = ["its pot"] * BOARD_CHANNELS
        self.tube_to = list(range(BOARD_CHANNELS))
        self.fall_pm_day = fall_pm_day
        # Caps that would starve a plant are for safety to hold, too: the owner insists.
        caps = {"tray_headroom_ml": headroom_ml, "rig_day_ml": rig_day_ml}
        self.data = kit.make_data(channels, {"pulse_ml": 20}, insist=True, **caps)
        self.file_is_good, self.last_good = True, None
        self.restarts_by = restarts_by
        self.rig.write_settings(self.data)
        if remembers:
            self.rig.store.write(SLOTS[0], ledger.encode(1, kit.make_state(channels, typical_um=1500)))
        self.start(timekeep.POWER_ON)

    # ---- the world -----------------------------------------------------------------------

    def water(self, channel, ml):
        """Water arrives in a pot of half a litre, or nowhere."""
        to = self.tube_to[channel]
        if to >= 0:
            self.pms[to] = min(1150.0, self.pms[to] + 2 * float(ml))

    def time_passes(self, ms, proven_ms=0):
        self.model.passed(ms, proven_ms)
        if self.rig.utc_s:
            self.rig.utc_s += ms // 1000
        fall = self.fall_pm_day * ms / 86400000
        self.pms = [max(min(LOWEST_PM, pm), pm - fall) for pm in self.pms]

    def counted_time_passes(self, ms):
        self.time_passes(ms, ms)

    def show(self):
        """Set what the probes show now."""
        for index, what in enumerate(self.shows):
            raw, noise = what, (0,) * 9
            if isinstance(what, str):
                raw = kit.raw_at(int(self.pms[index]))
                noise = {"its pot": QUIET, "its pot, noisily": [40 * one for one in QUIET], "wild": WILD}[what]
            self.rig.samples[index] = [max(0, min(65535, raw + one)) for one in noise]

    # ---- the board -----------------------------------------------------------------------

    def start(self, cause):
        """A boot and its wake."""
        self.seen_settings = None
        self.boot_ms = self.model.now_ms
        try:
            self.rig.boot(cause)
        except PowerCut:
            self.rig.boot(self.cut_cause)
        self.look()
        self.wake()

    def look(self):
        """Judge what the board came up with, whenever it came up with settings."""
        rig = self.rig
        now = rig.session.settings
        if now is self.seen_settings:
            return
        self.seen_settings = now
        allowed = self.allowed()
        if now != allowed:
            self.model.say("W7", f"runs with {now} instead of {allowed}")
        if self.file_is_good and "replace" not in rig.store.broken:
            self.last_good = now
        before = self.model.settings
        self.model.runs_with(now)
        if before and before["ack"] != now["ack"]:
            self.people_here = True
            self.model.acknowledged()
        newest = None if "read" in rig.store.broken else rig.store.newest()
        if newest is None or newest.rig.channels != len(now["channels"]):
            self.model.memory_lost(len(now["channels"]), self.boot_ms, self.rig.store.newest_bytes())
            return
        self.model.memory_found(self.rig.store.newest_bytes())
        for index, pot in enumerate(newest.pots):
            pulse = (rig.store.newest_bytes(), index)
            if pot.intent_ms and pulse not in rig.ran:
                rig.ran.add(pulse)
                self.model.found_open(index, pot.intent_ms)

    def allowed(self):
        """The settings a board may have now, or None."""
        if "read" in self.rig.store.broken:
            return None
        return settings.check(self.data)[0] if self.file_is_good else self.last_good

    def wake(self):
        """One wake. Where the power was cut in it: the time without, the reboot, and its wake."""
        self.show()
        self.sleep_s = self.rig.wake()
        if self.people_here:
            self.people_here = False
            self.model.looked_at()
        if self.sleep_s is None:
            self.power_is_back()

    def power_is_back(self):
        self.model.forget_sag()
        self.time_passes(self.cut_off_s * 1000)
        self.start(self.cut_cause)

    def sleep_and_wake(self, timer_pm=1000):
        """The sleep that was asked for, proven as far as the board can, and the next wake."""
        if not self.rig.rest(self.sleep_s):
            self.power_is_back()
        elif self.rig.keeps_ram:
            self.wake()
        else:
            # A wake timer is up to 5 % early.
            self.time_passes(self.sleep_s * timer_pm, self.sleep_s * 950)
            self.start(timekeep.TIMER)

    def restart(self):
        if self.rig.store.broken:
            self.model.forget_sag()
        self.start(self.restarts_by)

    # ---- the rules -----------------------------------------------------------------------

    @rule(times=st.integers(1, 5), timer_pm=st.sampled_from((950, 1000, 1100)))
    def tend(self, times, timer_pm):
        for _ in range(times):
            self.sleep_and_wake(timer_pm)

    @rule(hours=st.sampled_from((6, 13, 25, 27)))
    def time_goes_by(self, hours):
        end_ms = self.model.now_ms + hours * 3600000
        while self.model.now_ms < end_ms:
            self.sleep_and_wake()

    @rule(
        index=st.integers(0, 2),
        what=st.sampled_from(SHOWS),
        wakes=st.integers(1, 8),
        lasting=st.booleans(),
        dry=st.booleans(),
    )
    def probe_shows(self, index, what, wakes, lasting, dry):
        self.shows[index] = what
        if dry:
            # A pot that wants water, so that a reading that must not be believed could bring some.
            self.pms[index] = min(self.pms[index], 550.0)
        for _ in range(wakes):
            self.sleep_and_wake()
        if not lasting:
            self.shows[index] = "its pot"

    @rule()
    def no_water_arrives(self):
        """The tubes are off, the pots dry; a person looks, again and again."""
        self.tube_to = [-1] * BOARD_CHANNELS
        for _ in range(3):
            self.pms = [min(pm, 550.0) for pm in self.pms]
            for _ in range(8):
                self.sleep_and_wake()
            self.button(300, 0)
        self.tube_to = list(range(BOARD_CHANNELS))

    @rule(index=st.integers(0, 2), raw=st.integers(0, 65535))
    def probe_shows_any_count(self, index, raw):
        self.shows[index] = raw
        self.sleep_and_wake()

    @rule()
    def probes_are_mended(self):
        self.shows = ["its pot"] * BOARD_CHANNELS
        self.sleep_and_wake()

    @rule(index=st.integers(0, 2), pm=st.sampled_from((120, 300, 500, 600, 690, 900, 1000, 1150)))
    def pot_is_now_at(self, index, pm):
        self.pms[index] = float(pm)
        self.sleep_and_wake()

    @rule(index=st.integers(0, 2), to=st.sampled_from((-1, 0, 1, 2)))
    def tube_leads_to(self, index, to):
        self.tube_to[index] = to
        self.pms = [min(pm, 500.0) for pm in self.pms]
        self.sleep_and_wake()

    @rule(pm_day=st.sampled_from((0, 120, 400, 900)))
    def pots_dry_by(self, pm_day):
        self.fall_pm_day = pm_day
        self.sleep_and_wake()

    @rule(cause=st.sampled_from(CAUSES), slept_pm=st.sampled_from((0, 10, 500, 1000)))
    def reset_asleep(self, cause, slept_pm):
        if self.rig.store.broken:
            self.model.forget_sag()
        self.rig.rest(self.sleep_s, 0)
        self.time_passes(self.sleep_s * slept_pm)
        self.start(cause)

    @rule(
        point=st.sampled_from(POINTS),
        cause=st.sampled_from(CAUSES),
        off_s=st.sampled_from((0, 60, 90000)),
        thirsty=st.integers(0, 2),
    )
    def power_cut(self, point, cause, off_s, thirsty):
        """Cut the power when the next wake, or one soon after it, passes this point."""
        self.pms[thirsty] = min(self.pms[thirsty], 500.0)
        self.cut_cause, self.cut_off_s = cause, off_s
        for _ in range(3):
            self.rig.cut_at = point
            self.sleep_and_wake()
        self.rig.cut_at = None

    @rule(utc_s=st.sampled_from((0, 1700000000, 1780000000, 1780086400, 4000000000)))
    def clock_says(self, utc_s):
        self.rig.utc_s = utc_s
        self.sleep_and_wake()

    @rule(ms=st.sampled_from((300, 2600)), slept_ms=st.sampled_from((0, 1000, 500000)))
    def button(self, ms, slept_ms):
        rig = self.rig
        state = rig.session.state
        if state and ms > debounce.LONG_MS and state.rig.hold == reasons.OWNER:
            self.model.tray_emptied()
        self.model.acknowledged()
        self.people_here = True
        rig.rest(self.sleep_s, slept_ms)
        if rig.keeps_ram:
            rig.press_ms = ms
            self.wake()
        else:
            self.time_passes(slept_ms)
            rig.press_ms = ms
            self.start(timekeep.BUTTON)

    @rule(change=st.sampled_from(CHANGES), index=st.integers(0, 2))
    def settings_change(self, change, index):
        where, key, value = change
        if where == "rig":
            self.data = {**self.data, key: value}
        else:
            channels = [dict(one) for one in self.data["channels"]]
            channels[index % len(channels)][key] = value
            self.data = {**self.data, "channels": channels}
        self.write_good()

    def write_good(self):
        assert settings.check(self.data)[0], "the harness means these to be valid"
        self.file_is_good = True
        self.rig.write_settings(self.data)
        self.restart()

    @rule()
    def acknowledge_by_settings(self):
        self.data = {**self.data, "ack": (self.data.get("ack", 0) + 1) % 256}
        self.write_good()

    @rule(count=st.integers(1, 3))
    def channels_are_now(self, count):
        have = [dict(one) for one in self.data["channels"]]
        more = kit.make_data(count, {"pulse_ml": 20})["channels"]
        self.data = {**self.data, "channels": (have + more[len(have) :])[:count]}
        self.write_good()

    @rule(what=st.sampled_from(NO_SETTINGS + BAD_CHANGES))
    def settings_are_spoilt(self, what):
        bad = what
        if isinstance(what, tuple):
            where, key, value = what
            channels = [dict(one) for one in self.data["channels"]]
            bad = {**self.data, "channels": channels}
            (bad if where == "rig" else channels[0])[key] = value
        self.file_is_good = False
        self.rig.write_settings(bad)
        self.restart()

    @rule(slots=st.sampled_from((SLOTS[:1], SLOTS[1:], SLOTS)), cut=st.sampled_from((None, 0, 7)))
    def ledger_rots(self, slots, cut):
        store = self.rig.store
        for name in slots:
            data = store.files.get(name, b"")
            if cut is None:
                data = data[:20] + bytes(one ^ 16 for one in data[20:21]) + data[21:] if data else b"?"
            else:
                data = data[:cut]
            store.spoil(name, data)
        self.model.forget_sag()
        self.restart()

    @rule(
        calls=st.sampled_from((("write",), ("replace", "append"), ("read",), ("write", "replace", "append"))),
        restart=st.booleans(),
        wakes=st.integers(1, 4),
        lasting=st.sampled_from((0, 0, 0, 1)),
    )
    def flash_fails(self, calls, restart, wakes, lasting):
        self.rig.store.broken = set(calls)
        if restart:
            self.restart()
        for _ in range(wakes):
            self.sleep_and_wake()
        if not lasting:
            self.flash_works()

    @rule()
    def flash_works(self):
        self.rig.store.broken = set()
        self.sleep_and_wake()

    @rule(
        mv=st.sampled_from((0, 0, 2900, 3150, 3250, 3400, 3485, 3600, 3900, 4200, 5500)),
        sag_mv=st.sampled_from((50, 200, 700)),
        wakes=st.integers(1, 3),
        lasting=st.sampled_from((0, 0, 0, 1)),
    )
    def battery(self, mv, sag_mv, wakes, lasting):
        """The battery is so for some wakes, with every pot thirsty; then it is good again, or not."""
        self.rig.battery_mv, self.rig.sag_mv = mv, sag_mv
        for _ in range(wakes):
            self.pms = [min(pm, 550.0) for pm in self.pms]
            self.sleep_and_wake()
        if not lasting:
            self.rig.battery_mv, self.rig.sag_mv = 3900, 150

    @rule()
    def battery_pulled_down(self):
        """A pump pulls the battery far down; the next pulse would end below the stop."""
        self.rig.battery_mv, self.rig.sag_mv = 3900, 750
        for _ in range(3):
            self.pms = [min(pm, 550.0) for pm in self.pms]
            self.sleep_and_wake()
        self.rig.sag_mv = 150

    @rule(
        air=st.sampled_from((None, (2100, 450), (3500, 200), (500, 1000), (-4000, 0))),
        lx=st.sampled_from((-1, 0, 800, 20000)),
    )
    def air(self, air, lx):
        self.rig.air, self.rig.lx = air, lx
        self.sleep_and_wake()

    @rule(whole=st.booleans())
    def code_is_whole(self, whole):
        self.rig.code_is_whole = whole
        self.restart()
        self.sleep_and_wake()
        self.rig.code_is_whole = True
        self.restart()

    # ---- checked after every rule --------------------------------------------------------

    @invariant()
    def nothing_is_wrong(self):
        Rules.steps += 1
        assert not self.model.wrong, "\n".join(self.model.wrong)

    def teardown(self):
        Rules.pulses += self.model.pulses
