"""Evidence tampered with: plants that die or thirst, holds and calls that stand."""

from judged import DAY_S, evidence
from potreeve.logic import reasons, signals

SOUND = "daylight_saving"  # nine days in which nothing that matters goes wrong
HOUR_S = 3600


def kill(ev, channel, at_s):
    for sample in ev.samples:
        if sample["t_s"] >= at_s:
            sample["pots"][channel].update(alive=False, stress=0.0)


def starve(ev, channel, from_s, to_s, ks=0.3):
    for sample in ev.samples:
        if from_s <= sample["t_s"] < to_s:
            sample["pots"][channel]["stress"] = ks


def stand(ev, channel, from_s, to_s, ladder=0, reason=0, alarm=signals.CALM):
    for t_s, head, pots in ev.rows:
        if from_s <= t_s < to_s:
            pots[channel].update(ladder=ladder, reason=reason)
            head["alarm"] = alarm


def kinds(findings):
    return [(finding.law, finding.code, finding.pot) for finding in findings]


def dying(**call):
    """A tomato that dies on the eleventh day, after a call as given."""
    ev = evidence("probe_out")
    for _, head, pots in ev.rows:
        head["alarm"] = signals.CALM
        for pot in pots:
            pot.update(ladder=0, reason=0)
    kill(ev, 2, 10 * DAY_S)
    if call:
        stand(ev, **{"channel": 2, "alarm": signals.CALL, "reason": reasons.DRY, **call})
    return ev
