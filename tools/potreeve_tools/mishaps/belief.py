"""W5: no pulse is steered by a reading that can't be believed; rations are in rations.py."""

import statistics
from bisect import bisect_right

from potreeve.logic import dosing

from potreeve_tools.mishaps import rations
from potreeve_tools.mishaps.unproven import LEAST_SEEN, UNPROVEN_PM

BLIND_KINDS = (
    "probe_out",
    "probe_broken",
    "probe_shorted",
    "probe_noisy",
    "probe_stuck",
    "probe_leaning",
    "probe_coating",
    "water_on_electronics",
    "tipped_over",
    "pot_removed",
)
# Of these there is more and less. One that reads no further from the truth than a cheap probe may (0.05 m3/m3 root mean
# square error, Nagahage et al. 2019, abstract, times 1.65) is as good as another, and nothing can tell that it is not:
# a gap of 15 % after a press, a good probe with twelve times its noise (swarm 85868, 85977). Noise blinds where two of
# its standard deviations hide the rise that a probe must show. Asked of its last readings while no water spread.
BY_DEGREE = ("probe_leaning", "probe_noisy")
PROBE_VWC = 0.082
ASKED = 12


def only_on_belief(ev):
    """W5: no closed-loop pulse on a reading the fault makes unbelievable; rations bounded both ways."""
    found = []
    late_s = ev.scenario.expects["believed_h"] * 3600
    for fault in ev.mishaps:
        if fault.kind not in BLIND_KINDS or fault.params.get("vwc_per_day"):
            continue
        for channel in ev.channels if fault.channel < 0 else (fault.channel,):
            blind = [p for p in ev.tended_pulses(channel) if fault.start_s + late_s < p.t_s < fault.end_s]
            if fault.kind in BY_DEGREE:
                blind = _misled(ev, channel, fault, blind)
            if blind:
                found.append(
                    ev.finding(
                        "W5", "steered_blind", channel, blind[0].t_s, pulses=len(blind), blind_since_s=fault.start_s
                    )
                )
    return found + rations.judge(ev)


def _misled(ev, channel, fault, pulses):
    """Those of a pot's pulses before which the last readings, since a fault began and while none of its own water
    spread, were wrong or noisy beyond what a sound probe's may be; or were too few."""
    settings = ev.settings["channels"][channel]
    most_pm = 1000 * PROBE_VWC * settings["pot_ml"] / settings["holds_ml"]
    given = [p.t_s for p in ev.pulses_of(channel)]
    times, errors_pm = [], []
    for row in ev.rows_between(fault.start_s, fault.end_s):
        before = bisect_right(given, row[0])
        if not before or row[0] - given[before - 1] >= dosing.SPREADS_S:
            times.append(row[0])
            errors_pm.append(ev.pm(row, channel) - ev.moisture_pm(channel, row[0]))
    found = []
    for p in pulses:
        last = bisect_right(times, p.t_s)
        asked = errors_pm[max(0, last - ASKED) : last]
        blinds = len(asked) < ASKED or 2 * statistics.pstdev(asked) > LEAST_SEEN * UNPROVEN_PM
        if blinds or abs(statistics.fmean(asked)) > most_pm:
            found.append(p)
    return found
