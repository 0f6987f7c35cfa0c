"""W1 to W9, each judged by the world's truth: a list of Findings, empty where it holds.

Every law is a function of an Evidence. The caps come from the settings that
were in force, the times from the world; what the firmware believed of itself is
only asked where the law is about what it stored. L1 to L5 are in liveness.py.
"""

import math
import statistics
from bisect import bisect_right

from potreeve.logic import dosing, errors, limits, timekeep
from potreeve.logic.state import HELD

from potreeve_tools.mishaps import rations
from potreeve_tools.mishaps.evidence import DAY_S
from potreeve_tools.mishaps.rolling import most_within
from potreeve_tools.mishaps.settings_of import all_settings, cap, sent_settings

# The judge's own allowances, each so that a healthy run stays well inside.
WATER_SPARE = 1.001  # rounding of millilitres
RISE_PM = 8  # a reading this far above another is no noise; the firmware asks for more
SURE_RISE_PM = 16  # and what it asks for at the least, with what its average lags behind a single reading
TRAY_SPARE_ML = 1.0
BATTERY_TRIAL_S = 2 * DAY_S  # a refused battery may be tried again so seldom
BROWNOUTS = 4  # before a battery that suddenly sags is known to: each halves what is counted on

# W4. Water that was not seen to arrive goes on until there was enough of it for a probe to see: `unproven_max` pulses,
# or what should have lifted the reading by UNPROVEN_PM, whichever is more. A held pot may try one small pulse in
# TRIAL_EVERY_S, or as many as should lift it by TRIAL_PM; what showed counts against no later one. A probe that shows
# little shows LEAST_SEEN of the pot's mean.
UNPROVEN_PM = 60
TRIAL_PM = 120
LEAST_SEEN = 0.65
TRIAL_EVERY_S = DAY_S
TRIAL_SPARE_S = 600  # a board's clock may be fast by some thousand ppm
PUMP_SPARE = (
    1.1  # water is reckoned by a pump's calibration; by its battery's voltage it brings some per cent more or less
)

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
HAND_KINDS = ("tray_poured", "watering_can")
REPLACES = ("settings_sent", "settings_half_written", "flash_formatted")
FORGETS = ("memory_lost", "flash_formatted")


def judge(evidence):
    """Findings on all of them, in their order."""
    return [finding for law in LAWS for finding in law(evidence)]


def pulse_length(ev):
    """W1: no pulse longer than its limit plus the watchdog's time-out."""
    found = []
    for p in ev.pulses:
        limit_ms = cap(ev, p.channel, "pulse_max_ms")
        most_ms = limit_ms + ev.session.board["wdt_max_ms"]
        if p.actual_ms > most_ms:
            found.append(ev.finding("W1", "pulse_too_long", p.channel, p.t_s, ms=p.actual_ms, most_ms=most_ms))
        if p.ms > limit_ms:
            found.append(ev.finding("W1", "asked_too_long", p.channel, p.t_s, ms=p.ms, most_ms=limit_ms))
    return found


def day_caps(ev):
    """W2: true water of any 24 hours within its caps, and the ledger never counts less than was given."""
    pumped = [d for d in ev.tubes if d[4] == "pulse"]
    by_itself = ev.scenario.expects["runs_by_itself_ml"] > 0
    if by_itself:
        # A tub that was lifted drives every pump faster than it was measured: then what the pulses would have brought.
        pumped = [(p.t_s, p.channel, p.channel, _meant_ml(ev, p), "pulse") for p in ev.pulses]
    found = []
    for channel in ev.channels:
        own = [(d[0], d[3]) for d in pumped if d[1] == channel]
        found += _over_day(ev, channel, own, cap(ev, channel, "day_ml"))
        found += [] if by_itself else _undercounted(ev, channel, own)
    rig_cap_ml = max(s["rig_day_ml"] for s in all_settings(ev))
    found += _over_day(ev, -1, [(d[0], d[3]) for d in pumped], rig_cap_ml)
    return found + _tray(ev)


def _over_day(ev, channel, given, cap_ml):
    ml, when_s = most_within(given, DAY_S)
    if ml > cap_ml * WATER_SPARE:
        return [ev.finding("W2", "over_day", channel, when_s, ml=ml, cap_ml=cap_ml)]
    return []


