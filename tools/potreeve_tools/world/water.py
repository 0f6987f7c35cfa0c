"""Where the water is: reservoir, pump and tube, tray.

All heights are millimetres above the floor of the tray; a reservoir that
stands lower has a negative base. Volumes are millilitres, areas cm2, so one
millimetre over one cm2 is 0.1 ml. Nothing here makes or loses water: what is
taken is returned to the caller, who must put it somewhere.
"""

import math

from potreeve_tools.world.fao56 import saturation_kpa

PUMP_KINDS = ("centrifugal", "peristaltic")
# centrifugal: flow falls to nothing at about 1.15 V and the motor starts at about 1.7 V
# (fit through 12 ml/s at 3 V and 25 ml/s at 5 V of one published 3 V pump)
_ZERO_MV = {"centrifugal": 1150.0, "peristaltic": 600.0}
_START_MV = {"centrifugal": 1700.0, "peristaltic": 1500.0}
_DRAIN_BACK_S = 20.0
_VALVE_LEAK_S = 7 * 86400.0
_SIPHON_FULL = 0.98
_FLOOD_OVER_S = 3600.0


def evaporation_mm_day(temp_c, rh_pct):
    """Evaporation from still open water indoors, mm/day.

    E = 5e-5 (pw - pr) kg/m2/h with pressures in Pa: a rule from memory
    (indoor-pool practice, forced air); its range of 1-4 mm/day at room
    conditions is what we rely on, not its digits.
    """
    deficit_pa = 1000.0 * saturation_kpa(temp_c) * (1.0 - rh_pct / 100.0)
    return max(0.0, 5e-5 * deficit_pa * 24.0)


class Reservoir:
    """A tub with vertical walls. inlet_mm: the pumps' inlet above its floor; below it they suck air."""

    def __init__(self, area_cm2, height_mm, base_mm, level_mm, inlet_mm, lid):
        self.area_cm2 = area_cm2
        self.height_mm = height_mm
        self.base_mm = self.built_base_mm = base_mm
        self.inlet_mm = inlet_mm
        self.lid = lid
        self.water_ml = level_mm * area_cm2 / 10.0

    @property
    def surface_mm(self):
        """Height of the water's surface above the tray's floor."""
        return self.base_mm + self.water_ml * 10.0 / self.area_cm2

    @property
    def usable_ml(self):
        """What the pumps can reach."""
        return max(0.0, self.water_ml - self.inlet_mm * self.area_cm2 / 10.0)

    @property
    def capacity_ml(self):
        """Brim-full content."""
        return self.height_mm * self.area_cm2 / 10.0

    def take(self, ml):
        """Take up to ml through the inlet; returns what came."""
        got = min(ml, self.usable_ml)
        self.water_ml -= got
        return got

    def put(self, ml):
        """Put ml in; returns what ran over."""
        self.water_ml += ml
        over = max(0.0, self.water_ml - self.capacity_ml)
        self.water_ml -= over
        return over

    def evaporate(self, mm):
        """Lose up to mm of depth to the air (a lid leaves 2 %); returns ml."""
        if self.lid:
            mm *= 0.02
        lost = min(self.water_ml, mm * self.area_cm2 / 10.0)
        self.water_ml -= lost
        return lost


class Tray:
    """The tray under the pots.

    area_cm2: of the tray. taken_cm2: footprint of the pots (a pot that stands
    in water displaces it, so headroom is counted cautiously).
    """

    def __init__(self, area_cm2, wall_mm, taken_cm2=0.0, water_ml=0.0):
        self.free_cm2 = max(1.0, area_cm2 - taken_cm2)
        self.wall_mm = wall_mm
        self.capacity_ml = self.free_cm2 * wall_mm / 10.0
        self.water_ml = water_ml
        self.peak_ml = water_ml
        self.spilled_ml = 0.0
        self.floods = 0
        self._calm_s = _FLOOD_OVER_S

    @property
    def level_mm(self):
        """Depth of standing water."""
        return self.water_ml * 10.0 / self.free_cm2

    def put(self, ml):
        """Put ml in; returns what ran over the wall. One flood lasts until nothing has run over for an hour."""
        level = self.water_ml + ml
        over = level - self.capacity_ml
        if over <= 0.0:
            self.water_ml = level
            if level > self.peak_ml:
                self.peak_ml = level
            return 0.0
        self.water_ml = self.peak_ml = self.capacity_ml
        self.spilled_ml += over
        if self._calm_s >= _FLOOD_OVER_S:
            self.floods += 1
        self._calm_s = 0.0
        return over

    def rest(self, seconds):
        """Let time pass since water last ran over."""
        self._calm_s += seconds

    def take(self, ml):
        """Take up to ml out; returns what came."""
        got = min(ml, self.water_ml)
        self.water_ml -= got
        return got

    def evaporate(self, mm):
        """Lose up to mm of depth to the air; the last half millimetre wets only part of the floor. Returns ml."""
        if self.water_ml <= 0.0:
            return 0.0
        wetted = min(1.0, self.level_mm / 0.5)
        return self.take(mm * self.free_cm2 * wetted / 10.0)


