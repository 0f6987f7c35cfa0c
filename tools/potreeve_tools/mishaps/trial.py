"""Run one scenario with one seed, and the same rig without its mishap."""

import json
from dataclasses import dataclass, replace

from potreeve_tools.mishaps import scenario as scenarios
from potreeve_tools.owner.commission import owner_presses
from potreeve_tools.rehearsal import rehearse
from potreeve_tools.rehearsal.broker import Broker
from potreeve_tools.rehearsal.session import Session
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world.world import World


@dataclass(frozen=True)
class Bench:
    """What all trials of one command share: rig file mapping, device form of the board, settings or None,
    interpreter."""

    rig_data: dict
    rig_where: str
    board: dict
    settings: dict | None = None
    interpreter: str = "micropython"


class Refused(BadInput):
    """The product itself refuses the settings of a scenario which says that it may."""


def make(scenario, bench, seed, faultless=False):
    """A Session of a scenario, ready to run. faultless: leave out the mishap and its settings, keep the rig and the
    people.

    Raises Refused, or BadInput where that was not to be expected.
    """
    rig = scenarios.the_rig(scenario, bench.rig_data, bench.rig_where)
    board = scenarios.the_board(scenario, bench.board)
    settings, sent = _settings(scenario, bench, rig, board, seed, faultless)
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


def _settings(scenario, bench, rig, board, seed, faultless):
    """(settings, text of those sent later). A rig without its mishap has the settings that the product makes for it."""
    if faultless:
        plain = replace(scenario, settings={}, sent={})
        try:
            return scenarios.the_settings(plain, rig, board, seed)
        except BadInput:
            # A rig that the product would not be set up on, which somebody set up all the same.
            return scenarios.the_settings(plain, rig, board, seed, bench.settings)
    try:
        return scenarios.the_settings(scenario, rig, board, seed, bench.settings)
    except BadInput as fault:
        if scenario.expects["may_be_refused"]:
            raise Refused(fault.faults) from fault
        raise


def run(scenario, bench, seed, faultless=False):
    """The finished Session."""
    return rehearse.run(make(scenario, bench, seed, faultless), bench.interpreter)
