"""What an owner finds before leaving covers what the rig can do to it later."""

import pytest
from potreeve.logic import dosing
from potreeve_tools.bench import swarm, swarmdraw
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.mishaps import scenario as scenarios
from potreeve_tools.owner import commission
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world.faults.kinds import make_fault
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


@pytest.mark.parametrize("substrate", ["peat_mix", "coir", "bark_mix", "loam_mix"])
@pytest.mark.parametrize("height_cm", [8.0, 20.0, 24.0])
def test_strawberry_can_be_commissioned_in_any_mix_and_in_tall_pots(substrate, height_cm):
    """Its refill point is high, and higher where a mix holds little above wilting: the fill mark must make way."""
    rig = load_rig()
    rig.pots[1].update(substrate=substrate, height_cm=height_cm, outlet_mm=10 * height_cm + 20, pump_lift_mm=1500.0)
    pot = commission.make_settings(rig, BOARD, 1)["channels"][1]
    assert pot["fill_pm"] - dosing.refill_point_pm(pot) >= 79
    assert pot["curve"] and pot["pump_ul_s"]


@pytest.mark.parametrize("feet_mm", [0.0, 8.0])
def test_the_owner_says_whether_pots_stand_on_feet(feet_mm):
    rig = load_rig()
    rig.tray["feet_mm"] = feet_mm
    assert commission.make_settings(rig, BOARD, 1)["pots_in_tray"] is (feet_mm == 0.0)


def test_a_tray_too_small_for_its_pots_is_refused_with_the_reason():
    rig = load_rig()
    rig.tray["area_cm2"] = rig.footprint_cm2 + 40.0
    with pytest.raises(BadInput) as caught:
        commission.make_settings(rig, BOARD, 1)
    assert any("tray_headroom_ml" in line and "ml or more" in line for line in caught.value.faults)


@pytest.mark.parametrize("valve", [True, False])
def test_a_pulse_brings_what_it_is_told_to_whether_its_tube_stays_full_or_not(valve):
    """Each pulse was made longer to fill a tube that a valve had kept full: it brought up to four times as much, which
    a small tray could not bear (swarm 70304: it ran over)."""
    rig = load_rig()
    for pot in rig.pots:
        pot.update(check_valve=valve, pump_kind="centrifugal", tube_mm=1500, pump_ml_s=3.0)
    settings = commission.make_settings(rig, BOARD, 1)
    world = World(rig, BOARD, 1)
    for index, pot in enumerate(settings["channels"]):
        assert pot["prime_ms"] > 2000 and pot["tube_full_h"] == (48 if valve else 0)
        world.pulse(index, pot["pulse_max_ms"])
        for idle_s in (1800.0, 6 * 3600.0, 24 * 3600.0):
            world.advance(idle_s)
            before = len(world.deliveries)
            ul = 1000 * pot["pulse_ml"]
            world.pulse(index, dosing.pulse_ms(ul, int(idle_s), pot, world.sense().battery_mv))
            world.advance(60.0)
            brought_ul = 1000 * sum(d[3] for d in world.deliveries[before:] if d[1] == index)
            assert 0.5 * ul < brought_ul < 1.4 * ul, (pot["name"], idle_s)


@pytest.mark.parametrize("valve, said", [(True, "takes 2[0-9] s to fill"), (False, "takes 15 s to fill brings none")])
def test_a_tube_that_takes_too_long_to_fill_is_refused_with_the_remedy(valve, said):
    """Its time was cut to ten seconds without a word, and pulses brought little of what was counted on."""
    rig = load_rig()
    rig.pots[0].update(check_valve=valve, pump_kind="centrifugal", tube_mm=2200, tube_id_mm=5, pump_ml_s=1.5)
    with pytest.raises(BadInput, match=said) as caught:
        commission.make_settings(rig, BOARD, 1)
    assert "shorter or narrower tube" in " ".join(caught.value.faults)


def test_mishaps_to_come_do_not_reach_back_to_the_owner():
    rig = load_rig()
    plain = commission.make_settings(rig, BOARD, 1)
    rig.faults.append(make_fault("pump_dry", 60.0, channel=0))
    assert commission.make_settings(rig, BOARD, 1) == plain
