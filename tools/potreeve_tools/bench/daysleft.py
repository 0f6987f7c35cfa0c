"""Days left as told, against the day on which watering really ends.

Each case is a board, a battery and a seed: the rig is tended in CPython until its battery is refused for good. The tub
is filled often, the battery never changed. What the board tells when 75, 50 and 25 % of the charge are really left is
set against what came; and so is what somebody would tell who knows to the drop what charge is left, how much of it
will be left when watering ends, and what went lately, but neither weather nor growth to come: no board can know more.
"""

import bisect
import concurrent.futures
import copy
import random

from potreeve.logic import reasons, recorded, signals

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.rehearsal import engines
from potreeve_tools.rehearsal.rehearse import make_session
from potreeve_tools.world.rigfile import DEFAULT_RIG, check_rig, read

DAY_S = 86400
BOARDS = ("rp2040_wifi", "rp2350_wifi", "esp32", "latched")
PACKS = (("lithium", 1), ("alkaline", 3), ("nimh", 3))
MARKS_PCT = (75, 50, 25)

# Capacities that end within about a hundred days, in mAh: of a board that sleeps with its memory on, and of one that
# does not.
CAPACITY_MAH = {True: 4000, False: 700}
LONGEST_DAYS = 150

# What a pump's label may be off by (common practice, no source).
LABEL_PCT = 15

# Told well: within this share of what came, or so many days of it.
WITHIN_PCT = 15
WITHIN_DAYS = 5

# What went lately is that of so many days: of 2, 3, 5, 7, 10, 14 and 21 what serves somebody best who knows the rest
# (seeds 1 and 6 to 14).
KNOWN_DAYS = 2

# Refused for so long without a pulse, watering has ended; a cold night's refusal has not.
FOR_GOOD_S = DAY_S


def cases(names=BOARDS, packs=PACKS, seeds=(1,), rig_path=DEFAULT_RIG, labelled=True):
    """One mapping per board, pack and seed. Seed 1 has CAPACITY_MAH and the default rig; others draw capacity, charge
    at the start (nickel cells are counted from full, so they are put in full), pump current, pots, month and the
    window's direction.

    labelled: the owner wrote the current on the pumps' label, which is within LABEL_PCT of theirs, into the board file.
    """
    return [
        _case(name, chemistry, cells, seed, rig_path, labelled)
        for seed in seeds
        for name in names
        for chemistry, cells in packs
    ]


def _case(name, chemistry, cells, seed, rig_path, labelled=True):
    keeps = boards.load(name).device_dict()["keeps_ram"]
    case = {
        "board": name,
        "chemistry": chemistry,
        "cells": cells,
        "capacity_mah": CAPACITY_MAH[keeps],
        "start_pct": 100,
        "pump_ma": None,
        "label_off_pct": 0 if labelled else None,
        "azimuth_deg": None,
        "start": None,
        "pots": 3,
        "seed": seed,
        "rig": str(rig_path),
    }
    if seed != 1:
        rng = random.Random(f"days left {seed} {name} {chemistry} {cells}")
        case["capacity_mah"] = round(CAPACITY_MAH[keeps] * rng.uniform(0.4, 1.1) / 10) * 10
        start_pct = rng.choice((100, 100, 95, 85))
        case["start_pct"] = 100 if chemistry == "nimh" else start_pct
        case["pump_ma"] = round(rng.uniform(90, 220))
        case["azimuth_deg"] = rng.randint(90, 270)
        case["start"] = f"2026-{rng.randint(1, 12):02d}-01"
        case["pots"] = rng.randint(2, 3)
        off_pct = round(rng.uniform(-LABEL_PCT, LABEL_PCT))
        case["label_off_pct"] = off_pct if labelled else None
    return case


def run(chosen, jobs=1, on_case=lambda rows: None):
    """The rows of all cases, three each, in order; on_case is called with those of each case as it ends."""
    rows = []
    if jobs == 1:
        for case in chosen:
            found = judge(case)
            on_case(found)
            rows += found
        return rows
    with concurrent.futures.ProcessPoolExecutor(jobs) as pool:
        for found in pool.map(judge, chosen):
            on_case(found)
            rows += found
    return rows


def judge(case):
    """The rows of one case: mark_pct, told_days, real_days, error_days, error_pct, good, with the case's own keys, and
    called_days: how long before the end the battery was first asked for; knowing_days, knowing_good: see the module.

    Where watering ended with more charge left than the mark, real_days is 0 and so must be what is told then.
    """
    session = _tended(case)
    ended_s = watering_ended_s(session)
    called_days = _called_days(session, ended_s)
    rows = []
    for pct in MARKS_PCT:
        row = {**case, "mark_pct": pct, "ended": ended_s is not None, "called_days": called_days}
        at = _when(session, pct)
        if at is None or ended_s is None or case["start_pct"] <= pct:
            rows.append(
                {
                    **row,
                    **dict.fromkeys(("told_days", "real_days", "error_days", "error_pct", "good")),
                    **dict.fromkeys(("knowing_days", "knowing_good")),
                }
            )
            continue
        told = recorded.decode(session.records[at])[0]["days_left"]
        real = max(0.0, (ended_s - session.record_s[at]) / DAY_S)
        error = told - real
        knowing = _knowing_days(session, session.record_s[at], ended_s)
        rows.append(
            {
                **row,
                "told_days": told,
                "real_days": round(real, 1),
                "error_days": round(error, 1),
                "error_pct": round(100.0 * error / real) if real else None,
                "good": _is_good(told, real),
                "knowing_days": round(knowing, 1),
                "knowing_good": _is_good(knowing, real),
            }
        )
    return rows


