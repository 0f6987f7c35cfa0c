"""Run scenarios with several seeds in several processes; put the findings of each together."""

import os
from collections.abc import Callable

from potreeve_tools.mishaps import judge as judging
from potreeve_tools.mishaps import trial
from potreeve_tools.rehearsal import rehearse
from potreeve_tools.rehearsal.engines import RehearsalBroke
from potreeve_tools.terminal import interrupts
from potreeve_tools.terminal.faultlist import BadInput

SCHEMA = "potreeve-mishaps/1"
WORST = (judging.BROKEN, judging.NOT_SHOWN, judging.HOLDS)
FATES = ("dead", "dead anyway", "alive")


def one(scenario, bench, seed):
    """Finding on one scenario with one seed. The rig without its mishap is only run where a plant died."""
    try:
        session = trial.make(scenario, bench, seed)
    except BadInput as fault:
        # Only this one: what the others showed must not be lost over it.
        return judging.unfit(scenario, seed, fault.faults)
    try:
        rehearse.run(session, bench.interpreter)
    except RehearsalBroke as fault:
        return judging.crashed(scenario, seed, str(fault))
    except Exception as fault:
        # In CPython the firmware's own exceptions come through as they are.
        return judging.crashed(scenario, seed, f"{type(fault).__name__}: {fault}")
    spared = None
    if not all(pot["alive"] for pot in session.samples[-1]["pots"]):
        spared = trial.summary(trial.run(scenario, bench, seed, faultless=True))
    return judging.judge(session, scenario, spared)


def every(scenarios, bench, seeds, jobs=None, on_finding: Callable = lambda finding: None):
    """Findings of all scenarios with all seeds: {name: [Finding per seed]}. jobs: processes, None: one per core."""
    tasks = [(scenario, bench, seed) for scenario in scenarios for seed in scenario.seeds(seeds)]
    found = {scenario.name: [] for scenario in scenarios}
    for finding in _findings(tasks, min(jobs or os.cpu_count() or 1, len(tasks))):
        found[finding.name].append(finding)
        on_finding(finding)
    return found


def _findings(tasks, jobs):
    if jobs <= 1:
        yield from (one(*task) for task in tasks)
        return
    with interrupts.processes(jobs) as pool:
        yield from pool.map(one, *zip(*tasks, strict=True))


def together(scenario, findings, rerun):
    """One line of the result: the worst of a scenario's findings. rerun: function of (name, seed) -> command."""
    worst = min(findings, key=lambda f: WORST.index(f.verdict))
    lines = [f"does not hold: {line}" for line in worst.broken] + [f"not shown: {line}" for line in worst.unshown]
    return {
        "name": scenario.name,
        "verdict": worst.verdict,
        "seeds": len(findings),
        "water_beyond_need_ml": round(max(f.beyond_ml for f in findings), 1),
        "tray_peak_ml": round(max(f.tray_peak_ml for f in findings), 1),
        "tray_headroom_ml": round(min(f.tray_headroom_ml for f in findings), 1),
        "plants": _fates(findings),
        "what_it_did": lines + worst.did,
        "rerun": rerun(scenario.name, worst.seed),
    }


def _fates(findings):
    """The worst fate of each plant over all seeds."""
    fates = {}
    for finding in findings:
        for name, fate in finding.plants.items():
            fates[name] = min(fate, fates.get(name, fate), key=FATES.index)
    return fates


def result(rows):
    """What `potreeve mishaps --json` prints."""
    return {"schema": SCHEMA, "mishaps": rows}


def tally(rows):
    """{verdict: how many}."""
    return {
        verdict: sum(row["verdict"] == verdict for row in rows)
        for verdict in (judging.HOLDS, judging.BROKEN, judging.NOT_SHOWN)
    }
