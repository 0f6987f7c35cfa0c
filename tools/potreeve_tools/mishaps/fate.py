"""What is asked besides W1 to W9 and L1 to L5: floods, wet electronics, the scenario's own promises, recovery."""

import math

from potreeve.logic import signals
from potreeve.logic.state import TENDED

from potreeve_tools.mishaps import calls
from potreeve_tools.mishaps.calls import WARNED
from potreeve_tools.mishaps.settings_of import all_settings

WAITED_S = 24 * 3600  # a queue, not a moment's silence
QUIET_SLEEPS = 3  # so many of the longest sleeps without a word are a silence
LONGEST_SLEEP_S = 3600
ALIVE, CALLED, DEAD = "alive", "dead, called for", "dead"
STATES = ("tended", "rationed", "held")


def beyond_need_ml(ev):
    """Water from the tubes that ran through the pots or past them and was not drawn up again, in ml.

    What ran through a pot counts as people's as far as they poured on it.
    """
    past = sum(ml for _, _, landed, ml, _ in ev.tubes if landed < 0)
    through = sum(max(0.0, pot["leachate_ml"] - pot["by_hand_ml"]) for pot in ev.last["pots"])
    return max(0.0, past + through - sum(channel.pot.uptake_ml for channel in ev.world.channels))


def safety(ev):
    """Findings on floods and wet electronics that Potreeve must answer for: not for more water than the tray takes that
    ran with every pump off."""
    found = []
    floods = ev.last["floods"] - ev.last["floods_by_hand"]
    if floods > 0 and ev.by_itself_ml() <= ev.last["tray_capacity_ml"]:
        found.append(ev.finding("", "flooded", times=floods))
    if ev.last["electronics_wet"] and not ev.scenario.expects["wet_by_itself"]:
        found.append(ev.finding("", "electronics_wet"))
    return found


def plants(ev, died):
    """({name: how it fared}, findings on plants that died though the scenario does not say that they may).

    died: list of Death. A death that was not called for in time is L2's besides, one in a sound rig L1's: no plant
    is "dead anyway".
    """
    told = {ev.name(channel): ALIVE for channel in ev.channels}
    found = []
    for death in died:
        may = death.pot in ev.scenario.expects["may_die"]
        told[death.pot] = CALLED if may and death.announced else DEAD
        if not may:
            found.append(ev.finding("", "died", death.channel, death.t_s, cause=death.cause))
    return told, found


def called(ev):
    """Findings on pots that no call named in time, where the scenario asks for one."""
    within_s = ev.scenario.expects["called_h"] * 3600
    if not within_s:
        return []
    from_s = min(fault.start_s for fault in ev.mishaps)
    return [
        ev.finding("", "called_late", channel, from_s, called_h=ev.scenario.expects["called_h"])
        for channel in ev.scenario.struck or ev.channels
        if not any(span[1] > from_s and span[0] <= from_s + within_s for span in calls.spans(ev, channel))
    ]


def recovery(ev):
    """Findings on a rig that is neither tended again nor waiting for a person with a reason and an alarm.

    Judged in every record from the recovery bound after the mishap on; for one that lasts, at the end.
    """
    if not ev.rows:
        lit = ev.panels and all(shown & WARNED for _, shown in ev.panels)
        return [] if lit else [ev.finding("", "no_record")]
    bound_s = ev.fault_end_s() + ev.scenario.recovery_h * 3600
    judged = ev.rows_from(bound_s) if bound_s < ev.end_s else []
    found = _no_light(ev) + _gone_quiet(ev)
    for row in judged or ev.rows[-1:]:
        more = _unsaid(ev, row) + _as_expected(ev, row)
        if more:
            return found + more
    return found


def _unsaid(ev, row):
    """A row in which pots wait without a reason, or without an alarm."""
    t_s, head, pots = row
    waiting = [pot for pot in pots if pot["ladder"] != TENDED]
    if not waiting and not head["hold"]:
        return []
    reasoned = head["hold"] or all(pot["reason"] for pot in waiting)
    return [] if reasoned and head["alarm"] else [ev.finding("", "waits_unsaid", -1, t_s)]


def _gone_quiet(ev):
    """A board with power that does not wake, or wakes without a record and without a light that says why."""
    limit_s = QUIET_SLEEPS * max(
        LONGEST_SLEEP_S, *(s[key] for s in all_settings(ev) for key in ("wake_s", "night_wake_s", "soak_s"))
    )
    wakes = [t_s for t_s, _ in ev.panels]
    dark = [t_s for t_s, shown in ev.panels if not shown & WARNED]
    told = sorted([*ev.row_s, *(t_s for t_s, shown in ev.panels if shown & WARNED)])
    for before_s, t_s in zip(wakes, [*wakes[1:], ev.end_s]):
        if t_s - before_s > limit_s and ev.powered(before_s, t_s):
            return [ev.finding("", "no_wake", -1, before_s, hours=(t_s - before_s) / 3600)]
    for before_s, t_s in zip(told, [*told[1:], ev.end_s]):
        if t_s - before_s > limit_s and any(before_s < at < t_s for at in dark):
            return [ev.finding("", "wakes_untold", -1, before_s, hours=(t_s - before_s) / 3600)]
    return []


def queue(ev):
    """(findings on records that never reached the broker, why that shows nothing), where the scenario asks for it.

    The last record may still wait: it was written in the run's last wake.
    """
    if not ev.scenario.expects["all_sent"]:
        return [], []
    arrived = ev.arrivals()
    lost = len(set(ev.session.records)) - len(arrived)
    found = [ev.finding("", "never_sent", lost=lost, records=len(ev.rows))] if lost > 1 else []
    waited_s = max((heard_s - written_s for written_s, heard_s in arrived), default=0.0)
    return found, [] if waited_s >= WAITED_S else [ev.finding("", "never_waited")]


def _no_light(ev):
    """Nobody calls a rig well looked after whose panel stays dark when it waits for a person."""
    t_s, head, _ = ev.rows[-1]
    lit = next((shown for at, shown in reversed(ev.panels) if at >= t_s), 0)
    if head["alarm"] != signals.CALM and not lit & WARNED:
        return [ev.finding("", "no_light", -1, t_s)]
    return []


def _as_expected(ev, row):
    """Whether in a record the pots that were struck are as the scenario says."""
    wanted = ev.scenario.expects["ends"]
    if wanted == "either":
        return []
    t_s, head, pots = row
    found = []
    for channel in ev.scenario.struck or range(len(pots)):
        if not ev.last["pots"][channel]["alive"] and ev.name(channel) in ev.scenario.expects["may_die"]:
            continue
        state = "held" if head["hold"] else STATES[pots[channel]["ladder"]]
        if state != wanted:
            found.append(ev.finding("", "ends_otherwise", channel, t_s, state=state, wanted=wanted))
    return found


def unshown(ev):
    """Findings on the mishap's faults that never made a difference."""
    return [
        ev.finding("", "never_mattered", f.channel, f.start_s, kind=f.kind)
        for f in ev.mishaps
        if not f.bit and f.start_s < math.inf
    ]
