"""Random rigs, weather and mishaps, a rig-quarter each, judged by W1 to W9 and L1 to L5.

`run` draws, runs and judges seeds; swarmshrink.py makes a broken one small; what is
left is a scenario file that becomes a regression test. A plant may die of three
mishaps at once, but not unannounced: each death is counted with its cause.
"""

import time
from dataclasses import dataclass, field

from potreeve_tools.bench import swarmdraw
from potreeve_tools.mishaps import deaths, fate, laws, liveness, trial, wording, workers
from potreeve_tools.mishaps import scenario as scenarios
from potreeve_tools.mishaps.evidence import Evidence
from potreeve_tools.mishaps.findings import Finding
from potreeve_tools.rehearsal.engines import RehearsalBroke
from potreeve_tools.terminal.faultlist import read_toml
from potreeve_tools.world.rigfile import DEFAULT_RIG

SCHEMA = "potreeve-swarm/1"
DAY_S = 86400

# What people, or a pot that falls over, may bring before a flood is the firmware's.
HANDS = ("tray_poured", "watering_can", "tipped_over", "repotted", "swapped", "pot_removed")
OVERFULL = ("tray_over_headroom", "flooded")


@dataclass
class Result:
    """One seed. broken: Findings that stand; excused: Findings that do not; died: list of Death; kinds: {kind: times it
    made a difference}; took_s: wall time of the run alone."""

    seed: int
    broken: list = field(default_factory=list)
    kinds: dict = field(default_factory=dict)
    simulated_s: float = 0.0
    took_s: float = 0.0
    wakes: int = 0
    pulses: int = 0
    died: list = field(default_factory=list)
    excused: list = field(default_factory=list)
    pots: int = 0
    digest: str = ""


def rig_mapping():
    """The mapping of the rig that the swarm changes."""
    return read_toml(DEFAULT_RIG)


def run_data(data, seed, interpreter="cpython"):
    """Run and judge one scenario mapping. Returns Result; raises BadInput where the mapping does not pass."""
    scenario = scenarios.check(data, data["name"] + ".toml")
    bench = trial.Bench(rig_mapping(), "the swarm's rig", None, None, interpreter)
    session = trial.make(scenario, bench, seed)
    result = Result(seed)
    began = time.perf_counter()
    try:
        trial.rehearse.run(session, interpreter)
    except (RehearsalBroke, AssertionError) as fault:
        result.broken.append(_broke_off(str(fault).strip().splitlines()[-1:]))
    except Exception as fault:
        result.broken.append(_broke_off(f"{type(fault).__name__}: {fault}"))
    result.took_s = time.perf_counter() - began
    result.simulated_s = min(session.world.now_s, session.end_s)
    result.pots = len(session.world.channels)
    if not result.broken:
        judge(session, scenario, result)
    result.kinds = {fault.kind: fault.bit for fault in session.mishaps}
    result.wakes, result.pulses = len(session.records), len(session.pulses)
    result.digest = session.digest
    return result


def _broke_off(text):
    return Finding("", "broke_off", figures={"text": str(text)})


def judge(session, scenario, result):
    """Enter into a Result what did not hold, what is excused, and who died."""
    ev = Evidence(session, scenario)
    found = laws.judge(ev) + liveness.judge(ev) + fate.safety(ev) + fate.recovery(ev)
    for finding in found:
        (result.excused if _excused(ev, finding) else result.broken).append(finding)
    result.died = deaths.find(ev)
    told = {finding.channel for finding in result.broken if finding.law.startswith("L")}
    for death in result.died:
        if death.cause in deaths.OURS and death.channel not in told:
            result.broken.append(ev.finding("", "died", death.channel, death.t_s, cause=death.cause))


def _excused(ev, finding):
    """Water that ran by itself, or that people or falling pots brought, is not the firmware's flood."""
    if finding.code not in OVERFULL:
        return False
    by_hand = any(fault.kind in HANDS and fault.bit for fault in ev.world.faults)
    return ev.by_itself_ml() > 0.0 or by_hand


def one(seed, interpreter="cpython", edited=False):
    """Draw, run and judge one seed. edited: see swarmdraw."""
    return run_data(swarmdraw.draw(seed, rig_mapping(), edited=edited), seed, interpreter)


def _one(task):
    return one(*task)


def run(seeds, jobs=1, interpreter="cpython", on_result=lambda result: None, edited=False):
    """Results of many seeds, in the order they were given. jobs: processes."""
    found = []
    for result in workers.each(_one, [(seed, interpreter, edited) for seed in seeds], jobs):
        found.append(result)
        on_result(result)
    return found


def report(results, wall_s, edited=False):
    """What `potreeve bench swarm --json` prints."""
    simulated_s = sum(result.simulated_s for result in results)
    busy_s = sum(result.took_s for result in results)
    died = [death for result in results for death in result.died]
    return {
        "schema": SCHEMA,
        "seeds": len(results),
        "settings": "edited by hand" if edited else "the product's own",
        "days_each": swarmdraw.DAYS,
        "broken": [_broken(result, edited) for result in results if result.broken],
        "simulated_days": round(simulated_s / DAY_S, 1),
        "wall_s": round(wall_s, 1),
        "time_compression_per_core": round(simulated_s / busy_s) if busy_s else 0,
        "wakes": sum(r.wakes for r in results),
        "pulses": sum(r.pulses for r in results),
        "pots": sum(r.pots for r in results),
        "pots_dead": len(died),
        "unannounced_deaths": sum(not death.announced and death.cause != deaths.DUMB for death in died),
        "deaths": _causes(died),
        "laws_broken": _counted((finding.law or "besides", r.seed) for r in results for finding in r.broken),
        "codes_broken": _counted((finding.code, r.seed) for r in results for finding in r.broken),
        "excused": _counted((finding.code, r.seed) for r in results for finding in r.excused),
        "mishaps": _mishaps(results),
    }


def _broken(result, edited):
    return {
        "seed": result.seed,
        "what": [wording.say(finding) for finding in result.broken],
        "rerun": f"potreeve bench swarm --seed {result.seed}" + (" --edited" if edited else ""),
        "findings": [finding.as_json() for finding in result.broken],
        "deaths": [death.as_json() for death in result.died],
    }


def _causes(died):
    """{cause: {"announced": n, "unannounced": n}}, in the order of deaths.CAUSES."""
    return {
        cause: {
            "announced": sum(death.announced for death in died if death.cause == cause),
            "unannounced": sum(not death.announced for death in died if death.cause == cause),
        }
        for cause in deaths.CAUSES
        if any(death.cause == cause for death in died)
    }


def _counted(pairs):
    """{name: how many seeds} of (name, seed) pairs."""
    seeds = {}
    for name, seed in pairs:
        seeds.setdefault(name, set()).add(seed)
    return {name: len(seeds[name]) for name in sorted(seeds)}


def _mishaps(results):
    kinds = {}
    for result in results:
        for kind, bit in result.kinds.items():
            seen = kinds.setdefault(kind, {"drawn": 0, "made_a_difference": 0})
            seen["drawn"] += 1
            seen["made_a_difference"] += bit > 0
    return dict(sorted(kinds.items()))
