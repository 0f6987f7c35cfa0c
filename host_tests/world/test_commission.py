"""What an owner finds before leaving covers what the rig can do to it later."""

import pytest
from potreeve.logic import dosing
from potreeve_tools.bench import swarm, swarmdraw
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.mishaps import scenario as scenarios
from potreeve_tools.owner import commission
from potreeve_tools.world.rigfile import load_rig
from potreeve_tools.world.world import World

BOARD = boards.load("rp2040_wifi").device_dict()
RUN_MS = 5000


def drawn(seed):
    scenario = scenarios.check(swarmdraw.draw(seed, swarm.rig_mapping()), f"swarm_{seed}.toml")
    return scenarios.the_rig(scenario, swarm.rig_mapping(), "the swarm's rig")


@pytest.mark.parametrize("seed", range(40))
def test_a_tube_that_came_off_brings_no_more_than_caps_count(seed):
    """Its end hangs lower, so the pump lifts less and brings more. Seed 0: the reading room."""
    rig = drawn(seed) if seed else load_rig()
    settings = commission.make_settings(rig, BOARD, seed)
    world = World(rig, BOARD, seed)
    for index, pot in enumerate(settings["channels"]):
        world.channels[index].line.drop_mm = 0.0
        world.pulse(index, RUN_MS)
        before = len(world.deliveries)
        world.pulse(index, RUN_MS)
        brought_ul = 1000 * sum(d[3] for d in world.deliveries[before:] if d[1] == index)
        assert brought_ul <= dosing.most_ul(RUN_MS, pot, world.sense().battery_mv)