class Line:
    """One channel's pump and tube, from the reservoir's inlet to the outlet at the pot.

    pump_ml_s: flow at the pot with the tube full, at nominal_mv and the
    starting level of the reservoir. lift_max_mm: head at which the flow stops
    at nominal_mv. valve: a check valve keeps the tube full. air_hole: a hole
    above the outlet that lets air in when the pump stops, so no siphon forms.
    """

    def __init__(
        self,
        rng,
        kind,
        pump_ml_s,
        nominal_mv,
        pump_ma,
        start_times,
        lift_max_mm,
        tube_mm,
        tube_id_mm,
        outlet_mm,
        valve,
        air_hole,
        tolerance=1.0,
    ):
        self.kind = kind
        wobble = max(-2.0, min(2.0, rng.gauss(0, 1)))
        self.flow_ml_s = pump_ml_s * (1 + 0.06 * tolerance * wobble)
        self.nominal_mv = nominal_mv
        self.pump_ma = pump_ma
        self.start_times = start_times
        self.lift_max_mm = lift_max_mm
        self.lift_ref_mm = 0.0
        self.tube_ml = math.pi * (tube_id_mm / 20.0) ** 2 * (tube_mm / 10.0)
        # laminar flow: Q = pi d^4 rho g h / (128 mu L), SI, water at 20 degC; ml/s per mm of head
        d_m, length_m = tube_id_mm / 1000.0, tube_mm / 1000.0
        self.siphon_ml_s_mm = math.pi * d_m**4 * 998.2 * 9.81 * 1e-3 / (128 * 1.002e-3 * length_m) * 1e6
        self.outlet_mm = outlet_mm
        self.valve = self.built_valve = valve or kind == "peristaltic"
        self.air_hole = self.built_air_hole = air_hole
        self.water_ml = 0.0
        self.run_s = 0.0
        self.dry_s = 0.0
        # what faults change
        self.left = 1.0
        self.weak = 1.0
        self.drop_mm = None
        self.faults = []
        self.buried = None
        self.welded = None
        self.siphon_fault = None

    def effective_outlet_mm(self):
        """Height of the tube's end: lower when the tube has come off and droops."""
        return self.outlet_mm if self.drop_mm is None else self.drop_mm

    def rate_ml_s(self, mv, surface_mm):
        """Flow with the tube full at a supply voltage and a reservoir surface, ml/s."""
        if mv < _START_MV[self.kind] or self.left <= 0.0 or self.weak <= 0.0:
            return 0.0
        zero = _ZERO_MV[self.kind]
        speed = (mv - zero) / (self.nominal_mv - zero)
        rate = self.flow_ml_s * speed * self.left * self.weak
        if self.kind == "centrifugal":
            head = self.lift_max_mm * speed * speed
            lift = self.effective_outlet_mm() - surface_mm
            if lift >= head:
                return 0.0
            rate *= (1.0 - lift / head) / max(0.05, 1.0 - self.lift_ref_mm / self.lift_max_mm)
        return rate

    def run(self, seconds, mv, reservoir):
        """Run the pump. Moves water from the reservoir; returns ml that left the tube's end."""
        self.run_s += seconds
        rate = self.rate_ml_s(mv, reservoir.surface_mm)
        wanted = rate * seconds
        got = reservoir.take(wanted)
        if got < wanted or reservoir.usable_ml <= 0.0:
            self.dry_s += seconds if wanted <= 0 else seconds * (1 - got / wanted)
        room = self.tube_ml - self.water_ml
        if got <= room:
            self.water_ml += got
            return 0.0
        self.water_ml = self.tube_ml
        return got - room

    def current_ma(self, reservoir):
        """Running current: less when it pumps air, more against a kink."""
        if reservoir.usable_ml <= 0.0:
            return self.pump_ma * 0.6
        return self.pump_ma * (1.0 + 0.3 * (1.0 - self.left))

    def siphons(self, reservoir):
        """Whether water runs by itself, pump off: tube full, no air, outlet below the surface."""
        return (
            self.water_ml >= _SIPHON_FULL * self.tube_ml
            and self.left > 0.0
            and self.kind == "centrifugal"
            and not self.air_hole
            and reservoir.usable_ml > 0.0
            and reservoir.surface_mm > self.effective_outlet_mm() + 0.5
        )

    def siphon(self, seconds, reservoir):
        """Let it siphon for a time: the surface sinks towards the outlet. Returns ml that left the tube's end."""
        head = reservoir.surface_mm - self.effective_outlet_mm()
        rate_s = self.siphon_ml_s_mm * self.left * 10.0 / reservoir.area_cm2
        sunk_mm = head * (1.0 - math.exp(-rate_s * seconds))
        return reservoir.take(sunk_mm * reservoir.area_cm2 / 10.0)

    def back_ml(self, seconds, reservoir):
        """How much a buried outlet sucks back from the pot in a time, at most, ml."""
        if self.buried is None or self.valve or self.left <= 0.0:
            return 0.0
        if self.water_ml < _SIPHON_FULL * self.tube_ml:
            return 0.0
        head = self.effective_outlet_mm() - reservoir.surface_mm
        return max(0.0, head * self.siphon_ml_s_mm * self.left * seconds)

    def idle(self, seconds):
        """Let the tube stand: without a valve it runs back within a minute. Returns ml back to the reservoir."""
        if self.water_ml <= 0.0:
            return 0.0
        tau = _VALVE_LEAK_S if self.valve else _DRAIN_BACK_S
        back = self.water_ml * (1.0 - math.exp(-seconds / tau))
        if self.water_ml - back < 1e-4:
            back = self.water_ml
        self.water_ml -= back
        return back
