"""The pot of the second soil model: nothing lost, rest at container capacity, drainage, roots, tray."""

import math
import random

import books
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from potreeve_tools.terminal.faultlist import BadInput, read_toml
from potreeve_tools.world import potcare
from potreeve_tools.world.air import Air
from potreeve_tools.world.potspec import SOILS, PotSpec
from potreeve_tools.world.richardspot import BLADE_CM, RichardsPot
from potreeve_tools.world.rigfile import DEFAULT_RIG, check_rig
from potreeve_tools.world.world import World

SATURATED = Air(20.0, 100.0, 0.0)  # nothing evaporates
MIXES = ["peat_mix", "coir", "bark_mix", "loam_mix"]
MODELS = [soil for soil in SOILS if soil != "layers"]


@given(books.specs(substrate=st.sampled_from(MIXES), soil=st.sampled_from(MODELS)), books.events(20))
@settings(max_examples=60, deadline=None)
def test_every_millilitre_is_accounted_for(spec, happenings):
    books.balance(RichardsPot(spec), happenings, 0.0, 1.01)


def test_a_bone_dry_pot_that_water_reaches_from_its_foot_goes_on():
    """Found by the books: 8 ml on the dry bark of a small pot without a hole, and no step was small enough."""
    spec = PotSpec(
        plant="mint",
        diameter_cm=5.0,
        height_cm=4.0,
        leaf_area_cm2=1.0,
        start_pm=0.0,
        drainage_hole=False,
        substrate="bark_mix",
        soil="richards",
    )
    books.balance(RichardsPot(spec), [(8.0, 0.4, 0.0)], 0.0, 1.01)


def still(**spec):
    """A pot whose plant hardly drinks."""
    return potcare.of_spec(PotSpec(**{"leaf_area_cm2": 0.01, "soil": "richards", **spec}), None)


# The slowest tall bark still drains after a fortnight, as it must with so little conductivity: left out.
@pytest.mark.parametrize(("soil", "height_cm"), [*(("richards", x) for x in (6.0, 12.0, 25.0)), ("richards_slow", 6.0)])
@pytest.mark.parametrize("mix", MIXES)
def test_soaked_and_drained_it_rests_at_container_capacity(mix, height_cm, soil):
    """Two ways to one figure: the curve integrated over the height, and water let run by Richards' equation."""
    pot = still(substrate=mix, height_cm=height_cm, start_pm=600.0, soil=soil)
    for _ in range(40):
        pot.add_water(pot.container_capacity_ml / 8.0)
        pot.step(600.0, SATURATED)
    assert pot.moisture_pm > 990.0
    for _ in range(14 * 24):
        pot.step(3600.0, SATURATED)
    assert pot.moisture_pm == pytest.approx(1000.0, abs=6.0)
    assert pot.layer_theta() == pytest.approx(pot.column.capacity, abs=0.012)


def test_at_rest_nothing_moves():
    pot = still(start_pm=800.0)
    before = pot.layer_theta()
    for _ in range(24):
        assert pot.step(3600.0, SATURATED).leachate_ml == 0.0
    # The table of rest states is read between its rows: hence a thousandth, not rounding.
    assert pot.layer_theta() == pytest.approx(before, abs=0.002)


def test_too_much_water_runs_out_soon():
    pot = still(start_pm=1000.0)
    out = pot.add_water(150.0)
    for _ in range(30):
        out += pot.step(60.0, SATURATED).leachate_ml
    assert out > 0.9 * 150.0


@pytest.mark.parametrize("mix", ["peat_mix", "coir", "bark_mix"])
def test_a_soaked_pot_has_drained_after_a_quarter_of_an_hour(mix):
    """10 to 15 minutes (Purdue extension) for potting mixes; loam takes about an hour here, no figure found."""
    pot = still(substrate=mix, height_cm=11.0, start_pm=1000.0)
    for _ in range(4):
        pot.add_water(pot.container_capacity_ml / 3.0)
        pot.step(60.0, SATURATED)
    pot.step(900.0, SATURATED)
    assert pot.moisture_pm == pytest.approx(1000.0, abs=20.0)


def test_a_pulse_goes_down_in_time():
    """After a pulse the upper nodes are wetter than at rest, hours later no more; a probe below sees it late."""
    pot = still(substrate="bark_mix", start_pm=600.0, height_cm=15.0)
    rest = pot.layer_theta()
    pot.add_water(60.0)
    pot.step(60.0, SATURATED)
    soon = [a - b for a, b in zip(pot.layer_theta(), rest)]
    assert soon[0] > 0.1 and soon[-1] < 0.001
    for _ in range(72):
        pot.step(3600.0, SATURATED)
    late = [a - b for a, b in zip(pot.layer_theta(), rest)]
    assert late[0] < 0.3 * soon[0] and late[7] > 0.005


