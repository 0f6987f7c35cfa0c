"""W1 to W9, each judged by the world's truth: a list of lines, empty where it holds.

Every law is a function of an Evidence. The caps come from the settings that
were in force, the times from the world; what the firmware believed of itself is
only asked where the law is about what it stored.
"""

import math

from potreeve.logic import battery, errors, limits, reasons, timekeep
from potreeve.logic.state import RATIONED, TENDED

from potreeve_tools.mishaps.evidence import DAY_S, day_text

# The judge's own allowances, each so that a healthy run stays well inside.
WATER_SPARE = 1.001  # rounding of millilitres
RISE_PM = 8  # a reading this far above another is no noise; the firmware asks for more
SURE_RISE_PM = 12  # and what it asks for at the least
TRAY_SPARE_ML = 1.0
TRIAL_S = 2 * DAY_S  # a refused battery may be tried again so seldom
BROWNOUTS = 4  # before a battery that suddenly sags is known to: each halves what is counted on
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
HAND_KINDS = ("tray_poured", "watering_can")
REPLACES = ("settings_sent", "settings_half_written", "flash_formatted")
FORGETS = ("memory_lost", "flash_formatted")
SETTLED_S = 2 * DAY_S


def judge(evidence):
    """{"W1": [lines], ..., "W9": [lines]}."""
    return {name: law(evidence) for name, law in LAWS.items()}


def pulse_length(ev):
    """W1: no pulse longer than its limit plus the watchdog's time-out."""
    found = []
    for p in ev.pulses:
        most_ms = _caps(ev, p.channel, "pulse_max_ms") + ev.session.board["wdt_max_ms"]
        if p.actual_ms > most_ms:
            found.append(f"{day_text(p.t_s)} {ev.name(p.channel)}: a pulse of {p.actual_ms} ms, limit {most_ms} ms")
        if p.ms > _caps(ev, p.channel, "pulse_max_ms"):
            found.append(
                f"{day_text(p.t_s)} {ev.name(p.channel)}: {p.ms} ms asked for, limit "
                f"{_caps(ev, p.channel, 'pulse_max_ms')} ms"
            )
    return found


def day_caps(ev):
    """W2: true water of any 24 hours within its caps, and the ledger never counts less than was given."""
    pumped = [d for d in ev.tubes if d[4] == "pulse"]
    by_itself = ev.scenario.expects["runs_by_itself_ml"] > 0
    if by_itself:
        # A tub that was lifted drives every pump faster than it was measured: then what the pulses would have brought.
        pumped = [(p.t_s, p.channel, p.channel, _meant_ml(ev, p), "pulse") for p in ev.pulses]
    found = []
    for channel in range(len(ev.settings["channels"])):
        own = [(d[0], d[3]) for d in pumped if d[1] == channel]
        found += _over(own, _caps(ev, channel, "day_ml"), ev.name(channel))
        found += [] if by_itself else _undercounted(ev, channel, own)
    found += _over([(d[0], d[3]) for d in pumped], max(s["rig_day_ml"] for s in all_settings(ev)), "the rig")
    return found + _tray(ev)


def _over(given, cap_ml, who):
    """Rolling 24 hours of (t_s, ml) beyond a cap."""
    first = total = 0
    worst, when = 0.0, 0.0
    for t_s, ml in given:
        total += ml
        while given[first][0] <= t_s - DAY_S:
            total -= given[first][1]
            first += 1
        if total > worst:
            worst, when = total, t_s
    if worst > cap_ml * WATER_SPARE:
        return [f"{day_text(when)} {who}: {worst:.0f} ml within 24 h, cap {cap_ml} ml"]
    return []


def _meant_ml(ev, pulse):
    """What a pulse brings by a pump as it was measured, the tube full."""
    return pulse.actual_ms * ev.settings["channels"][pulse.channel]["pump_ul_s"] / 1e6


def _undercounted(ev, channel, own):
    for p in ev.pulses:
        if p.channel != channel or p.state is None:
            continue
        true_ml = sum(ml for t_s, ml in own if p.t_s - DAY_S < t_s < p.t_s + 0.001 * p.actual_ms + 1)
        counted_ml = limits.spent_ul(p.state.pots[channel]) / 1000
        if true_ml > counted_ml * WATER_SPARE:
            return [
                f"{day_text(p.t_s)} {ev.name(channel)}: the ledger counts {counted_ml:.0f} ml of the last 24 h, "
                f"{true_ml:.0f} ml were given"
            ]
    return []


def _tray(ev):
    """The tray stays within the headroom it was given, as far as pumps fill it."""
    by_hand = any(f.kind in HAND_KINDS and f.bit for f in ev.world.faults)
    by_itself_ml = ev.scenario.expects["runs_by_itself_ml"]
    headroom_ml = max(s["tray_headroom_ml"] for s in all_settings(ev))
    if not by_hand and ev.last["tray_peak_ml"] > headroom_ml + by_itself_ml + TRAY_SPARE_ML:
        return [f"the tray held {ev.last['tray_peak_ml']:.0f} ml, its headroom is {headroom_ml} ml"]
    return []


