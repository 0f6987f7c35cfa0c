"""What came of it besides W1 to W9: floods, wet electronics, plants, water beyond need, recovery."""

import math

from potreeve.logic import signals
from potreeve.logic.state import TENDED

from potreeve_tools.mishaps import laws, trial
from potreeve_tools.mishaps.evidence import day_text

WAITED_S = 24 * 3600  # a queue, not a moment's silence
QUIET_SLEEPS = 3  # so many of the longest sleeps without a word are a silence
LONGEST_SLEEP_S = 3600
WARNED = 2  # bit of the panel's "warn" light


def beyond_need_ml(ev):
    """Water from the tubes that ran through the pots or past them and was not drawn up again, in ml.

    What ran through a pot counts as people's as far as they poured on it.
    """
    past = sum(ml for _, _, landed, ml, _ in ev.tubes if landed < 0)
    through = sum(max(0.0, pot["leachate_ml"] - pot["by_hand_ml"]) for pot in ev.last["pots"])
    return max(0.0, past + through - sum(channel.pot.uptake_ml for channel in ev.world.channels))


def safety(ev):
    """Lines on floods and wet electronics that Potreeve must answer for."""
    found = []
    last = ev.last
    if last["floods"] - last["floods_by_hand"] > 0:
        found.append(f"the tray ran over {last['floods'] - last['floods_by_hand']} times")
    if last["electronics_wet"] and not ev.scenario.expects["wet_by_itself"]:
        found.append("water reached the electronics")
    return found


def plants(ev, baseline):
    """({name: "alive", "dead" or "dead anyway"}, lines on plants that died of the mishap).

    baseline: trial.summary of the same rig without the mishap, None where nobody died.
    """
    told, found = {}, []
    spared = trial.alive_at(baseline, ev.end_s) if baseline else [True] * len(ev.last["pots"])
    for channel, pot in enumerate(ev.last["pots"]):
        name = ev.name(channel)
        if pot["alive"]:
            told[name] = "alive"
        elif not spared[channel]:
            told[name] = "dead anyway"
        else:
            told[name] = "dead"
            if name not in ev.scenario.expects["may_die"]:
                found.append(f"the {name} died of it ({day_text(_died_s(ev, channel))})")
    return told, found


def _died_s(ev, channel):
    return next(sample["t_s"] for sample in ev.samples if not sample["pots"][channel]["alive"])


def recovery(ev):
    """Lines on a rig that is neither tended again nor waiting for a person with a reason and an alarm.

    Judged in every record from the recovery bound after the mishap on; for one that lasts, at the end.
    """
    if not ev.rows:
        return (
            []
            if ev.panels and all(shown & WARNED for _, shown in ev.panels)
            else ["no record, and no light that says why"]
        )
    bound_s = ev.fault_end_s() + ev.scenario.recovery_h * 3600
    judged = ev.rows_from(bound_s) if bound_s < ev.end_s else []
    found = _silent(ev) + _gone_quiet(ev)
    for row in judged or ev.rows[-1:]:
        lines = _unsaid(row) + _as_expected(ev, row)
        if lines:
            return found + lines
    return found


def _unsaid(row):
    """A row in which pots wait without a reason, or without an alarm."""
    t_s, head, pots = row
    waiting = [pot for pot in pots if pot["ladder"] != TENDED]
    if not waiting and not head["hold"]:
        return []
    reasoned = head["hold"] or all(pot["reason"] for pot in waiting)
    return [] if reasoned and head["alarm"] else [f"{day_text(t_s)}: not tended, and no reason or alarm says so"]


def _gone_quiet(ev):
    """A board with power that does not wake, or wakes without a record and without a light that says why."""
    limit_s = QUIET_SLEEPS * max(
        LONGEST_SLEEP_S, *(s[key] for s in laws.all_settings(ev) for key in ("wake_s", "night_wake_s", "soak_s"))
    )
    wakes = [t_s for t_s, _ in ev.panels]
    dark = [t_s for t_s, shown in ev.panels if not shown & WARNED]
    told = sorted([*ev.row_s, *(t_s for t_s, shown in ev.panels if shown & WARNED)])
    for before_s, t_s in zip(wakes, [*wakes[1:], ev.end_s]):
        if t_s - before_s > limit_s and _powered(ev, before_s, t_s):
            return [f"{day_text(before_s)}: no wake for {(t_s - before_s) / 3600:.0f} h, though it had power"]
    for before_s, t_s in zip(told, [*told[1:], ev.end_s]):
        if t_s - before_s > limit_s and any(before_s < at < t_s for at in dark):
            return [
                f"{day_text(before_s)}: it wakes, yet no record for {(t_s - before_s) / 3600:.0f} h, and no light that says why"
            ]
    return []


def _powered(ev, from_s, to_s):
    """Whether the board could have run all the time between two wakes."""
    return not any(from_s < at < to_s for at in ev.session.dead_s)


def queue(ev):
    """(lines on records that never reached the broker, lines on why that shows nothing), where the scenario asks for it.

    The last record may still wait: it was written in the run's last wake.
    """
    if not ev.scenario.expects["all_sent"]:
        return [], []
    arrived = ev.arrivals()
    lost = len(set(ev.session.records)) - len(arrived)
    found = [f"{lost} of {len(ev.rows)} records never reached the broker"] if lost > 1 else []
    waited_s = max((heard_s - written_s for written_s, heard_s in arrived), default=0.0)
    return found, [] if waited_s >= WAITED_S else ["no record ever had to wait for the broker"]


def _silent(ev):
    """Nobody calls a rig well looked after whose panel stays dark when it waits for a person."""
    t_s, head, pots = ev.rows[-1]
    lit = next((shown for at, shown in reversed(ev.panels) if at >= t_s), 0)
    if head["alarm"] != signals.CALM and not lit & WARNED:
        return [f"{day_text(t_s)}: it waits for a person, and no light says so"]
    return []


def _as_expected(ev, row):
    """Whether in a record the pots that were struck are as the scenario says."""
    ends = ev.scenario.expects["ends"]
    if ends == "either":
        return []
    t_s, head, pots = row
    names = ("tended", "rationed", "held")
    found = []
    for channel in ev.scenario.struck or range(len(pots)):
        name = ev.name(channel)
        if not ev.last["pots"][channel]["alive"] and name in ev.scenario.expects["may_die"]:
            continue
        state = "held" if head["hold"] else names[pots[channel]["ladder"]]
        if state != ends:
            found.append(f"{day_text(t_s)}: the {name} is {state}, not {ends}")
    return found


def bit(ev):
    """Which of the mishap's faults never made a difference."""
    return [f.kind for f in ev.mishaps if not f.bit and f.start_s < math.inf]
