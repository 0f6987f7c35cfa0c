"""W1 to W9, each judged by the world's truth: a list of Findings, empty where it holds.

Every law is a function of an Evidence. The caps come from the settings that
were in force, the times from the world; what the firmware believed of itself is
only asked where the law is about what it stored. W4 is in unproven.py, W5 in belief.py, L1 to L5 in liveness.py.
"""

import math

from potreeve.logic import errors, limits, timekeep

from potreeve_tools.mishaps.belief import only_on_belief
from potreeve_tools.mishaps.evidence import DAY_S
from potreeve_tools.mishaps.rolling import most_within
from potreeve_tools.mishaps.settings_of import all_settings, cap, sent_settings
from potreeve_tools.mishaps.unproven import FORGETS, acknowledged, not_without_end

# The judge's own allowances, each so that a healthy run stays well inside.
WATER_SPARE = 1.001  # rounding of millilitres
TRAY_SPARE_ML = 1.0
BATTERY_TRIAL_S = 2 * DAY_S  # a refused battery may be tried again so seldom
BROWNOUTS = 4  # before a battery that suddenly sags is known to: each halves what is counted on

HAND_KINDS = ("tray_poured", "watering_can")
REPLACES = ("settings_sent", "settings_half_written", "flash_formatted")


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
        # A board that settings were sent to starts at once: its first record speaks for the new ones (swarm 91704).
        later = [f.start_s for f in ev.world.faults if f.kind in REPLACES and f.start_s > fault.start_s]
        replaced_s = min(later, default=math.inf)
        rows = [row for row in ev.rows_between(fault.start_s, ev.end_s) if row[0] < replaced_s]
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
