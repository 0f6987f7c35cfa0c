"""What each kind of mishap does to the world, and how it is undone.

`begin(world, fault)` and `end(world, fault)` are called by the world at a
fault's times. A fault's `bit` is counted where it really made a difference:
here for things that happen at once, in the world's pulses and readings for
those that lie in wait.
"""

from potreeve_tools.world import potcare
from potreeve_tools.world.faults import FLAGS, KINDS
from potreeve_tools.world.probe import AIR_THETA, BURST

_BEGIN, _END = {}, {}


def _begins(*kinds):
    def enter(action):
        for kind in kinds:
            assert kind in KINDS, kind
            _BEGIN[kind] = action
        return action
    return enter


def _ends(*kinds):
    def enter(action):
        for kind in kinds:
            assert kind in KINDS, kind
            _END[kind] = action
        return action
    return enter


def begin(world, fault):
    """Let a mishap strike."""
    fault.active = True
    _BEGIN[fault.kind](world, fault)


def end(world, fault):
    """End a mishap; undo what a person could undo."""
    if fault.active:
        fault.active = False
        _END.get(fault.kind, lambda *_: None)(world, fault)


def _again(world, fault, action):
    """Schedule a repeating mishap's next time, while it lasts."""
    every_s = fault.params.get("every_s", 0.0)
    if every_s > 0 and world.now_s + every_s < fault.end_s:
        world.at(world.now_s + every_s, action, fault)


# ---- probes --------------------------------------------------------------------------------

_PROBE = ("probe_out", "probe_leaning", "probe_broken", "probe_shorted", "probe_stuck", "probe_noisy",
          "probe_temp_drift", "probe_coating")


@_begins(*_PROBE)
def _probe_begin(world, fault):
    fault.saved["since_s"] = world.now_s
    world.channels[fault.channel].probe_faults.append(fault)


@_ends(*_PROBE, "pot_removed", "tipped_over")
def _probe_end(world, fault):
    c = world.channels[fault.channel]
    if fault in c.probe_faults:
        c.probe_faults.remove(fault)
    if fault.kind == "pot_removed":
        c.present = True
    elif fault.kind == "tipped_over" and c.tube_off is fault:
        c.tube_off = None


def faulty_burst(world, c, theta, temp_c):
    """Return a burst of channel c's probe with its faults in force, in the order they struck."""
    now, noise, replace = world.now_s, 1.0, None
    for fault in c.probe_faults:
        fault.bit += 1
        kind, params = fault.kind, fault.params
        if kind in ("probe_out", "tipped_over"):
            theta = AIR_THETA
        elif kind == "probe_leaning":
            theta += (AIR_THETA - theta) * params["gap"]
        elif kind == "probe_temp_drift":
            theta += params["vwc_per_degc"] * (temp_c - 20.0)
        elif kind == "probe_coating":
            days = (now - fault.saved["since_s"]) / 86_400.0
            theta += min(params["vwc_most"], params["vwc_per_day"] * days)
        elif kind == "probe_noisy":
            noise *= params["times"]
        elif kind != "probes_crossed":
            replace = fault
    burst = c.probe.burst(theta, temp_c, now, noise)
    return burst if replace is None else _no_signal(world, c, replace, burst)


def _no_signal(world, c, fault, burst):
    pulses = c.probe.kind == "pulses"
    if fault.kind == "probe_stuck":
        return [fault.saved.setdefault("value", burst[0])] * BURST
    if fault.kind == "probe_shorted" or pulses or fault.params["reads"] == "low":
        return [0] * BURST
    if fault.params["reads"] == "high":
        return [65535] * BURST
    return floating(fault, world.now_s)


def floating(fault, now_s):
    """An open converter input: it wanders over hours and picks up hum."""
    base = 30_000 + 14_000 * _wave(now_s / 17_000.0) + 9_000 * _wave(now_s / 3_100.0)
    return [min(65_535, max(0, int(base + 2_500 * _wave(i * 0.37 + now_s)))) & 0xFFF0 for i in range(BURST)]


