"""Run one scenario with one seed, and the same rig without its mishap."""

import copy
import json
from dataclasses import dataclass

from potreeve_tools.mishaps import scenario as scenarios
from potreeve_tools.owner.commission import owner_presses
from potreeve_tools.rehearsal import rehearse
from potreeve_tools.rehearsal.broker import Broker
from potreeve_tools.rehearsal.session import Session
from potreeve_tools.world.world import World


@dataclass(frozen=True)
class Bench:
    """What all trials of one command share: rig file mapping, device form of the board, settings or None, interpreter."""

    rig_data: dict
    rig_where: str
    board: dict
    settings: dict | None = None
    interpreter: str = "micropython"


def make(scenario, bench, seed, faultless=False):
    """A Session of a scenario, ready to run. faultless: leave out the mishap, keep the people."""
    rig = scenarios.the_rig(scenario, bench.rig_data, bench.rig_where)
    board = scenarios.the_board(scenario, bench.board)
    settings, sent = scenarios.the_settings(scenario, rig, board, seed, bench.settings)
    faults = [*owner_presses(), *scenario.persons]
    if not faultless:
        faults += scenario.faults
    world = World(rig, board, seed, faults=faults)
    session = Session(
        world, board, json.dumps(settings), scenario.days, sent=sent, broker=Broker() if scenario.broker else None
    )
    session.seed, session.days, session.checked = seed, scenario.days, settings
    session.mishaps = [] if faultless else world.faults[len(world.faults) - len(scenario.faults) :]
    return session


def run(scenario, bench, seed, faultless=False):
    """The finished Session."""
    return rehearse.run(make(scenario, bench, seed, faultless), bench.interpreter)


def summary(session):
    """What a baseline tells: (t_s, [alive per pot]) at each change."""
    found, before = [], None
    for sample in session.samples:
        alive = [pot["alive"] for pot in sample["pots"]]
        if alive != before:
            found.append((sample["t_s"], copy.copy(alive)))
            before = alive
    return found


def alive_at(told, t_s):
    """Whether each pot lived at a time, by a baseline's summary."""
    return [alive for at, alive in told if at <= t_s][-1]
