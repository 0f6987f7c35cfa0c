"""Mishaps of tubes, pumps and the reservoir."""

from potreeve_tools.world.channel import TRAY
from potreeve_tools.world.faults.hooks import again, begins, cross, ends

HOUR_S, DAY_S = 3600.0, 86_400.0


@begins("tube_off")
def _tube_off(world, fault):
    c = world.channels[fault.channel]
    c.tube_off = fault
    c.line.drop_mm = fault.params["drop_mm"]


@ends("tube_off")
def _tube_on(world, fault):
    c = world.channels[fault.channel]
    if c.tube_off is fault:
        c.tube_off = None
        c.line.drop_mm = None
    if fault.params["where"] == "electronics":
        world.electronics.dry()


@begins("tube_clogged", "pump_weak", "pump_dry")
def _line_begin(world, fault):
    line = world.channels[fault.channel].line
    line.faults.append(fault)
    _refit(line)


@begins("pump_wearing")
def _wearing(world, fault):
    """How fast small pumps wear is not published as a rate: the default loses half its flow in a month (ours)."""
    fault.saved["left"] = 1.0
    _line_begin(world, fault)
    world.at(world.now_s + DAY_S, _worn_a_day, fault)


def _worn_a_day(world, fault):
    if fault.active:
        left = fault.saved["left"] * (1.0 - fault.params["lost_per_day"])
        fault.saved["left"] = max(fault.params["left_least"], left)
        _refit(world.channels[fault.channel].line)
        world.at(world.now_s + DAY_S, _worn_a_day, fault)


@ends("tube_clogged", "pump_weak", "pump_wearing", "pump_dry")
def _line_end(world, fault):
    line = world.channels[fault.channel].line
    line.faults.remove(fault)
    _refit(line)


def _refit(line):
    """Work out what a line is like now from how it was built and what ails it (mishaps may overlap)."""
    line.left = line.weak = 1.0
    for fault in line.faults:
        if fault.kind == "tube_clogged":
            line.left = min(line.left, fault.params["left"])
        elif fault.kind == "pump_weak":
            line.weak = min(line.weak, fault.params["left"])
        elif fault.kind == "pump_wearing":
            line.weak = min(line.weak, fault.saved["left"])
        elif fault.kind == "pump_dry":
            line.weak = 0.0
    line.valve = line.built_valve and line.buried is None
    line.air_hole = line.built_air_hole and line.buried is None and line.siphon_fault is None


@begins("tubes_crossed")
def _tubes_crossed(world, fault):
    cross(world, fault, "tube_to")
    for i in (fault.channel, fault.params["other"]):
        world.channels[i].line.faults.append(fault)


@ends("tubes_crossed")
def _tubes_uncrossed(world, fault):
    cross(world, fault, "tube_to")
    for i in (fault.channel, fault.params["other"]):
        world.channels[i].line.faults.remove(fault)


@begins("inlet_buried")
def _buried(world, fault):
    line = world.channels[fault.channel].line
    line.buried = fault
    _refit(line)


@ends("inlet_buried")
def _unburied(world, fault):
    line = world.channels[fault.channel].line
    if line.buried is fault:
        line.buried = None
    _refit(line)


@begins("reservoir_empty")
def _emptied(world, fault):
    tub = world.reservoir
    gone = max(0.0, tub.water_ml - 0.5 * tub.inlet_mm * tub.area_cm2 / 10.0)
    tub.water_ml -= gone
    world.removed_ml += gone
    world.empty_marks.append(fault)


@ends("reservoir_empty")
def _filled(world, fault):
    world.empty_marks.remove(fault)
    _fill(world, fault.params["refill_pct"])


def _fill(world, pct):
    """Fill the reservoir to a share of its height; returns ml poured in."""
    tub = world.reservoir
    ml = max(0.0, tub.capacity_ml * pct / 100.0 - tub.water_ml)
    tub.water_ml += ml
    world.added_ml += ml
    return ml


@begins("tub_refilled")
def _refilled(world, fault):
    if _fill(world, fault.params["to_pct"]) > 0:
        fault.bit += 1
    again(world, fault, _refilled)


@begins("siphon")
def _siphon_begin(world, fault):
    line, tub = world.channels[fault.channel].line, world.reservoir
    tub.base_mm += line.outlet_mm + fault.params["above_mm"] - tub.surface_mm
    line.siphon_fault = fault
    _refit(line)


@ends("siphon")
def _siphon_end(world, fault):
    line = world.channels[fault.channel].line
    if line.siphon_fault is fault:
        line.siphon_fault = None
    _refit(line)
    if not any(c.line.siphon_fault for c in world.channels):
        world.reservoir.base_mm = world.reservoir.built_base_mm


@begins("tray_weeping")
def _weeps(world, fault):
    """Drop by drop, an hour's worth at a time: through a siphon that air or dirt all but blocks (its rate is ours)."""
    if not fault.active:
        return
    tub = world.reservoir
    ml = min(fault.params["ml_h"], tub.usable_ml)
    if ml > 0.0:
        fault.bit += 1
        tub.water_ml -= ml
        world.to_tray(ml)
        world.deliveries.append((world.now_s, -1, TRAY, ml, "siphon"))
    world.at(world.now_s + HOUR_S, _weeps, fault)


@begins("tub_leaks")
def _leaks(world, fault):
    """As fast as it is said to, a quarter of an hour at a time, until the surface stands at the crack."""
    if not fault.active:
        return
    tub = world.reservoir
    ml = min(fault.params["ml_h"] / 4.0, max(0.0, tub.water_ml - fault.params["down_to_mm"] * tub.area_cm2 / 10.0))
    if ml > 0.0:
        fault.bit += 1
        tub.water_ml -= ml
        world.removed_ml += ml
    world.at(world.now_s + HOUR_S / 4.0, _leaks, fault)


@begins("float_stuck_up", "float_stuck_down")
def _sticks(world, fault):
    world.floats.stuck[fault.params["place"]] = (fault.kind == "float_stuck_up", fault)


@ends("float_stuck_up", "float_stuck_down")
def _loose(world, fault):
    if world.floats.stuck.get(fault.params["place"], (0, None))[1] is fault:
        del world.floats.stuck[fault.params["place"]]


@begins("strip_stuck", "strip_film")
def _strip_errs(world, fault):
    world.strip_faults[fault.kind] = (fault, world.tub_level_mm, world.tub_sense())


@ends("strip_stuck", "strip_film")
def _strip_wiped(world, fault):
    if world.strip_faults.get(fault.kind, (None,))[0] is fault:
        del world.strip_faults[fault.kind]


@begins("pump_stuck_on")
def _welded(world, fault):
    world.channels[fault.channel].line.welded = fault


@ends("pump_stuck_on")
def _replaced(world, fault):
    line = world.channels[fault.channel].line
    if line.welded is fault:
        line.welded = None
