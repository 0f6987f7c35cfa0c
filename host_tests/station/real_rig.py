"""The firmware's own radio, in real MicroPython beside the simulated rig, reporting to a broker of the test's."""

import json

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.owner import commission
from potreeve_tools.rehearsal.rehearse import make_session, run
from potreeve_tools.settings import judge
from potreeve_tools.world.rigfile import load_rig


def made(port, days, board="rp2040_wifi", blocks=None, clock_set=True, **more):
    """A Session of the reading room, ready to run, whose board reports to the broker at this port.

    blocks: of its flash, None for the board's own; clock_set: whether it knows the wall time; more: see make_session.
    """
    device = boards.load(board).device_dict()
    if blocks:
        device["flash"] = {**device["flash"], "blocks": blocks}
    rig = load_rig()
    rig.electronics["clock_set"] = clock_set
    own = {"wifi_ssid": "sill", "broker_host": "127.0.0.1", "broker_port": port, "broker_user": "sill"}
    settings, faults = judge.check(
        {**json.loads(json.dumps(commission.make_settings(rig, device, 1))), "radio": {**own, "broker_key": ""}}
    )
    assert not faults, faults
    return make_session(rig, device, days, 1, settings=settings, **{"air": {}, **more})


def rehearsed(port, days, **more):
    """The same, run to its end."""
    return run(made(port, days, **more))