@pytest.mark.parametrize("start_pm", [300.0, 700.0])
def test_a_wet_tray_is_drawn_up_to_its_level_and_no_further(start_pm):
    pot = still(start_pm=start_pm)
    drawn = 0.0
    for _ in range(24 * 20):
        drawn += pot.step(3600.0, SATURATED, 20.0, math.inf).uptake_ml
    assert drawn > 0.0
    assert pot.theta == pytest.approx(pot.column.mean_with_level(2.0, pot.retention), abs=0.006)


def test_the_tray_gives_no_more_than_it_has():
    pot = still(start_pm=300.0)
    assert pot.step(3600.0, SATURATED, 20.0, 5.0).uptake_ml <= 5.0 + 1e-9


def test_without_a_hole_it_stands_and_runs_over_the_rim():
    pot = still(drainage_hole=False, start_pm=900.0)
    out = pot.add_water(5000.0) + pot.step(3600.0, SATURATED).leachate_ml
    room = pot._full_ml * pot.spec.layers + pot._rim_ml
    assert pot.water_ml == pytest.approx(room, rel=0.01) and out > 4000.0
    assert pot.waterlogged


def test_roots_suffer_where_it_is_dry_and_half_may_be():
    pot = still(start_pm=1000.0)
    nodes = pot.spec.layers
    assert pot._rooted() == 1.0
    pot._h = [pot._h_wilting] * (nodes // 2 - 1) + [0.0] * (nodes - nodes // 2 + 1)
    assert pot._rooted() == 1.0
    pot._h = [pot._h_wilting] * nodes
    assert pot._rooted() == 0.0
    pot._h = [0.5 * (pot._h_wilting + pot._h_stress)] * nodes
    assert pot._rooted() == 1.0
    pot._h = [0.75 * pot._h_wilting + 0.25 * pot._h_stress] * nodes
    assert pot._rooted() == pytest.approx(0.5)


def test_an_unwatered_plant_dies_and_the_pot_keeps_what_no_root_gets():
    pot = potcare.of_spec(PotSpec(soil="richards", leaf_area_cm2=800.0), None)
    for _ in range(24 * 40):
        pot.step(3600.0, books.NOON)
    assert not pot.alive and pot.plant.reason == "dried out"
    assert 0.0 < pot.theta < pot.theta_wilting


def test_steps_of_seconds_and_of_an_hour_agree():
    ends = []
    for dt_s in (20.0, 3600.0):
        pot = potcare.of_spec(PotSpec(soil="richards", leaf_area_cm2=500.0, start_pm=700.0), None)
        pot.add_water(60.0)
        for _ in range(int(12 * 3600 / dt_s)):
            pot.step(dt_s, books.NOON)
        ends.append((pot.moisture_pm, pot.layer_theta()))
    assert ends[0][0] == pytest.approx(ends[1][0], abs=3.0)
    assert ends[0][1] == pytest.approx(ends[1][1], abs=0.01)


def test_water_taken_or_put_by_hand_is_met():
    pot = still(start_pm=900.0)
    took = potcare.suck_back(pot, 10.0) + potcare.run_out(pot, 0.3)
    pot._w[-1] += 30.0
    before = pot.water_ml
    out = pot.step(600.0, SATURATED).leachate_ml
    assert took > 0.0 and pot.water_ml == pytest.approx(before - out, abs=1e-6)


def test_a_probe_sees_along_its_blade():
    pot = still(start_pm=1000.0, height_cm=16.0)
    inside = pot.layer_theta()[8 - int(BLADE_CM / 2) : 8 + int(BLADE_CM / 2) + 1]
    assert min(inside) < pot.probe_theta(8.0) < max(inside)
    assert pot.probe_theta(8.0) == pytest.approx(potcare.theta_cc_at(pot, 8.0), abs=0.003)


def test_a_rig_chooses_its_soil_and_says_when_it_cannot():
    data = read_toml(DEFAULT_RIG)
    data["rig"]["soil"] = "richards"
    rig = check_rig(data, "rig")
    world = World(rig, {}, 1)
    assert all(isinstance(c.pot, RichardsPot) for c in world.channels)
    world.advance(86_400.0)
    assert abs(world.balance_error_ml()) < 1e-6
    changed = potcare.like(world.channels[0].pot, random.Random(1), start_pm=500.0)
    assert isinstance(changed, RichardsPot)
    data["pot"][0]["substrate"] = "coir_pellet"
    with pytest.raises(BadInput) as refused:
        check_rig(data, "rig")
    assert 'soil = "richards"' in refused.value.faults[0] and "layers" in refused.value.faults[0]
    with pytest.raises(ValueError, match="swells"):
        PotSpec(soil="richards", substrate="coir_pellet")
