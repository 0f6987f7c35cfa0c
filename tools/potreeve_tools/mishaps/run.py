"""Run scenarios with several seeds in several processes; put the verdicts of each together."""

import os
from collections.abc import Callable

from potreeve_tools.mishaps import fate, trial, twin, wording, workers
from potreeve_tools.mishaps import judge as judging
from potreeve_tools.rehearsal import rehearse
from potreeve_tools.rehearsal.engines import RehearsalBroke
from potreeve_tools.terminal.faultlist import BadInput

SCHEMA = "potreeve-mishaps/1"
WORST = (judging.BROKEN, judging.NOT_SHOWN, judging.HOLDS)
FATES = (fate.DEAD, fate.CALLED, fate.ALIVE)


def one(scenario, bench, seed):
    """Verdict on one scenario with one seed. The rig without its mishap is only run where a plant died."""
    try:
        session = trial.make(scenario, bench, seed)
    except trial.Refused as refusal:
        return judging.refused(scenario, seed, refusal.faults)
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
        spared = twin.died(scenario, bench, seed)
    return judging.judge(session, scenario, spared)


def every(scenarios, bench, seeds, jobs=None, on_verdict: Callable = lambda verdict: None):
    """Verdicts on all scenarios with all seeds: {name: [Verdict per seed]}. jobs: processes, None: one per core."""
    tasks = [(scenario, bench, seed) for scenario in scenarios for seed in scenario.seeds(seeds)]
    found = {scenario.name: [] for scenario in scenarios}
    for verdict in workers.each(_one, tasks, min(jobs or os.cpu_count() or 1, len(tasks))):
        found[verdict.name].append(verdict)
        on_verdict(verdict)
    return found


def _one(task):
    return one(*task)


def together(scenario, verdicts, rerun):
    """One line of the result: the worst of a scenario's verdicts. rerun: function of (name, seed) -> command."""
    worst = min(verdicts, key=lambda f: WORST.index(f.verdict))
    lines = [f"does not hold: {wording.say(finding)}" for finding in worst.broken]
    lines += [f"not shown: {wording.say(finding)}" for finding in worst.unshown]
    lines += [wording.tell_death(death) for death in worst.died]
    return {
        "name": scenario.name,
        "verdict": worst.verdict,
        "seeds": len(verdicts),
        "water_beyond_need_ml": round(max(f.beyond_ml for f in verdicts), 1),
        "tray_peak_ml": round(max(f.tray_peak_ml for f in verdicts), 1),
        "tray_headroom_ml": round(min(f.tray_headroom_ml for f in verdicts), 1),
        "plants": _fates(verdicts),
        "what_it_did": lines + worst.did,
        "findings": [finding.as_json() for finding in worst.broken],
        "deaths": [death.as_json() for verdict in verdicts for death in verdict.died],
        "rerun": rerun(scenario.name, worst.seed),
    }


def _fates(verdicts):
    """The worst fate of each plant over all seeds."""
    fates = {}
    for verdict in verdicts:
        for name, how in verdict.plants.items():
            fates[name] = min(how, fates.get(name, how), key=FATES.index)
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
