"""Random rigs, settings, weather and mishaps, a rig-quarter each, judged by W1 to W9.

`run` draws, runs and judges seeds; swarmshrink.py makes a broken one small; what is
left is a scenario file that becomes a regression test. A plant that dies of
three mishaps at once is counted, not condemned: the swarm judges safety.
"""

import re
import time
from dataclasses import dataclass, field

from potreeve_tools.bench import swarmdraw
from potreeve_tools.mishaps import fate, laws, trial
from potreeve_tools.mishaps import scenario as scenarios
from potreeve_tools.mishaps.evidence import Evidence
from potreeve_tools.rehearsal.engines import RehearsalBroke
from potreeve_tools.terminal import interrupts
from potreeve_tools.terminal.faultlist import read_toml
from potreeve_tools.world.rigfile import DEFAULT_RIG

SCHEMA = "potreeve-swarm/1"
DAY_S = 86400

# What a tub that was lifted, or a pump that never stops, may add before a flood is the firmware's.
HANDS = ("tray_poured", "watering_can", "tipped_over", "repotted", "swapped", "pot_removed")


@dataclass
class Result:
    """One seed. broken: lines; kinds: {kind: times it made a difference}; took_s: wall time of the run alone."""

    seed: int
    broken: list = field(default_factory=list)
    kinds: dict = field(default_factory=dict)
    simulated_s: float = 0.0
    took_s: float = 0.0
    wakes: int = 0
    pulses: int = 0
    dead: int = 0
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
        result.broken.append(f"the firmware broke off: {str(fault).strip().splitlines()[-1:]}")
    except Exception as fault:
        result.broken.append(f"the firmware broke off: {type(fault).__name__}: {fault}")
    result.took_s = time.perf_counter() - began
    result.simulated_s = min(session.world.now_s, session.end_s)
    if not result.broken:
        result.broken = judge(session, scenario)
    result.kinds = {fault.kind: fault.bit for fault in session.mishaps}
    result.wakes, result.pulses = len(session.records), len(session.pulses)
    result.dead = sum(not pot["alive"] for pot in session.samples[-1]["pots"])
    result.digest = session.digest
    return result


def judge(session, scenario):
    """Lines on what did not hold."""
    ev = Evidence(session, scenario)
    broken = [f"{name}: {line}" for name, lines in laws.judge(ev).items() for line in lines]
    broken += fate.safety(ev) + fate.recovery(ev)
    return [line for line in broken if not _excused(ev, line)]


def _excused(ev, line):
    """Water that ran by itself, or that people or falling pots brought, is not the firmware's flood; a dead plant
    does not starve."""
    if "on ration, and no water" in line:
        day, hour, minute, name = re.search(r"d(\d+) (\d+):(\d+) (.+?): on ration", line).groups()
        t_s = (int(day) - 1) * DAY_S + int(hour) * 3600 + int(minute) * 60
        index = [channel["name"] for channel in ev.settings["channels"]].index(name)
        return any(sample["t_s"] <= t_s and not sample["pots"][index]["alive"] for sample in ev.samples)
    if not ("the tray held" in line or "ran over" in line):
        return False
    by_itself_ml = sum(ml for _, _, _, ml, cause in ev.tubes if cause in ("siphon", "stuck"))
    by_hand = any(fault.kind in HANDS and fault.bit for fault in ev.world.faults)
    return by_itself_ml > 0.0 or by_hand


def one(seed, interpreter="cpython"):
    """Draw, run and judge one seed."""
    return run_data(swarmdraw.draw(seed, rig_mapping()), seed, interpreter)


def run(seeds, jobs=1, interpreter="cpython", on_result=lambda result: None):
    """Results of many seeds, in the order they were given. jobs: processes."""
    found = []
    if jobs == 1:
        for seed in seeds:
            found.append(one(seed, interpreter))
            on_result(found[-1])
        return found
    with interrupts.processes(jobs) as pool:
        for result in pool.map(one, seeds, [interpreter] * len(seeds)):
            found.append(result)
            on_result(result)
    return found


def report(results, wall_s):
    """What `potreeve bench swarm --json` prints."""
    simulated_s = sum(result.simulated_s for result in results)
    busy_s = sum(result.took_s for result in results)
    kinds = {}
    for result in results:
        for kind, bit in result.kinds.items():
            seen = kinds.setdefault(kind, {"drawn": 0, "made_a_difference": 0})
            seen["drawn"] += 1
            seen["made_a_difference"] += bit > 0
    return {
        "schema": SCHEMA,
        "seeds": len(results),
        "days_each": swarmdraw.DAYS,
        "broken": [
            {"seed": r.seed, "what": r.broken, "rerun": f"potreeve bench swarm --seed {r.seed}"}
            for r in results
            if r.broken
        ],
        "simulated_days": round(simulated_s / DAY_S, 1),
        "wall_s": round(wall_s, 1),
        "time_compression_per_core": round(simulated_s / busy_s) if busy_s else 0,
        "wakes": sum(r.wakes for r in results),
        "pulses": sum(r.pulses for r in results),
        "pots_dead": sum(r.dead for r in results),
        "mishaps": dict(sorted(kinds.items())),
    }
