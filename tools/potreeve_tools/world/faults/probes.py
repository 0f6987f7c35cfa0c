"""Mishaps of probes, converter and the other sensors."""

from potreeve_tools.world.faults.hooks import begins, cross, ends
from potreeve_tools.world.probe import AIR_THETA, BURST

_PROBE = (
    "probe_out",
    "probe_leaning",
    "probe_broken",
    "probe_shorted",
    "probe_stuck",
    "probe_noisy",
    "probe_temp_drift",
    "probe_coating",
)


@begins(*_PROBE)
def _probe_begin(world, fault):
    fault.saved["since_s"] = world.now_s
    world.channels[fault.channel].probe_faults.append(fault)


@ends(*_PROBE, "pot_removed", "tipped_over")
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


@begins("probes_crossed")
def _probes_crossed(world, fault):
    cross(world, fault, "probe_in")
    for i in (fault.channel, fault.params["other"]):
        world.channels[i].probe_faults.append(fault)


@ends("probes_crossed")
def _probes_uncrossed(world, fault):
    cross(world, fault, "probe_in")
    for i in (fault.channel, fault.params["other"]):
        world.channels[i].probe_faults.remove(fault)


def drift_converter(world, fault, raw):
    """Scale all bursts by a drifting reference."""
    fault.bit += 1
    days = (world.now_s - fault.saved["since_s"]) / 86_400.0
    scale = max(0.0, 1.0 + fault.params["pm_per_day"] * days / 1000.0)
    for burst in raw:
        burst[:] = [min(65_535, int(sample * scale)) for sample in burst]


_LISTS = {
    "adc_drift": "adc_faults",
    "climate_silent": "climate_off",
    "light_silent": "light_off",
    "brown_out": "pulse_cuts",
}


@begins(*_LISTS)
def _list_begin(world, fault):
    fault.saved["since_s"] = world.now_s
    getattr(world, _LISTS[fault.kind]).append(fault)


@ends(*_LISTS)
def _list_end(world, fault):
    getattr(world, _LISTS[fault.kind]).remove(fault)
