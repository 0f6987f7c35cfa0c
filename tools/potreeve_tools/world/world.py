"""The simulated rig: everything that happens on the sill, from one seed.

    world = World(load_rig(), board_dict, seed=1)
    world.advance(1200)          # true seconds pass
    sense = world.sense()        # what the board's sensors say now
    pulse = world.pulse(0, 3000) # a pump runs; its time passes, too

Each component draws from its own random stream named after the seed, so that
adding one does not shift the others. Time is true time; the board's own clocks
drift (`clock.board_ms`, `clock.true_s`).
"""

import heapq
import math
from collections import deque
from dataclasses import dataclass

from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world import faults as mishaps
from potreeve_tools.world.battery import Battery
from potreeve_tools.world.electronics import ClimateSensor, Clock, Electronics, LightSensor, VoltMeter
from potreeve_tools.world.extras import Extras
from potreeve_tools.world.faults.kinds import FLAGS, make_fault
from potreeve_tools.world.hands import Hands
from potreeve_tools.world.probe import AIR_THETA
from potreeve_tools.world.setting import make_climate, start_utc_s
from potreeve_tools.world.works import Works

BOARD_LEAST_MV = {"rp2040": 1800, "rp2350": 1800}
"""Supply below which a board stops: RP2 boards' regulator takes 1.8 V and more."""
OTHER_LEAST_MV = 3000
START_MS = 15
_NEVER = math.inf


@dataclass(slots=True)
class Sense:
    """What the board's sensors give, in the device's units.

    probe_raw: per channel 9 integers 0..65535. temp_cdeg, rh_pm: None, None if
    the sensor does not answer. lx: -1 without light sensor. battery_mv: 0 if
    unreadable. button: 1 = pressed. utc_s: Unix seconds, 0 = unknown.
    """

    probe_raw: list
    temp_cdeg: int | None
    rh_pm: int | None
    lx: int
    battery_mv: int
    button: int
    utc_s: int


@dataclass(slots=True)
class Pulse:
    """What came of a pump run: time it was on (board ms), lowest battery voltage, whether the supply broke down."""

    actual_ms: int
    sag_mv: int
    brownout: bool


def figure(board, key, default):
    """Return an energy figure of a board as a number, from the device form or the file's tables."""
    value = board.get("energy", {}).get(key, default)
    return value["value"] if isinstance(value, dict) else value