def _meant_ml(ev, pulse):
    """What a pulse brings by a pump as it was measured, the tube full."""
    return pulse.actual_ms * ev.settings["channels"][pulse.channel]["pump_ul_s"] / 1e6


def _undercounted(ev, channel, own):
    for p in ev.pulses_of(channel):
        if p.state is None:
            continue
        true_ml = sum(ml for t_s, ml in own if p.t_s - DAY_S < t_s < p.t_s + 0.001 * p.actual_ms + 1)
        counted_ml = limits.spent_ul(p.state.pots[channel]) / 1000
        if true_ml > counted_ml * WATER_SPARE:
            return [ev.finding("W2", "undercounted", channel, p.t_s, counted_ml=counted_ml, given_ml=true_ml)]
    return []


def _tray(ev):
    """The tray stays within the headroom it was given, as far as pumps fill it."""
    by_hand = any(f.kind in HAND_KINDS and f.bit for f in ev.world.faults)
    by_itself_ml = ev.scenario.expects["runs_by_itself_ml"]
    headroom_ml = max(s["tray_headroom_ml"] for s in all_settings(ev))
    peak_ml = ev.last["tray_peak_ml"]
    if not by_hand and peak_ml > headroom_ml + by_itself_ml + TRAY_SPARE_ML:
        return [ev.finding("W2", "tray_over_headroom", tray_ml=peak_ml, headroom_ml=headroom_ml)]
    return []


def intent_first(ev):
    """W3: the ledger on flash holds an intent for the pulse that now begins, charged in full."""
    found = []
    for p in ev.pulses:
        pot = p.state.pots[p.channel] if p.state else None
        if pot is None or pot.intent_ms < p.ms:
            stored_ms = None if pot is None else pot.intent_ms
            found.append(ev.finding("W3", "pumped_before_intent", p.channel, p.t_s, ms=p.ms, stored_ms=stored_ms))
    return found


def not_without_end(ev):
    """W4: water in a row, steered by the probe, without a reading clearly above the lowest at one of its pulses; and
    what a held pot tries.

    A ration that the probe sees ends the row as well: then water arrives. A row ends with the plant: the board goes on
    holding it to drink what it used to, and half of that may hide a rise; W2 bounds what such a pot gets.
    """
    return [finding for channel in ev.channels for finding in _rows(ev, channel) + _trials(ev, channel)]


def _rows(ev, channel):
    """Whether the board kept its limit by any way in which it may have counted: see _counted."""
    most = cap(ev, channel, "unproven_max")
    steered = set(ev.tended_pulses(channel))
    ways, before_s = [], 0.0
    died_s = ev.died_s(channel)
    for p in ev.pulses_of(channel):
        if died_s is not None and p.t_s > died_s:
            break
        rows = [(one[0], ev.pm(one, channel)) for one in ev.rows_between(before_s + 60, p.t_s + 60)]
        if not before_s or acknowledged(ev, before_s, p.t_s) or _forgotten(ev, before_s, p.t_s):
            ways = [(_base(rows, p.t_s), 0, 0.0)]
        else:
            ways = [one for way in ways for one in _counted(ev, channel, way, rows, p.t_s)]
        before_s = p.t_s
        if p not in steered:
            # A ration, or a trial, is to show by itself.
            ways = list(dict.fromkeys((_base(rows, p.t_s), *way[1:]) for way in ways))
            continue
        over = [way for way in ways if way[1] >= most and _lift_pm(ev, channel, way[2]) >= PUMP_SPARE * UNPROVEN_PM]
        if len(over) == len(ways):
            _, row, ml = min(over, key=lambda way: way[1])
            figures = {"pulses": row + 1, "pulses_most": most, "lift_pm": _lift_pm(ev, channel, ml)}
            return [ev.finding("W4", "unproven_without_end", channel, p.t_s, **figures, lift_most_pm=UNPROVEN_PM)]
        likely_ml = _likely_ml(ev, p)
        ways = list(
            dict.fromkeys((base, row + 1, ml + likely_ml) for base, row, ml in ways if (base, row, ml) not in over)
        )
    return []


def _base(rows, now_s):
    """From where a rise counts: (the last reading; the highest of the last three, for the board's average lags behind a
    pot that falls; the time)."""
    readings = [pm for _, pm in rows[-3:]] or [0]
    return readings[-1], max(readings), now_s