def _wave(turns):
    """A triangle between -1 and 1."""
    return 4 * abs(turns % 1.0 - 0.5) - 1


@_begins("probes_crossed")
def _probes_crossed(world, fault):
    _cross(world, fault, "probe_in")
    for i in (fault.channel, fault.params["other"]):
        world.channels[i].probe_faults.append(fault)


@_ends("probes_crossed")
def _probes_uncrossed(world, fault):
    _cross(world, fault, "probe_in")
    for i in (fault.channel, fault.params["other"]):
        world.channels[i].probe_faults.remove(fault)


def _cross(world, fault, attribute):
    a, b = world.channels[fault.channel], world.channels[fault.params["other"]]
    here, there = getattr(a, attribute), getattr(b, attribute)
    setattr(a, attribute, there)
    setattr(b, attribute, here)


def drift_converter(world, fault, raw):
    """Scale all bursts by a drifting reference."""
    fault.bit += 1
    days = (world.now_s - fault.saved["since_s"]) / 86_400.0
    scale = max(0.0, 1.0 + fault.params["pm_per_day"] * days / 1000.0)
    for burst in raw:
        burst[:] = [min(65_535, int(sample * scale)) for sample in burst]


_LISTS = {"adc_drift": "adc_faults", "climate_silent": "climate_off", "light_silent": "light_off",
          "brown_out": "pulse_cuts"}


@_begins(*_LISTS)
def _list_begin(world, fault):
    fault.saved["since_s"] = world.now_s
    getattr(world, _LISTS[fault.kind]).append(fault)


@_ends(*_LISTS)
def _list_end(world, fault):
    getattr(world, _LISTS[fault.kind]).remove(fault)


# ---- tubes, pumps, reservoir ---------------------------------------------------------------


@_begins("tube_off")
def _tube_off(world, fault):
    c = world.channels[fault.channel]
    c.tube_off = fault
    c.line.drop_mm = fault.params["drop_mm"]


@_ends("tube_off")
def _tube_on(world, fault):
    c = world.channels[fault.channel]
    if c.tube_off is fault:
        c.tube_off = None
        c.line.drop_mm = None
    if fault.params["where"] == "electronics":
        world.electronics.dry()


@_begins("tube_clogged", "pump_weak", "pump_dry")
def _line_begin(world, fault):
    line = world.channels[fault.channel].line
    line.faults.append(fault)
    _line_shares(line)


@_ends("tube_clogged", "pump_weak", "pump_dry")
def _line_end(world, fault):
    line = world.channels[fault.channel].line
    line.faults.remove(fault)
    _line_shares(line)


def _line_shares(line):
    line.left = line.weak = 1.0
    for fault in line.faults:
        if fault.kind == "tube_clogged":
            line.left = min(line.left, fault.params["left"])
        elif fault.kind == "pump_weak":
            line.weak = min(line.weak, fault.params["left"])
        elif fault.kind == "pump_dry":
            line.weak = 0.0


@_begins("tubes_crossed")
def _tubes_crossed(world, fault):
    _cross(world, fault, "tube_to")
    for i in (fault.channel, fault.params["other"]):
        world.channels[i].line.faults.append(fault)


@_ends("tubes_crossed")
def _tubes_uncrossed(world, fault):
    _cross(world, fault, "tube_to")
    for i in (fault.channel, fault.params["other"]):
        world.channels[i].line.faults.remove(fault)


@_begins("inlet_buried")
def _buried(world, fault):
    line = world.channels[fault.channel].line
    fault.saved["valve"], fault.saved["air_hole"] = line.valve, line.air_hole
    line.buried, line.valve, line.air_hole = fault, False, False


@_ends("inlet_buried")
def _unburied(world, fault):
    line = world.channels[fault.channel].line
    line.buried, line.valve, line.air_hole = None, fault.saved["valve"], fault.saved["air_hole"]