class World(Works, Hands, Extras):
    """See the module. Useful besides the methods: now_s, clock, battery, tray, reservoir, channels, faults, deliveries.

    rig: a Rig. board: the device form of a board file. seed: int or str.
    start: "YYYY-MM-DD" (None: as the rig says), local midnight. faults: Fault
    objects, on top of the rig's own; the world works on fresh copies, see `faults`.
    climate: something with .at(t_s) -> Air (None: the rig's window).
    """

    def __init__(self, rig, board, seed, start=None, faults=(), climate=None):
        self.rig, self.board, self.seed = rig, board, seed
        pins, adc = board.get("pins", {}), board.get("adc", {})
        if len(rig.pots) > len(pins.get("pumps", rig.pots)):
            raise BadInput(
                [
                    f"{rig.where}: [[pot]] has {len(rig.pots)} entries, but board {board.get('name', '?')} has "
                    f"{len(pins['pumps'])} pump channels; remove pots or choose another board"
                ]
            )
        self.now_s = 0.0
        self.climate = climate or make_climate(rig, start)
        self.has_master = pins.get("pump_enable", -1) >= 0
        self.least_mv = BOARD_LEAST_MV.get(board.get("mcu", ""), OTHER_LEAST_MV)
        self.active_ma = figure(board, "active_ua", 25_000) / 1000.0
        self._build_water(rig)
        self._build_electronics(rig, board, adc, start)
        self._build_channels(rig, pins, adc)
        self._build_extras(rig, board)
        self._build_ledger()
        self._build_schedule(list(rig.faults) + list(faults))

    def _build_electronics(self, rig, board, adc, start):
        pack, sensors = rig.battery, board.get("sensors", {})
        leak = pack["self_discharge_pm_year"]
        self.battery = Battery(
            pack["chemistry"],
            pack["cells"],
            pack["capacity_mah"],
            pack["start_pct"],
            pack["resistance_times"],
            None if leak < 0 else leak,
        )
        self.electronics = Electronics(rig.electronics["height_mm"], self.stream("electronics"))
        self._climate_sensor = ClimateSensor(sensors.get("climate", "bme280"), self.stream("climate sensor"))
        self._light_sensor = LightSensor(
            sensors.get("light", "bh1750"), self.stream("light sensor"), sensors.get("light_mtreg", 69)
        )
        self._meter = VoltMeter(adc, self.stream("battery divider"))
        kept = bool(board.get("latch")) or board.get("mcu", "").startswith("esp32")
        crystal_ppm = self.stream("crystal").uniform(-40, 40)
        self.clock = Clock(
            start_utc_s(rig, start, self.climate),
            rig.electronics["clock_set"],
            kept,
            crystal_ppm + rig.electronics["clock_drift_ppm"],
        )

    def _build_schedule(self, faults):
        every_s = self.rig.reservoir["refill_days"] * 86_400.0
        self.faults = [fault.fresh() for fault in faults]
        chores = [make_fault("tub_refilled", every_s, every_s=every_s)] if every_s > 0 else []
        self.flags = {}
        self.adc_faults, self.pulse_cuts, self.battery_marks, self.climate_off, self.light_off = [], [], [], [], []
        self.empty_marks, self.wet_marks = [], []
        self.presses = []
        self.board_events = deque()
        self._events, self._order = [], 0
        for fault in self.faults + chores:
            self.at(fault.start_s, mishaps.begin, fault)
            if fault.end_s < _NEVER:
                self.at(fault.end_s, mishaps.end, fault)
        self._fire_due()

    # ---- time ------------------------------------------------------------------------------

    def at(self, t_s, action, fault):
        """Schedule action(world, fault) at true time t_s."""
        self._order += 1
        heapq.heappush(self._events, (t_s, self._order, action, fault))

    def _fire_due(self):
        events = self._events
        while events and events[0][0] <= self.now_s:
            _, _, action, fault = heapq.heappop(events)
            self.settle()
            action(self, fault)
            self._look_for_flow()

    def advance(self, s, stop=False):
        """Let s true seconds pass; with stop, return early at a board event. Returns the seconds that passed."""
        begin = self.now_s
        end = begin + s
        while True:
            event_s = self._events[0][0] if self._events else _NEVER
            if event_s > end:
                self._pass(end)
                return s
            self._pass(event_s)
            self._fire_due()
            if stop and self.board_events:
                return self.now_s - begin

    def sleep(self, s):
        """Let up to s true seconds pass, until a board event. Returns (seconds, event or None).

        An event is (t_s, "button" or "reset", ms held or 0); it is taken off `board_events`.
        """
        if self.board_events:
            return 0.0, self.board_events.popleft()
        passed = self.advance(s, stop=True)
        return passed, self.board_events.popleft() if self.board_events else None

    # ---- what the board does ---------------------------------------------------------------

    def pulse(self, channel, ms):
        """Run one pump for ms (board time). The time passes here: don't advance for it again."""
        if ms <= 0:
            return Pulse(0, self._meter.read(self.battery.loaded_mv(self.active_ma)), False)
        c = self.channels[channel]
        running = [c]
        if self.has_master:
            running += [other for other in self.channels if other.line.welded is not None and other is not c]
        # A welded switch may be mended before the pulse is over.
        welded = [other.line.welded for other in running[1:]]
        ma = self._running_ma(running)
        start_ma = self._start_ma(c, running)
        battery = self.battery
        sag, mv = battery.loaded_mv(start_ma), battery.loaded_mv(ma)
        for fault in self.battery_marks:
            fault.bit += 1
        brownout, actual = False, ms
        if sag < self.least_mv or mv < self.least_mv:
            brownout, actual = True, min(ms, START_MS)
        cut = None if brownout else mishaps.cut_pulse(self, ms)
        if cut is not None and cut < actual:
            brownout, actual, sag = True, cut, min(sag, self.least_mv - 100.0)
        seconds = self.clock.true_s(actual)
        self.advance(seconds)
        if self._lag_s > 0.0:
            self._settle(False)
        self._mark_pulse(c)
        for r, fault in zip(running, [None, *welded], strict=True):
            battery.draw(r.line.current_ma(self.reservoir) * 1000.0, actual)
            out = r.line.run(seconds, mv, self.reservoir)
            r.on_ms += actual
            if fault and out > 0.0:
                fault.bit += 1
            self._deliver(r, out, "pulse" if r is c else "stuck")
        c.pulses += 1
        self._look_for_flow()
        return Pulse(actual, self._meter.read(sag), brownout)

    def _mark_pulse(self, c):
        line = c.line
        for fault in line.faults:
            fault.bit += 1
        if self.empty_marks and self.reservoir.usable_ml <= 0.0:
            for fault in self.empty_marks:
                fault.bit += 1

    def draw(self, ua, ms):
        """Charge the electronics use: microamps for milliseconds."""
        self.battery.draw(ua, ms)

    @property
    def powered(self):
        """Whether the battery still carries the board."""
        return self.battery.loaded_mv(self.active_ma) >= self.least_mv

    def reset(self):
        """The board was reset hard: its wall clock is lost unless something keeps it."""
        self.clock.hard_reset()

    def button_level(self, t_s=None):
        """Button at a true time (default now): 1 = pressed. Contacts bounce for 6.2 ms after each edge."""
        t_s = self.now_s if t_s is None else t_s
        for begin, end in self.presses:
            if begin - 0.001 <= t_s < end + 0.0062:
                since = t_s - begin if t_s < begin + 0.0062 else t_s - end
                if 0.0 <= since < 0.0062:
                    return int(since * 2500) & 1
                return 1 if begin <= t_s < end else 0
        return 0

    def bite_flag(self, name):
        """If one of FLAGS is up, count a bite; returns its Fault or None."""
        assert name in FLAGS, name
        fault = self.flags.get(name)
        if fault is not None:
            fault.bit += 1
        return fault

    def sense(self):
        """Read every sensor once. Returns Sense."""
        self.settle()
        now, soil_c = self.now_s, self._soil_c
        channels = self.channels
        raw = []
        for c in channels:
            source = channels[c.probe_in]
            pot = source.pot
            theta = pot.probe_theta(source.probe_cm * pot.swollen) if source.present else AIR_THETA
            if c.probe_faults:
                raw.append(mishaps.faulty_burst(self, c, theta, soil_c))
            else:
                raw.append(c.probe.burst(theta, soil_c, now))
        for fault in self.adc_faults:
            mishaps.drift_converter(self, fault, raw)
        air = self.climate.at(now)
        temp, rh = self._climate_sensor.read(air.temp_c, air.rh_pct)
        lx = self._light_sensor.read(air.lux)
        if self.climate_off:
            temp = rh = None
            self.climate_off[0].bit += 1
        if self.light_off:
            lx = -1
            self.light_off[0].bit += 1
        for fault in self.battery_marks:
            fault.bit += 1
        sense = Sense(
            raw,
            temp,
            rh,
            lx,
            self._meter.read(self.battery.loaded_mv(self.active_ma)),
            self.button_level() if self.presses else 0,
            self.clock.utc_s(now),
        )
        state = self.electronics.state(now)
        if state != "dry":
            for fault in self.wet_marks:
                fault.bit += 1
            (self.electronics.nonsense if state == "mad" else self.electronics.silence)(sense)
        return sense

    def unshown(self):
        """Return the faults that have not bitten: what they were to show was not shown."""
        return [fault for fault in self.faults if fault.bit == 0]

    def _running_ma(self, running):
        """What board and running pumps draw."""
        return self.active_ma + sum(r.line.current_ma(self.reservoir) for r in running)

    def _start_ma(self, c, running):
        """What they draw in the moment in which c's pump starts."""
        return self._running_ma(running) + c.line.pump_ma * (c.line.start_times - 1.0)

    # ---- for the judge ---------------------------------------------------------------------

    def truth(self):
        """What really is, as plain numbers; `pots` is a list of flat dicts."""
        self.settle()
        air = self.climate.at(self.now_s)
        tray, battery = self.tray, self.battery
        return {
            "t_s": self.now_s,
            "tray_ml": tray.water_ml,
            "tray_peak_ml": tray.peak_ml,
            "tray_capacity_ml": tray.capacity_ml,
            "tray_headroom_ml": tray.capacity_ml - tray.water_ml,
            "floods": tray.floods,
            "floods_by_hand": self.floods_by_hand,
            "spilled_ml": tray.spilled_ml,
            "tray_wires_wet": self.tray_wires_wet,
            "floor_ml": self.floor_ml,
            "reservoir_ml": self.reservoir.water_ml,
            "reservoir_usable_ml": self.reservoir.usable_ml,
            "electronics_wet": self.electronics.wettings,
            "battery_soc": battery.soc,
            "battery_mv": battery.open_mv(),
            "pump_start_mv": min(battery.loaded_mv(self._start_ma(c, [c])) for c in self.channels),
            "charge_used_mah": battery.used_mah,
            "battery_left_mah": battery.left_mah,
            "temp_c": air.temp_c,
            "rh_pct": air.rh_pct,
            "solar_wm2": air.solar_wm2,
            "lux": air.lux,
            "pots": [self._pot_truth(c) for c in self.channels],
        }

    def _pot_truth(self, c):
        pot = c.pot
        return {
            "name": c.name,
            "moisture_pm": pot.moisture_pm,
            "water_ml": pot.water_ml,
            "given_ml": c.given_ml,
            "by_hand_ml": c.by_hand_ml,
            "transpired_ml": c.transpired_ml,
            "evaporated_ml": c.evaporated_ml,
            "leachate_ml": c.leachate_ml,
            "alive": pot.alive,
            "stress": pot.stress,
            "leaf_area_cm2": pot.leaf_area_cm2,
            "on_ms": c.on_ms,
            "pulses": c.pulses,
            "present": c.present,
        }
