"""One rehearsal from rig to result, whichever interpreter runs the firmware."""

import json

from potreeve_tools.owner import commission
from potreeve_tools.rehearsal.engines import ENGINES
from potreeve_tools.rehearsal.session import Session
from potreeve_tools.world.world import World


def make_session(rig, board, days, seed, settings=None, faults=(), on_day=None, air=None, ca=b""):
    """A Session ready to run.

    rig: a Rig; board: device form; settings: checked dict, None for what
    commissioning gives; faults: Fault objects on top of the rig's own; air, ca: see Session.
    """
    if settings is None:
        settings = commission.make_settings(rig, board, seed)
    world = World(rig, board, seed, faults=[*commission.owner_presses(), *faults])
    session = Session(world, board, json.dumps(settings), days, on_day, air=air, ca=ca)
    session.seed = seed
    session.days = days
    session.checked = settings
    return session


def run(session, interpreter="micropython"):
    """Run a session to its end in one of ENGINES; returns it."""
    ENGINES[interpreter](session)
    return session
