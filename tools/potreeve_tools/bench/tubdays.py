"""Days of water left as told, over the last week of a tub, in drawn rigs; and whether leaks are told, and nothing else.

Rigs are those of `bench alive` (alivedraw), with one to four floats, or a strip, and a tub that lasts some weeks. Its
owner measured it with a jug (owner.filler), fills it again within a day after its end, about as full as always, and
presses nothing. Leaky ones crack at a drawn time and rate. A tub ends when the rig holds for it or its pumps reach no
more water, whichever comes first.

Beside it stands what somebody would tell who knew what is in the tub, when it will be taken as empty, and what plants
drank in the week before, to the drop, but not the weather that is to come: what is off there, no rig can know.
"""

import bisect
import json
import random
import statistics
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, field

from potreeve.logic import reasons, recorded, tub, tub_keys

from potreeve_tools.bench import alivedraw
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.owner import commission, filler
from potreeve_tools.rehearsal import rehearse
from potreeve_tools.rehearsal.session import Session
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world.faults.kinds import make_fault
from potreeve_tools.world.rigfile import check_rig
from potreeve_tools.world.world import World

SCHEMA = "potreeve-tub-days/1"
DAY_S = 86400
DAYS_MOST = 120
LAST_WEEK = range(1, 8)
KNOWN_DAYS = 7
WITHIN_DAYS = 2.0
RIGS_A_SEED = 10_000

# What a tub takes at first, in ml, and what of it a leak takes in a day (ours): from what a wet patch takes days to
# show to what is gone overnight.
TUB_LEAST_ML, TUB_MOST_ML = 2000.0, 12_000.0
LEAK_LEAST_ML_H, LEAK_MOST_ML_H = 3.0, 300.0
# So early that it had begun before the tub's last days.
LEAK_FROM_D, LEAK_TO_D = 2.0, 10.0

# So many times a tub is filled again at the most; people fill it to within so much (one standard deviation, ours).
FILLS_MOST = 1
FILL_ERROR = 0.03

NOTES = {reasons.TUB_LEAK: "leak", reasons.TUB_STAYS: "stays", reasons.TUB_FLOAT: "float"}


@dataclass
class Told:
    """One rig. tubs: per filling that ended, {"ended_d", "by_hold", "told": {days before: (days told, days that came)},
    "worst_d", "knew": as told, by somebody who knows all but the weather that is to come}.

    refused, broke: words, then nothing else counts. notes: {note but "low": days after the start at which it was first
    told}. empty_told: whether the rig held for its tub before a pump ran dry.
    """

    seed: int
    board: str = ""
    floats: int = 0
    marks_ml: list = field(default_factory=list)
    full_ml: int = 0
    lid: bool = True
    leak_ml_h: float = 0.0
    leak_d: float | None = None
    refused: str = ""
    broke: str = ""
    tubs: list = field(default_factory=list)
    notes: dict = field(default_factory=dict)
    low_d: float | None = None


def rig_seeds(seed, rigs, first=1):
    """Numbers of the rigs of a seed."""
    return [seed * RIGS_A_SEED + index for index in range(first, first + rigs)]


def _evenly(rng, low, high):
    """On a logarithmic scale."""
    return low * (high / low) ** rng.random()


def draw(seed, floats=None, leaky=False, strip=False):
    """(Told, the rig's mapping, the board's device form, faults) of a number. strip: instead of floats."""
    drawn = alivedraw.draw(seed)
    data = drawn.data
    rng = random.Random(f"tub days {seed}")
    tub_ml = _evenly(rng, TUB_LEAST_ML, TUB_MOST_ML)
    count = rng.randint(1, 4)
    reservoir = data["reservoir"]
    reservoir["area_cm2"] = max(100.0, round(tub_ml / (0.09 * reservoir["height_mm"])))
    # Nobody comes, and nothing else ends it.
    reservoir["refill_days"] = 0
    data["battery"] = {"chemistry": "lithium", "cells": 1, "capacity_mah": 40_000}
    board = boards.load(drawn.board).device_dict()
    count = tub_keys.MARKS if strip else floats or count
    kind, pins = ("strip", [0]) if strip else ("floats", list(range(count)))
    board["extras"] = {"tub_kind": kind, "tub_pins": pins}
    result = Told(seed, drawn.board, count, lid=reservoir["lid"])
    faults = []
    if leaky:
        rng = random.Random(f"tub leaks {seed}")
        result.leak_ml_h = round(_evenly(rng, LEAK_LEAST_ML_H, LEAK_MOST_ML_H), 1)
        result.leak_d = round(rng.uniform(LEAK_FROM_D, LEAK_TO_D), 1)
        faults = [make_fault("tub_leaks", result.leak_d * DAY_S, ml_h=result.leak_ml_h)]
    return result, data, board, faults