def _counted(ev, channel, way, rows, now_s):
    """How a count may have gone on by the readings since the last pulse: a rise of RISE_PM may have ended its row, and
    only one of SURE_RISE_PM that the reading shows by itself must have. Of what lies between, the firmware counts half
    of a thirst that it guesses: pulses in a creeping rise may be proven one by one, or together with the next, and the
    row that follows begins at either (swarm 85238, 85822).

    way: (its _base, pulses in the row, their water in ml); rows: (t_s, reading).
    """
    (base_pm, high_pm, base_s), row, ml = way
    now_pm = rows[-1][1] if rows else 0
    # What the plant really drank since belongs to the rise: a pot that gets nothing falls by it.
    rise_pm = max((pm + ev.drank_pm(channel, base_s, t_s) for t_s, pm in rows), default=base_pm) - base_pm
    found = [(_base(rows, now_s), 0, 0.0)] if rise_pm >= RISE_PM else []
    if now_pm < base_pm:
        # A pot that has dried meanwhile is to rise from where it is now, with whatever it is given.
        found.append((_base(rows, now_s), row, ml))
    elif now_pm - high_pm < SURE_RISE_PM:
        found.append(way)
    return found


def _likely_ml(ev, pulse):
    """What a pulse brings by a pump as it was measured: slower on a battery that sank, and after its tube was filled,
    where that had run back since its last pulse."""
    before_s = max([p.t_s for p in ev.pulses_of(pulse.channel) if p.t_s < pulse.t_s], default=-dosing.NEVER_S)
    rest_mv = pulse.state.rig.rest_mv if pulse.state else 0
    settings = ev.settings["channels"][pulse.channel]
    return dosing.likely_ul(pulse.actual_ms, int(pulse.t_s - before_s), settings, rest_mv) / 1000


def _lift_pm(ev, channel, ml):
    """By how much water should lift a reading, at the least."""
    return LEAST_SEEN * 1000 * ml / ev.settings["channels"][channel]["holds_ml"]


def _trials(ev, channel):
    """A held pot's pulses: one trial a day; a person who looked, or water that showed, starts the count anew."""
    tried = [p for p in ev.pulses_of(channel) if p.state and p.state.pots[channel].ladder == HELD]
    began, ml = None, 0.0
    for p in tried:
        whole = _lift_pm(ev, channel, ml) >= TRIAL_PM
        late = began is None or p.t_s - began.t_s >= TRIAL_EVERY_S - TRIAL_SPARE_S
        if late or acknowledged(ev, began.t_s, p.t_s) or whole and _showed(ev, channel, began.t_s, p.t_s):
            began, ml = p, 0.0
        elif whole:
            figures = {"apart_h": (p.t_s - began.t_s) / 3600, "lift_pm": _lift_pm(ev, channel, ml)}
            return [ev.finding("W4", "trials_too_many", channel, p.t_s, **figures)]
        ml += _likely_ml(ev, p)
    return []


def _showed(ev, channel, from_s, to_s):
    """Whether a pot's reading rose between two times, what its plant really drank meanwhile counted in."""
    rows = ev.rows_between(from_s - DAY_S, from_s + 60)
    if not rows:
        return False
    base_pm = ev.pm(rows[-1], channel)
    seen = [ev.pm(one, channel) + ev.drank_pm(channel, from_s, one[0]) for one in ev.rows_between(from_s + 60, to_s)]
    return max(seen, default=base_pm) - base_pm >= RISE_PM


def acknowledged(ev, from_s, to_s):
    """Whether somebody pressed the button or sent settings between two times."""
    sent = [f.start_s for f in ev.mishaps if f.kind == "settings_sent"]
    return any(from_s <= t_s <= to_s for t_s in [begin for begin, _ in ev.world.presses] + sent)


def _forgotten(ev, from_s, to_s):
    """Whether the memory of a row was lost between two pulses, and a whole day waited out for it (W9)."""
    lost = any(f.kind in FORGETS and from_s <= f.start_s <= to_s for f in ev.mishaps)
    return lost and to_s - from_s >= DAY_S


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