def intent_first(ev):
    """W3: the ledger on flash holds an intent for the pulse that now begins, charged in full."""
    found = []
    for p in ev.pulses:
        pot = p.state.pots[p.channel] if p.state else None
        if pot is None or pot.intent_ms < p.ms:
            stored = "nothing" if pot is None else f"{pot.intent_ms} ms"
            found.append(f"{day_text(p.t_s)} {ev.name(p.channel)}: {p.ms} ms pumped, {stored} stored before")
    return found


def not_without_end(ev):
    """W4: pulses in a row, steered by the probe, without a reading clearly above the lowest at one of them.

    A ration that the probe sees ends the row as well: then water arrives.
    """
    found = []
    for channel in range(len(ev.settings["channels"])):
        most = _caps(ev, channel, "unproven_max")
        steered = set(ev.tended_pulses(channel))
        row, base_pm, before_s = 0, 0, 0.0
        for p in ev.pulses_of(channel):
            seen = [ev.pm(one, channel) for one in ev.rows_between(before_s + 60, p.t_s + 60)]
            rise_pm = max(seen, default=base_pm) - base_pm
            now_pm = seen[-1] if seen else 0
            if row and rise_pm >= RISE_PM or _acknowledged(ev, before_s, p.t_s) or _forgotten(ev, before_s, p.t_s):
                row = 0
            # A pot that has dried meanwhile is to rise from where it is now, with whatever it is given; one that
            # creeps up may take two pulses for one rise.
            base_pm = now_pm if not before_s or rise_pm >= SURE_RISE_PM else min(base_pm, now_pm)
            row, before_s = row + (p in steered), p.t_s
            if row > most:
                found.append(f"{day_text(p.t_s)} {ev.name(channel)}: pulse {row} in a row without a rise, limit {most}")
                break
    return found


def _acknowledged(ev, from_s, to_s):
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
        channels = range(len(ev.settings["channels"])) if fault.channel < 0 else (fault.channel,)
        for channel in channels:
            blind = [p for p in ev.tended_pulses(channel) if fault.start_s + late_s < p.t_s < fault.end_s]
            if blind:
                found.append(
                    f"{day_text(blind[0].t_s)} {ev.name(channel)}: {len(blind)} pulses steered by a probe that can't "
                    f"be believed since {day_text(fault.start_s)}"
                )
    return found + _rations(ev)


def _rations(ev):
    found = []
    for channel, settings in enumerate(ev.settings["channels"]):
        rations = [
            (p.t_s, _brought_ml(ev, p))
            for p in ev.pulses
            if p.channel == channel and p.state and p.state.pots[channel].ladder == RATIONED
        ]
        most_ml = 2 * settings["ration_ml"] + 2 * settings["prime_ms"] * settings["pump_ul_s"] / 1e6
        # What a pump brings beyond its calibration is for W2 to bound.
        most_ml *= (1000 + settings["pump_spread_pm"]) / 1000
        found += [line + " (rations)" for line in _over(rations, most_ml, ev.name(channel))]
        found += _starved(ev, channel)
    return found


def _brought_ml(ev, pulse):
    """What really left the tube in a pulse."""
    end_s = pulse.t_s + pulse.actual_ms / 1000 + 1
    return sum(
        ml
        for t_s, channel, _, ml, cause in ev.tubes
        if channel == pulse.channel and cause == "pulse" and pulse.t_s - 1 <= t_s <= end_s
    )


def _starved(ev, channel):
    """A pot on ration, with nothing to bound it, that got no water for a day and a half."""
    since_s, sag_mv, rest_mv = None, 0, 0
    given = [p.t_s for p in ev.pulses if p.channel == channel]
    for t_s, head, pots in ev.rows:
        pot = pots[channel]
        unders = [other["under_mv"] for other in pots if other["under_mv"]]
        sag_mv, rest_mv = max([sag_mv] + [rest_mv - under for under in unders]), head["battery_mv"]
        free = (
            pot["ladder"] == RATIONED
            and not head["hold"]
            and head["battery_mv"]
            and ev.pm((t_s, head, pots), channel) < 900
        )
        if (
            not free
            or head["errors"] & errors.LEDGER
            or pot["reason"] == reasons.POT_DAY
            or _shared(pots)
            or _bounded(ev, channel, head, sag_mv)
        ):
            since_s = None
            continue
        since_s = t_s if since_s is None else since_s
        last_s = max([since_s] + [g for g in given if g <= t_s])
        if t_s - last_s > 1.5 * DAY_S:
            return [f"{day_text(t_s)} {ev.name(channel)}: on ration, and no water for {(t_s - last_s) / 3600:.0f} h"]
    return []


def _shared(pots):
    """Whether any pot was refused by what all share: the rig's day, the tray or the battery."""
    return any(pot["reason"] in (reasons.RIG_DAY, reasons.TRAY, reasons.BATTERY) for pot in pots)


