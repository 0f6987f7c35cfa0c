"""`bench alive`: rigs that people might well build, without a mishap, a quarter year each. Neither a flood nor a death.

Settings are made by the product's own commissioning, which may refuse a rig. The
same rigs, probes and calibration are run by a plain threshold loop (aliveloop.py).
"""

import json
import time
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, field

from potreeve.logic import recorded, signals
from potreeve.logic.state import RATIONED, TENDED

from potreeve_tools.bench import alivedraw, aliveloop, alivewatch
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.mishaps import calls
from potreeve_tools.owner import commission
from potreeve_tools.rehearsal import rehearse
from potreeve_tools.rehearsal.session import Session
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world.potspec import SOILS
from potreeve_tools.world.rigfile import check_rig
from potreeve_tools.world.world import World

DAYS = 90
HOUR_S, DAY_S = 3600, 86400
RIGS_A_SEED = 10_000


@dataclass
class PotResult:
    """One pot of one rig under one way of watering."""

    name: str
    plant: str
    substrate: str
    pot_ml: int
    in_band_pct: float
    dry_h: int
    over_h: int
    soaked_h: int
    died_d: float | None = None
    why: str = ""
    held_h: float = 0.0
    rationed_h: float = 0.0
    longest_h: float = 0.0
    announced: bool = True
    given_ml: int = 0


@dataclass
class RigResult:
    """One rig. refused: the product's words, then nothing was run."""

    seed: int
    board: str
    refused: str = ""
    broke: str = ""
    pots: list = field(default_factory=list)
    loop: list = field(default_factory=list)
    floods: int = 0
    spilled_ml: float = 0.0
    loop_floods: int = 0
    loop_spilled_ml: float = 0.0
    notes: int = 0
    calls: int = 0
    batteries: int = 0
    took_s: float = 0.0


class LeanSession(Session):
    """A Session that keeps the last sample only: truth is taken by the watch."""

    def _sample(self):
        if not self.samples or self.world.now_s >= self.end_s:
            super()._sample()


def rig_seeds(seed, rigs, first=1):
    """Numbers of the rigs of a seed."""
    return [seed * RIGS_A_SEED + index for index in range(first, first + rigs)]


def one(rig_seed, days=DAYS, interpreter="cpython", soil=SOILS[0], on_feet=False):
    """Draw, commission, run and count one rig. Returns RigResult.

    on_feet: its pots stand so high that they touch no water until the tray is full.
    """
    began = time.perf_counter()
    drawn = alivedraw.draw(rig_seed)
    drawn.data["rig"]["soil"] = soil
    if on_feet:
        drawn.data["tray"]["feet_mm"] = drawn.data["tray"]["wall_mm"]
    result = RigResult(rig_seed, drawn.board)
    board = boards.load(drawn.board).device_dict()
    try:
        rig = check_rig(drawn.data, f"rig {rig_seed}")
        settings = commission.make_settings(rig, board, rig_seed)
    except BadInput as refusal:
        result.refused = refusal.faults[0]
        return result
    except Exception as fault:
        result.broke = f"while its settings were made, {type(fault).__name__}: {fault}"
        return result
    try:
        _run(result, rig, board, settings, days, interpreter)
    except Exception as fault:  # what breaks off is a result, and the other rigs go on
        result.broke = f"{type(fault).__name__}: {fault}"
    result.took_s = time.perf_counter() - began
    return result


def _run(result, rig, board, settings, days, interpreter):
    world = World(rig, board, result.seed, faults=commission.owner_presses())
    session = LeanSession(world, board, json.dumps(settings), days)
    watch = alivewatch.Watch(world, alivewatch.told_by(session))
    rehearse.run(session, interpreter)
    rows = [(t_s, *recorded.decode(line)) for t_s, line in zip(session.record_s, session.records, strict=True)]
    result.pots = _pots(watch, rig)
    for index, pot in enumerate(result.pots):
        _rungs(pot, index, rows, world.now_s)
    result.floods, result.spilled_ml = world.tray.floods, round(world.tray.spilled_ml, 1)
    result.notes, result.calls = _spells(rows, signals.NOTE), _spells(rows, signals.CALL)
    result.batteries = watch.batteries
    watch, world = aliveloop.run(rig, board, result.seed, settings, days)
    result.loop = _pots(watch, rig)
    result.loop_floods, result.loop_spilled_ml = world.tray.floods, round(world.tray.spilled_ml, 1)


def _pots(watch, rig):
    found = []
    for hours, channel, spec in zip(watch.pots, watch.world.channels, rig.pots, strict=True):
        found.append(
            PotResult(
                name=channel.name,
                plant=spec["plant"],
                substrate=spec["substrate"],
                pot_ml=round(channel.pot.volume_ml),
                in_band_pct=round(100.0 * hours.in_band / max(1, hours.hours), 2),
                dry_h=hours.dry,
                over_h=hours.over,
                soaked_h=hours.soaked,
                died_d=None if hours.died_s is None else round(hours.died_s / DAY_S, 2),
                why=hours.why,
                given_ml=round(channel.given_ml),
            )
        )
    return found


def _rungs(pot, index, rows, end_s):
    """Hours on the lower rungs while the plant lived, the longest run of them, and whether its death was announced."""
    until_s = end_s if pot.died_d is None else pot.died_d * DAY_S
    run_s = longest_s = held_s = rationed_s = 0.0
    for (t_s, head, pots), (next_s, _, _) in zip(rows, [*rows[1:], (until_s, None, None)]):
        if t_s >= until_s:
            break
        span_s = max(0.0, min(next_s, until_s) - t_s)
        ladder = pots[index]["ladder"]
        if head["hold"] or ladder != TENDED:
            run_s += span_s
            longest_s = max(longest_s, run_s)
            if ladder == RATIONED and not head["hold"]:
                rationed_s += span_s
            else:
                held_s += span_s
        else:
            run_s = 0.0
    pot.held_h, pot.rationed_h = round(held_s / HOUR_S, 1), round(rationed_s / HOUR_S, 1)
    pot.longest_h = round(longest_s / HOUR_S, 1)
    if pot.died_d is not None:
        pot.announced = announced(index, rows, until_s)


def announced(index, rows, died_s):
    """L2, as mishaps/calls.py has it: the call that was on when the plant died began at least three days before, named
    its pot or the rig, and stood for half of that time."""
    until_s = [row[0] for row in rows[1:]] + [died_s]
    called = [(row[0], min(to_s, died_s)) for row, to_s in zip(rows, until_s) if calls.names_pot(row, index)]
    return calls.in_time_s([span for span in called if span[0] < span[1]], died_s) is not None


def _spells(rows, level):
    """How often an alarm of this level began."""
    count, before = 0, False
    for _, head, _ in rows:
        now = head["alarm"] == level
        count += now and not before
        before = now
    return count


def run(seeds, jobs=1, days=DAYS, interpreter="cpython", on_result=lambda result: None, soil=SOILS[0], on_feet=False):
    """Results of many rigs, in the order of their seeds. jobs: processes."""
    if jobs == 1:
        found = []
        for seed in seeds:
            found.append(one(seed, days, interpreter, soil, on_feet))
            on_result(found[-1])
        return found
    found = {}
    with ProcessPoolExecutor(jobs) as pool:
        waiting = {pool.submit(one, seed, days, interpreter, soil, on_feet): seed for seed in seeds}
        try:
            for done in as_completed(waiting):
                found[waiting[done]] = done.result()
                on_result(found[waiting[done]])
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
    return [found[seed] for seed in seeds]