@_begins("reservoir_empty")
def _emptied(world, fault):
    tub = world.reservoir
    gone = max(0.0, tub.water_ml - 0.5 * tub.inlet_mm * tub.area_cm2 / 10.0)
    tub.water_ml -= gone
    world.removed_ml += gone
    world.empty_marks.append(fault)


@_ends("reservoir_empty")
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


@_begins("tub_refilled")
def _refilled(world, fault):
    if _fill(world, fault.params["to_pct"]) > 0:
        fault.bit += 1
    _again(world, fault, _refilled)


@_begins("siphon")
def _siphon_begin(world, fault):
    line, tub = world.channels[fault.channel].line, world.reservoir
    fault.saved["base_mm"], fault.saved["air_hole"] = tub.base_mm, line.air_hole
    tub.base_mm += line.outlet_mm + fault.params["above_mm"] - tub.surface_mm
    line.air_hole = False
    line.siphon_fault = fault


@_ends("siphon")
def _siphon_end(world, fault):
    line = world.channels[fault.channel].line
    world.reservoir.base_mm, line.air_hole = fault.saved["base_mm"], fault.saved["air_hole"]
    line.siphon_fault = None


@_begins("pump_stuck_on")
def _welded(world, fault):
    world.channels[fault.channel].line.welded = fault


@_ends("pump_stuck_on")
def _replaced(world, fault):
    world.channels[fault.channel].line.welded = None


# ---- pots ----------------------------------------------------------------------------------


def _replace_pot(world, c, pot):
    """Put another pot in a channel's place; its water comes and goes with it."""
    world.removed_ml += c.pot.water_ml
    world.added_ml += pot.water_ml
    world.place_pot(c, pot)


@_begins("dry_substrate")
def _dry(world, fault):
    c = world.channels[fault.channel]
    _replace_pot(world, c, potcare.like(c.pot, world.stream(f"dry {c.index}"), start_pm=fault.params["moisture_pm"]))
    c.marks.append(fault)


@_begins("swelling_pellet")
def _pellet(world, fault):
    c = world.channels[fault.channel]
    _replace_pot(world, c, potcare.like(c.pot, world.stream(f"pellet {c.index}"), substrate="coir_pellet", start_pm=100.0))
    c.marks.append(fault)


@_ends("dry_substrate", "swelling_pellet")
def _no_longer_marked(world, fault):
    world.channels[fault.channel].marks.remove(fault)


@_begins("no_drainage")
def _no_hole(world, fault):
    c = world.channels[fault.channel]
    fault.saved["hole"] = c.pot.spec.drainage_hole
    potcare.set_hole(c.pot, False)
    c.marks.append(fault)


@_ends("no_drainage")
def _hole(world, fault):
    c = world.channels[fault.channel]
    c.marks.remove(fault)
    potcare.set_hole(c.pot, fault.saved["hole"])


@_begins("watering_can")
def _can(world, fault):
    ml = fault.params["ml"]
    fault.bit += 1
    world.added_ml += ml
    c = world.channels[fault.channel]
    landed = world.pour(c, ml, by_hand=True)
    world.deliveries.append((world.now_s, c.index, landed, ml, "hand"))
    _again(world, fault, _can)


@_begins("plant_grown")
def _grown(world, fault):
    fault.bit += 1
    world.channels[fault.channel].pot.grow(fault.params["times"])


@_begins("repotted")
def _repotted(world, fault):
    fault.bit += 1
    c = world.channels[fault.channel]
    params = fault.params
    _replace_pot(world, c, potcare.like(c.pot, world.stream(f"repot {c.index}"), diameter_cm=params["diameter_cm"],
                                        height_cm=params["height_cm"], start_pm=params["start_pm"]))


@_begins("swapped")
@_ends("swapped")
def _swapped(world, fault):
    fault.bit += 1
    a, b = world.channels[fault.channel], world.channels[fault.params["other"]]
    here, there = a.pot, b.pot
    world.place_pot(a, there)
    world.place_pot(b, here)


