"""`bench belief`: the prototype of belief.py beside the firmware, on drawn rigs whose water stops, or only seems to."""

import json
import statistics
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

from potreeve.logic import reasons, recorded
from potreeve.logic.state import HELD

from potreeve_tools.bench import alive, alivedraw, alivereport, alivewatch, belief
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.owner import commission
from potreeve_tools.rehearsal import rehearse
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world.faults.kinds import make_fault
from potreeve_tools.world.rigfile import check_rig
from potreeve_tools.world.world import World

SCHEMA = "potreeve-belief/1"
DAYS = 24
DAY_S, HOUR_S = 86400, 3600

# What befalls a rig, each from a day between the 10th and the 14th on: (kind, whether it strikes one pot, its figures).
# Only where a tube is clogged does no water come; dry, wet: the converter drifts there.
TROUBLES = {
    "none": (),
    "clogged": (("tube_clogged", True, {"left": 0.0}),),
    "clogged-dry": (("tube_clogged", True, {"left": 0.0}), ("adc_drift", False, {"pm_per_day": 15.0})),
    "clogged-wet": (("tube_clogged", True, {"left": 0.0}), ("adc_drift", False, {"pm_per_day": -15.0})),
    "dry": (("adc_drift", False, {"pm_per_day": 15.0}),),
    "leaning": (("probe_leaning", True, {}),),
}


@dataclass
class PotTold:
    """One pot. struck: the trouble struck it (for one of the whole rig: this one is looked at). first_s: its first
    pulse after that. vain_h, held_h: hours from then on until the belief said that a dose did not come, and until the
    firmware held it for want of a rise, None never. doses: tested ones that came; condemned: those of them that the
    belief said did not; believed: doses said to have come that did not; held: the firmware held it though its water
    came."""

    seed: int
    name: str
    struck: bool
    vain_h: float | None = None
    held_h: float | None = None
    doses: int = 0
    condemned: int = 0
    believed: int = 0
    held: bool = False


def one(task):
    """All pots of a rig: a list of PotTold, None for a rig that the product refuses. task: (seed, trouble)."""
    seed, trouble = task
    drawn = alivedraw.draw(seed)
    drawn.data["rig"]["soil"] = alive.SOILS[0]
    board = boards.load(drawn.board).device_dict()
    try:
        rig = check_rig(drawn.data, f"rig {seed}")
        settings = commission.make_settings(rig, board, seed)
    except BadInput:
        return None
    struck = seed % len(settings["channels"])
    start_s = (10 + seed % 5) * DAY_S
    faults = [
        make_fault(kind, start_s, channel=struck if one_pot else -1, **params)
        for kind, one_pot, params in TROUBLES[trouble]
    ]
    world = World(rig, board, seed, faults=[*commission.owner_presses(), *faults])
    session = alive.LeanSession(world, board, json.dumps(settings), DAYS)
    alivewatch.Watch(world, alivewatch.told_by(session))
    rehearse.run(session, "cpython")
    rows = [(t_s, *recorded.decode(line)) for t_s, line in zip(session.record_s, session.records, strict=True)]
    stops = trouble.startswith("clogged")
    return [
        told(seed, channel["name"], rows, index, channel, start_s if faults and index == struck else None, stops)
        for index, channel in enumerate(settings["channels"])
    ]


def told(seed, name, rows, index, channel, start_s, stops):
    """PotTold of one pot's records. start_s: when the trouble struck it, None never; stops: then no water comes."""
    found = PotTold(seed, name, start_s is not None)
    dry_s = start_s if stops and start_s is not None else float("inf")
    held_s = [
        t_s for t_s, _, pots in rows if pots[index]["ladder"] == HELD and pots[index]["reason"] == reasons.NO_RISE
    ]
    first_s = next((t_s for t_s, _, pots in rows if t_s >= dry_s and pots[index]["pulse_ms"]), None)
    tested = belief.doses(rows, index, channel)
    # A dose that was under way as the water stopped is nobody's.
    came = [dose for dose in tested if dose.ended_s is not None and dose.ended_s < dry_s]
    found.doses, found.condemned = len(came), sum(not dose.verdict for dose in came)
    found.held = any(t_s < dry_s for t_s in held_s)
    if first_s is not None:
        vain_s = [dose.ended_s for dose in tested if dose.verdict is False and dose.ended_s >= first_s]
        found.vain_h = (vain_s[0] - first_s) / HOUR_S if vain_s else None
        later_s = [t_s for t_s in held_s if t_s >= first_s]
        found.held_h = (later_s[0] - first_s) / HOUR_S if later_s else None
        found.believed = sum(dose.verdict is True and dose.started_s >= first_s for dose in tested)
    return found


def run(seeds, trouble, jobs=1, on_result=lambda result: None):
    """What `one` says of each rig, in the order of the seeds."""
    found = []
    with ProcessPoolExecutor(jobs) as pool:
        for result in pool.map(one, [(seed, trouble) for seed in seeds]):
            found.append(result)
            on_result(result)
    return found


def report(results, trouble):
    """What `potreeve bench belief --json` prints."""
    pots = [pot for result in results if result for pot in result]
    struck = [pot for pot in pots if pot.struck] if trouble.startswith("clogged") else []
    return {
        "schema": SCHEMA,
        "trouble": trouble,
        "rigs": len(results),
        "refused": sum(result is None for result in results),
        "pots": len(pots),
        "doses": sum(pot.doses for pot in pots),
        "condemned": sum(pot.condemned for pot in pots),
        "pots_condemned": sum(pot.condemned > 0 for pot in pots),
        "pots_held": sum(pot.held for pot in pots),
        "stopped": len(struck),
        "believed": sum(pot.believed for pot in struck),
        "belief_h": _hours([pot.vain_h for pot in struck]),
        "firmware_h": _hours([pot.held_h for pot in struck]),
    }


def _hours(values):
    known = sorted(value for value in values if value is not None)
    told = {"never": len(values) - len(known)}
    if known:
        told |= {"median": round(statistics.median(known), 1), "p90": round(alivereport.percentile(known, 90), 1)}
    return told