def _is_good(told_days, real_days):
    error = abs(told_days - real_days)
    return error <= WITHIN_DAYS or 100.0 * error <= WITHIN_PCT * real_days


def _knowing_days(session, at_s, ended_s):
    """What somebody would tell who knows all but what is to come."""
    first_s = session.samples[0]["t_s"]
    from_s = max(first_s, at_s - KNOWN_DAYS * DAY_S)
    left_mah = _left_mah(session, at_s)
    gone_mah = _left_mah(session, from_s) - left_mah
    usable_mah = max(0.0, left_mah - _left_mah(session, ended_s))
    return usable_mah / gone_mah * (at_s - from_s) / DAY_S if gone_mah > 0.0 else 0.0


def _left_mah(session, at_s):
    """Charge really left by the last sample until then."""
    at = bisect.bisect_right(session.samples, at_s, key=lambda sample: sample["t_s"])
    return session.samples[max(0, at - 1)]["battery_left_mah"]


def report(rows):
    """The JSON form: rows, how many are good, how many would be if somebody told who knows all but what is to come,
    those that can't be judged (the run was too short)."""
    judged = [row for row in rows if row["good"] is not None]
    calls = [row["called_days"] for row in rows if row["called_days"] is not None]
    return {
        "schema": "potreeve-days-left/1",
        "within_pct": WITHIN_PCT,
        "within_days": WITHIN_DAYS,
        "rows": rows,
        "judged": len(judged),
        "good": sum(row["good"] for row in judged),
        "knowing_good": sum(row["knowing_good"] for row in judged),
        "not_judged": len(rows) - len(judged),
        "called_days_least": min(calls) if calls else None,
        "called_days_most": max(calls) if calls else None,
    }


def _tended(case):
    data = copy.deepcopy(read(case["rig"]))
    data["reservoir"]["refill_days"] = 2
    data["battery"].update(
        chemistry=case["chemistry"], cells=case["cells"], capacity_mah=case["capacity_mah"], start_pct=case["start_pct"]
    )
    if case["azimuth_deg"] is not None:
        data["window"]["azimuth_deg"] = case["azimuth_deg"]
    if case["start"] is not None:
        data["rig"]["start"] = case["start"]
    data["pot"] = data["pot"][: case["pots"]]
    for pot in data["pot"]:
        if case["pump_ma"] is not None:
            pot["pump_ma"] = case["pump_ma"]
    rig = check_rig(data, case["rig"])
    board = boards.load(case["board"]).device_dict()
    if case["label_off_pct"] is not None:
        board["energy"]["pump_ua"] = round(10 * rig.pots[0]["pump_ma"] * (100 + case["label_off_pct"]))
    session = make_session(rig, board, LONGEST_DAYS, case["seed"])
    session.on_day = lambda day: _stop_when_over(session)
    engines.ENGINES["cpython"](session)
    return session


def _stop_when_over(session):
    """End the run once nothing was pumped for longer than any plant waits, and little charge is left."""
    world = session.world
    last_s = session.pulses[-1].t_s if session.pulses else 0.0
    flat = world.battery.left_mah < 0.2 * world.battery.capacity_mah
    if world.battery.left_mah <= 0.0 or (flat and world.now_s - last_s > 6 * DAY_S):
        session.end_s = world.now_s


def _called_days(session, ended_s):
    """Days from the first wake that asked for another battery to the end; None where one of them never came."""
    for t_s, line in zip(session.record_s, session.records):
        if recorded.decode(line)[0]["days_left"] <= signals.BATTERY_CALL_DAYS:
            return None if ended_s is None else round((ended_s - t_s) / DAY_S, 1)
    return None


def _when(session, pct):
    """Index of the first record with so much charge really left, None if that never came."""
    capacity = session.world.battery.capacity_mah
    times = [sample["t_s"] for sample in session.samples if sample["battery_left_mah"] <= capacity * pct / 100.0]
    if not times:
        return None
    return next((at for at, t_s in enumerate(session.record_s) if t_s >= times[0]), len(session.records) - 1)


def watering_ended_s(session):
    """True seconds at which the battery was first refused, or lay flat, with no pulse within FOR_GOOD_S after; None if
    never."""
    pumped = [pulse.t_s for pulse in session.pulses if not pulse.brownout]
    refused = [
        t_s
        for t_s, line in zip(session.record_s, session.records)
        if any(pot["reason"] == reasons.BATTERY for pot in recorded.decode(line)[1])
    ]
    end_s = session.world.now_s
    for t_s in sorted(refused + session.dead_s[:1]):
        later = [p for p in pumped if t_s < p <= t_s + FOR_GOOD_S]
        if not later and end_s - t_s >= FOR_GOOD_S:
            return t_s
    return None
