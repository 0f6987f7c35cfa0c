"""The verdict on one run of one mishap: holds, broken or not shown."""

from dataclasses import dataclass, field

from potreeve_tools.mishaps import deaths, fate, laws, liveness, story, wetstop
from potreeve_tools.mishaps.evidence import Evidence
from potreeve_tools.mishaps.findings import Finding

HOLDS, BROKEN, NOT_SHOWN = "holds", "broken", "not shown"


@dataclass(frozen=True)
class Verdict:
    """One run judged. broken, unshown: lists of Finding; died: list of Death; did: what Potreeve did and when,
    lines."""

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
    died: list = field(default_factory=list)


def judge(session, scenario, baseline=None):
    """Verdict on a finished Session. baseline: deaths.of_baseline of the same rig without the mishap, None where nobody
    died."""
    ev = Evidence(session, scenario)
    died = deaths.find(ev)
    told, dead = fate.plants(ev, died)
    lost, idle = fate.queue(ev)
    broken = laws.judge(ev) + liveness.judge(ev, baseline) + fate.safety(ev) + dead
    broken += fate.called(ev) + fate.recovery(ev) + lost + wetstop.judge(ev)
    unshown = idle + fate.unshown(ev)
    if scenario.expects["not_shown"]:
        unshown.append(ev.finding("", "said_beforehand", text=scenario.expects["not_shown"]))
    return Verdict(
        scenario.name,
        session.seed,
        BROKEN if broken else NOT_SHOWN if unshown else HOLDS,
        broken,
        unshown,
        story.tell(ev),
        fate.beyond_need_ml(ev),
        ev.last["tray_peak_ml"],
        ev.last["tray_capacity_ml"],
        told,
        died,
    )


def unfit(scenario, seed, lines):
    """Verdict on a run that could not begin: its settings do not go with these of the rig."""
    found = [Finding("", "unfit", figures={"text": line}) for line in lines]
    return Verdict(scenario.name, seed, NOT_SHOWN, unshown=found)


def crashed(scenario, seed, text):
    """Verdict on a run in which the firmware itself broke off."""
    last = text.strip().splitlines()[-1] if text.strip() else text
    return Verdict(scenario.name, seed, BROKEN, [Finding("", "broke_off", figures={"text": last})])


def refused(scenario, seed, lines):
    """Verdict on a run whose settings the product itself refuses, as the scenario allows."""
    return Verdict(scenario.name, seed, HOLDS, did=[f"the settings are refused: {line}" for line in lines])
