"""The verdict on one run of one mishap: holds, broken or not shown."""

from dataclasses import dataclass, field

from potreeve_tools.mishaps import fate, laws, story
from potreeve_tools.mishaps.evidence import Evidence

HOLDS, BROKEN, NOT_SHOWN = "holds", "broken", "not shown"


@dataclass(frozen=True)
class Finding:
    """One run judged. broken: lines on what did not hold; did: what Potreeve did and when, a list of lines."""

    name: str
    seed: int
    verdict: str
    broken: list = field(default_factory=list)
    unshown: list = field(default_factory=list)
    did: list = field(default_factory=list)
    beyond_ml: float = 0.0
    tray_peak_ml: float = 0.0
    tray_headroom_ml: float = 0.0
    plants: dict = field(default_factory=dict)


def judge(session, scenario, baseline):
    """Finding on a finished Session. baseline: trial.summary of the same rig without the mishap."""
    ev = Evidence(session, scenario)
    broken = [f"{name}: {line}" for name, lines in laws.judge(ev).items() for line in lines]
    broken += fate.safety(ev)
    told, dead = fate.plants(ev, baseline)
    lost, idle = fate.queue(ev)
    broken += dead + fate.recovery(ev) + lost
    unshown = idle + [f"{kind} never made a difference" for kind in fate.bit(ev)]
    if scenario.expects["not_shown"]:
        unshown.append(scenario.expects["not_shown"])
    verdict = BROKEN if broken else NOT_SHOWN if unshown else HOLDS
    return Finding(
        scenario.name,
        session.seed,
        verdict,
        broken,
        unshown,
        story.tell(ev),
        fate.beyond_need_ml(ev),
        ev.last["tray_peak_ml"],
        ev.last["tray_capacity_ml"],
        told,
    )


def unfit(scenario, seed, lines):
    """Finding on a run that could not begin: its settings do not go with these of the rig."""
    return Finding(scenario.name, seed, NOT_SHOWN, unshown=list(lines))


def crashed(scenario, seed, text):
    """Finding on a run in which the firmware itself broke off."""
    return Finding(
        scenario.name,
        seed,
        BROKEN,
        [f"the firmware broke off: {text.strip().splitlines()[-1] if text.strip() else text}"],
    )