def _bounded(ev, channel, head, sag_mv):
    """Whether the tray's account or the battery stood in the way of a ration: a rationed pot's record keeps to what
    is wrong with its probe, so this is seen from the tray's account, the charge, and how far a pump ever pulled the voltage down."""
    settings = ev.settings["channels"][channel]
    prime_ml = settings["prime_ms"] * settings["pump_ul_s"] / 1e6
    room_ml = ev.settings["tray_headroom_ml"] - head["tray_ml"]
    fastest = (1000 + settings["pump_spread_pm"]) / 1000
    # Rations can't be shown to stay in their pot: a month of them must fit into the tray. One so small that its pot could
    # not be given two pulses a day, each with its tube to fill first, can't be lived on.
    dries_ml = ev.settings["tray_area_cm2"] * ev.settings["tray_dry_um_day"] / 10_000
    scarce = room_ml / 30 + dries_ml < 2 * (prime_ml + 2.0) * fastest
    weak = (
        head["battery_mv"] - sag_mv - battery.SAG_SPARE_MV < ev.settings["battery_stop_mv"]
        or head["soc_pm"] < ev.settings["battery_reserve_pm"]
    )
    return scarce or weak or room_ml < 1.5 * (settings["pulse_ml"] + prime_ml) * fastest


def never_on_low_battery(ev):
    """W6: no pulse below the stop voltage or the reserve, nor again and again into a brown-out: a few, then one in TRIAL_S."""
    found = []
    stop_mv = min(s["battery_stop_mv"] for s in all_settings(ev))
    for p in ev.pulses:
        if p.state and p.state.rig.rest_mv < stop_mv:
            found.append(
                f"{day_text(p.t_s)} {ev.name(p.channel)}: pumped at {p.state.rig.rest_mv} mV, stop is {stop_mv} mV"
            )
    meant = sum(f.bit for f in ev.mishaps if f.kind == "brown_out")
    cut, before_s, first_s = 0, 0.0, math.inf
    for p in ev.pulses:
        if _acknowledged(ev, before_s, p.t_s):
            cut, first_s = 0, math.inf  # a person may have brought another battery
        before_s = p.t_s
        cut += p.brownout
        first_s = min(first_s, p.t_s) if p.brownout else first_s
        # A refused battery is tried again now and then: only a pulse shows that it is well again.
        trials = max(0.0, p.t_s - first_s) // TRIAL_S
        if cut > BROWNOUTS + meant + trials:
            return found + [f"{day_text(p.t_s)}: {cut} pulses ended in a brown-out"]
    return found


def bad_settings_never_run(ev):
    """W7: settings that do not pass are told of, and water stays within the last good ones (see W2)."""
    found = []
    for fault in ev.mishaps:
        bad = fault.kind == "settings_half_written" or (fault.kind == "settings_sent" and _sent(ev) is None)
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
            found.append(f"{day_text(fault.start_s)}: bad settings, and not a word of it in the next records")
        quiet = [t_s for t_s, head, _ in rows[3:] if not (head["errors"] & errors.SETTINGS and head["alarm"])]
        if quiet and any(after):
            found.append(f"{day_text(quiet[0])}: the last good settings run, and no record or alarm says so")
    return found


def nothing_by_radio(ev):
    """W8: all that comes back through the seam is a count, and whatever it says it only moves the queue: a broker hears
    what was written, byte for byte, each record no sooner than those before it. (The caps are W2's.)"""
    written = set(ev.session.records)
    found = [
        f"{day_text(heard.t_s)}: the broker heard what nobody wrote" for heard in ev.heard if heard.line not in written
    ][:1]
    times = [heard_s for _, heard_s in ev.arrivals()]
    late = [one for one, other in zip(times, times[1:]) if other < one]
    return found + [f"{day_text(t_s)}: a record came later than one written after it" for t_s in late[:1]]


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
            found.append(
                f"{day_text(early[0].t_s)} {ev.name(early[0].channel)}: pumped "
                f"{(early[0].t_s - fault.start_s) / 3600:.1f} h after its memory was lost"
            )
    started = [head for t_s, head, _ in ev.rows[:1] if not head["memory"] and head["cause"] != timekeep.KEPT]
    if started:
        found.append("the very first wake of a new board claims a memory")
    return found


def all_settings(ev):
    """All settings that may be in force in a run."""
    return [ev.settings] + ([sent] if (sent := _sent(ev)) else [])


def _sent(ev):
    """Settings sent in mid-run, checked; None where there are none or they do not pass."""
    import json

    from potreeve.logic import settings as logic

    if not any(f.kind == "settings_sent" for f in ev.mishaps):
        return None
    return logic.check(json.loads(ev.session.sent))[0]


def _caps(ev, channel, key):
    return max(s["channels"][channel][key] for s in all_settings(ev))


LAWS = {
    "W1": pulse_length,
    "W2": day_caps,
    "W3": intent_first,
    "W4": not_without_end,
    "W5": only_on_belief,
    "W6": never_on_low_battery,
    "W7": bad_settings_never_run,
    "W8": nothing_by_radio,
    "W9": no_fresh_start,
}

assert TENDED == 0 and math.inf > 0