def one(task):
    """Draw, commission, run and judge one rig: task (seed, floats or None, leaky, strip). Returns Told."""
    result, data, board, faults = draw(*task)
    try:
        rig = check_rig(data, f"rig {result.seed}")
        settings = commission.make_settings(rig, board, result.seed)
    except BadInput as refusal:
        result.refused = refusal.faults[0]
        return result
    result.marks_ml = [settings["tub"][f"mark{n}_ml"] for n in range(1, result.floats + 1)]
    result.full_ml = settings["tub"]["full_ml"]
    try:
        _judge(result, _run(result.seed, rig, board, settings, faults))
    except Exception as fault:  # what breaks off is a result, and the other rigs go on
        result.broke = f"{type(fault).__name__}: {fault}"
    return result


class _Session(Session):
    """One that notes of the truth only what stands in the tub, and what has left the pots."""

    def _sample(self):
        world = self.world
        world.settle()
        gone_ml = sum(c.transpired_ml + c.evaporated_ml + c.leachate_ml for c in world.channels)
        self.samples.append(
            {"t_s": world.now_s, "reservoir_usable_ml": world.reservoir.usable_ml, "pots_lost_ml": gone_ml}
        )
        day = int(world.now_s // DAY_S)
        if day > self._day:
            self._day = day
            self.on_day(day)


def _run(seed, rig, board, settings, faults):
    world = World(rig, board, seed, faults=[*commission.owner_presses(), *faults])
    session = _Session(world, board, json.dumps(settings), DAYS_MOST)
    session.filled_s = []
    rng = random.Random(f"filled again {seed}")
    session.on_day = lambda day: _fill_when_empty(session, rng, bool(faults))
    rehearse.run(session, "cpython")
    return session


def _fill_when_empty(session, rng, leaky):
    tub = session.world.reservoir
    if tub.usable_ml >= 1.0 and recorded.decode(session.records[-1])[0]["hold"] != reasons.TUB_EMPTY:
        return
    if leaky or len(session.filled_s) == FILLS_MOST:
        session.end_s = session.world.now_s
        return
    session.filled_s.append(session.world.now_s)
    level_mm = filler.FULL_TUB * tub.height_mm * (1.0 + rng.gauss(0.0, FILL_ERROR))
    ml = min(level_mm, tub.height_mm) * tub.area_cm2 / 10.0 - tub.water_ml
    tub.water_ml += ml
    session.world.added_ml += ml


def _judge(result, session):
    rows = [(t_s, recorded.decode(line)[0]) for t_s, line in zip(session.record_s, session.records, strict=True)]
    for t_s, head in rows:
        name = NOTES.get(head["tub_note"])
        if name:
            result.notes.setdefault(name, round(t_s / DAY_S, 1))
        if head["tub_note"] == reasons.TUB_LOW and result.low_d is None:
            result.low_d = round(t_s / DAY_S, 1)
    for from_s, to_s in zip([0.0, *session.filled_s], [*session.filled_s, session.world.now_s + 1.0], strict=True):
        dry_s = [s["t_s"] for s in session.samples if s["reservoir_usable_ml"] < 1.0 and from_s < s["t_s"] < to_s]
        held_s = [t_s for t_s, head in rows if head["hold"] == reasons.TUB_EMPTY and from_s + DAY_S < t_s <= to_s]
        if dry_s or held_s:
            tub = _last_week(rows, from_s, dry_s, held_s)
            end_s = min(dry_s[:1] + held_s[:1])
            tub["knew"] = {
                before: (_known_days(session.samples, end_s - came * DAY_S, end_s), came)
                for before, (_, came) in tub["told"].items()
            }
            result.tubs.append(tub)


def _known_days(samples, at_s, end_s):
    """Days to end_s as one would tell them at at_s who knew all but what is to come."""
    times = [one["t_s"] for one in samples]
    now, end, before = (
        samples[max(0, bisect.bisect_right(times, t_s) - 1)] for t_s in (at_s, end_s, at_s - KNOWN_DAYS * DAY_S)
    )
    days = (now["t_s"] - before["t_s"]) / DAY_S
    drank_ml = (now["pots_lost_ml"] - before["pots_lost_ml"]) / days if days else 0.0
    return round((now["reservoir_usable_ml"] - end["reservoir_usable_ml"]) / max(1.0, drank_ml))


def _last_week(rows, from_s, dry_s, held_s):
    """What was told in the last week of one filling; days of its first are left out: there it was just filled."""
    end_s = min(dry_s[:1] + held_s[:1])
    told = {}
    for before in LAST_WEEK:
        at = next((row for row in reversed(rows) if row[0] <= end_s - before * DAY_S), None)
        if at is not None and at[1]["tub_mark"] and at[0] > from_s + DAY_S:
            days = at[1]["tub_days"]
            told[before] = (999 if days == tub.UNKNOWN_DAYS else days, round((end_s - at[0]) / DAY_S, 1))
    return {
        "ended_d": round(end_s / DAY_S, 1),
        "by_hold": bool(held_s) and (not dry_s or held_s[0] <= dry_s[0]),
        "told": told,
        "worst_d": max([round(abs(said - came), 1) for said, came in told.values()], default=None),
    }


def run(seeds, jobs=1, floats=None, leaky=False, strip=False, on_rig=lambda result: None):
    """A Told for each number, in order."""
    tasks = [(seed, floats, leaky, strip) for seed in seeds]
    if jobs == 1:
        return [_told(one(task), on_rig) for task in tasks]
    with ProcessPoolExecutor(jobs) as pool:
        return [_told(result, on_rig) for result in pool.map(one, tasks)]


def _told(result, on_rig):
    on_rig(result)
    return result


def report(results, leaky):
    """The JSON form."""
    tubs = [(one, place, filling) for one in results for place, filling in enumerate(one.tubs)]
    judged = [row for row in tubs if row[2]["worst_d"] is not None]
    found = {
        "schema": SCHEMA,
        "leaky": leaky,
        "within_days": WITHIN_DAYS,
        "rigs": len(results),
        "refused": sum(bool(one.refused) for one in results),
        "broke_off": [{"seed": one.seed, "what": one.broke} for one in results if one.broke],
        "outlasted": sum(not one.tubs and not one.refused and not one.broke for one in results),
        "all": _tally(judged),
        "first": _tally([row for row in judged if row[1] == 0]),
        "later": _tally([row for row in judged if row[1] > 0]),
        "knowing": _tally([(one, place, _as_known(filling)) for one, place, filling in judged]),
        "by_floats": {str(count): _tally([row for row in judged if row[0].floats == count]) for count in range(1, 5)},
        "ran_dry_before_held": sum(not filling["by_hold"] for _, _, filling in tubs),
        "notes": {name: sum(name in one.notes for one in results) for name in NOTES.values()},
    }
    if leaky:
        cracked = [one for one in results if one.tubs]
        told = [one for one in cracked if one.notes.get("leak", 0.0) >= one.leak_d]
        after = [one.notes["leak"] - one.leak_d for one in told]
        found["leaks"] = len(cracked)
        found["leaks_told"] = len(told)
        found["leak_told_after_d_median"] = round(statistics.median(after), 1) if after else None
        found["leaks_not_told"] = [
            {"seed": one.seed, "ml_h": one.leak_ml_h, "floats": one.floats} for one in cracked if one not in told
        ]
    found["detail"] = [asdict(one) for one in results]
    return found


def _as_known(filling):
    told = filling["knew"]
    return {**filling, "told": told, "worst_d": max(round(abs(said - came), 1) for said, came in told.values())}


def _tally(judged):
    """{"tubs", "good", "days", "days_good", ...} of (rig, place, filling) rows."""
    worst = sorted(filling["worst_d"] for _, _, filling in judged)
    errors = [said - came for _, _, filling in judged for said, came in filling["told"].values()]
    return {
        "tubs": len(judged),
        "good": sum(one <= WITHIN_DAYS for one in worst),
        "days": len(errors),
        "days_good": sum(abs(error) <= WITHIN_DAYS for error in errors),
        "error_median_d": round(statistics.median(errors), 1) if errors else None,
        "worst_median_d": round(statistics.median(worst), 1) if worst else None,
        "worst_p90_d": round(worst[int(0.9 * (len(worst) - 1))], 1) if worst else None,
        "worst_d": worst[-1] if worst else None,
    }