def never_on_low_battery(ev):
    """W6: no pulse below the stop voltage or the reserve, nor again and again into a brown-out: a few, then one in
    TRIAL_S."""
    found = []
    stop_mv = min(s["battery_stop_mv"] for s in all_settings(ev))
    for p in ev.pulses:
        if p.state and p.state.rig.rest_mv < stop_mv:
            found.append(
                ev.finding("W6", "pumped_below_stop", p.channel, p.t_s, mv=p.state.rig.rest_mv, stop_mv=stop_mv)
            )
    meant = sum(f.bit for f in ev.mishaps if f.kind == "brown_out")
    cut, before_s, first_s = 0, 0.0, math.inf
    for p in ev.pulses:
        if acknowledged(ev, before_s, p.t_s):
            cut, first_s = 0, math.inf  # a person may have brought another battery
        before_s = p.t_s
        cut += p.brownout
        first_s = min(first_s, p.t_s) if p.brownout else first_s
        # A refused battery is tried again now and then: only a pulse shows that it is well again.
        trials = max(0.0, p.t_s - first_s) // BATTERY_TRIAL_S
        if cut > BROWNOUTS + meant + trials:
            return found + [ev.finding("W6", "brown_outs", -1, p.t_s, pulses=cut)]
    return found


def bad_settings_never_run(ev):
    """W7: settings that do not pass are told of, and water stays within the last good ones (see W2)."""
    found = []
    for fault in ev.mishaps:
        bad = fault.kind == "settings_half_written" or (fault.kind == "settings_sent" and sent_settings(ev) is None)
        if not bad or not fault.bit:
            continue
        rows = ev.rows_between(
            fault.start_s,
            min([ev.end_s, *(f.start_s for f in ev.world.faults if f.kind in REPLACES and f.start_s > fault.start_s)]),
        )
        after = [head["errors"] & errors.SETTINGS for t_s, head, _ in rows[:3]]
        # A board that has no settings at all knows no pots and keeps no records; then it must not pump either.
        silent = not after and not any(p.t_s > fault.start_s for p in ev.pulses)
        if not any(after) and not silent:
            found.append(ev.finding("W7", "bad_settings_unsaid", -1, fault.start_s))
        quiet = [t_s for t_s, head, _ in rows[3:] if not (head["errors"] & errors.SETTINGS and head["alarm"])]
        if quiet and any(after):
            found.append(ev.finding("W7", "last_good_unsaid", -1, quiet[0]))
    return found


def nothing_by_radio(ev):
    """W8: all that comes back through the seam is a count, and whatever it says it only moves the queue: a broker hears
    what was written, byte for byte, each record no sooner than those before it. (The caps are W2's.)"""
    written = set(ev.session.records)
    strange = [heard.t_s for heard in ev.heard if heard.line not in written]
    times = [heard_s for _, heard_s in ev.arrivals()]
    late = [one for one, other in zip(times, times[1:]) if other < one]
    return [ev.finding("W8", "heard_unwritten", -1, t_s) for t_s in strange[:1]] + [
        ev.finding("W8", "heard_out_of_order", -1, t_s) for t_s in late[:1]
    ]


def no_fresh_start(ev):
    """W9: after its memory is lost a rig gives nothing for a day, unless a person emptied the tray and said so."""
    found = []
    for fault in ev.mishaps:
        if fault.kind not in FORGETS or not fault.bit:
            continue
        said = [
            f.start_s
            for f in ev.world.faults
            if f.kind == "button" and f.start_s > fault.start_s and f.params["hold_ms"] >= 2000
        ]
        until_s = min([fault.start_s + DAY_S, *said])
        early = [p for p in ev.pulses if fault.start_s < p.t_s < until_s]
        if early:
            hours = (early[0].t_s - fault.start_s) / 3600
            found.append(ev.finding("W9", "pumped_without_memory", early[0].channel, early[0].t_s, hours=hours))
    if any(not head["memory"] and head["cause"] != timekeep.KEPT for _, head, _ in ev.rows[:1]):
        found.append(ev.finding("W9", "memory_claimed"))
    return found


LAWS = (
    pulse_length,
    day_caps,
    intent_first,
    not_without_end,
    only_on_belief,
    never_on_low_battery,
    bad_settings_never_run,
    nothing_by_radio,
    no_fresh_start,
)