@_begins("tipped_over")
def _tipped(world, fault):
    fault.bit += 1
    c = world.channels[fault.channel]
    world.to_tray(potcare.run_out(c.pot, fault.params["lost"]))
    c.probe_faults.append(fault)
    if c.tube_off is None:
        fault.params.setdefault("where", "tray")
        c.tube_off = fault


@_begins("pot_removed")
def _removed(world, fault):
    fault.bit += 1
    world.channels[fault.channel].present = False


# ---- tray and electronics ------------------------------------------------------------------


@_begins("tray_poured")
def _poured(world, fault):
    fault.bit += 1
    world.added_ml += fault.params["ml"]
    world.to_tray(fault.params["ml"], by_hand=True)
    _again(world, fault, _poured)


@_begins("water_on_electronics")
def _wetted(world, fault):
    world.electronics.wet(world.now_s, fault.params["mad_s"])
    world.wet_marks.append(fault)


@_ends("water_on_electronics")
def _dried(world, fault):
    world.wet_marks.remove(fault)
    world.electronics.dry()


# ---- battery, board, clock -----------------------------------------------------------------


@_begins("battery_old", "battery_cold", "battery_sagging", "battery_low")
def _battery_begin(world, fault):
    battery, params = world.battery, fault.params
    fault.saved.update(capacity=battery.capacity_mah, times=battery.resistance_times, chill=battery.chill_c)
    battery.chill_c += params.get("by_degc", 0.0)
    battery.resistance_times *= params.get("resistance_times", 1.0)
    if fault.kind == "battery_old":
        battery.age(params["capacity_left"])
    elif fault.kind == "battery_low":
        battery.left_mah = min(battery.left_mah, battery.capacity_mah * params["left_pct"] / 100.0)
    world.battery_marks.append(fault)


@_ends("battery_old", "battery_cold", "battery_sagging", "battery_low")
def _battery_end(world, fault):
    battery, saved, params = world.battery, fault.saved, fault.params
    world.battery_marks.remove(fault)
    battery.chill_c -= params.get("by_degc", 0.0)
    battery.resistance_times /= params.get("resistance_times", 1.0)
    if fault.kind == "battery_old":
        battery.capacity_mah = saved["capacity"]
    if fault.kind in ("battery_old", "battery_low"):
        battery.left_mah = battery.capacity_mah


def cut_pulse(world, ms):
    """Return the ms after which a supply fault cuts this pulse short, or None."""
    for fault in world.pulse_cuts:
        after = int(fault.params["after_ms"])
        if after < ms and fault.bit < fault.params["times"]:
            fault.bit += 1
            return after
    return None


@_begins("reset_loop")
def _reset(world, fault):
    if fault.active:
        fault.bit += 1
        world.board_events.append((world.now_s, "reset", 0))
        _again(world, fault, _reset)


@_begins("clock_lost")
def _clock_lost(world, fault):
    if world.clock.known:
        fault.bit += 1
    world.clock.set_utc(0, world.now_s)


@_begins("clock_leap", "daylight_saving")
def _clock_leaps(world, fault):
    if world.clock.leap(fault.params["by_s"]):
        fault.bit += 1


@_begins("button")
def _pressed(world, fault):
    fault.bit += 1
    hold_ms, now = fault.params["hold_ms"], world.now_s
    world.presses.append((now, now + hold_ms / 1000.0))
    world.board_events.append((now, "button", hold_ms))
    if fault.bit < fault.params["times"]:
        world.at(now + max(fault.params["every_s"], hold_ms / 1000.0 + 0.05), _pressed, fault)


@_begins(*FLAGS)
def _flag_up(world, fault):
    world.flags[fault.kind] = fault


@_ends(*FLAGS)
def _flag_down(world, fault):
    if world.flags.get(fault.kind) is fault:
        del world.flags[fault.kind]


assert set(_BEGIN) == set(KINDS), set(KINDS) ^ set(_BEGIN)
