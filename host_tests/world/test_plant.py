"""A plant's life in steps: thirst, wilting, growth, death."""

import pytest
from potreeve_tools.world.air import Air
from potreeve_tools.world.plant import PlantState, leaf_transpiration_kg_m2_s
from potreeve_tools.world.plants import CHERRY_TOMATO, MINT, PLANTS, STRAWBERRY
from potreeve_tools.world.pot import Pot, PotSpec

DAY = Air(23.0, 40.0, 90.0)
NIGHT = Air(19.0, 45.0, 0.0)


def test_thirst_lowers_use_only_beyond_the_allowed_depletion():
    def wants(depletion_mm):
        state = PlantState(MINT, 500.0)
        return state.demand_ml(600.0, DAY, 50.0, depletion_mm, 130.0), state.stress

    full, unstressed = wants(0.0)
    easy, still = wants(15.0)
    hard, stressed = wants(40.0)
    none, gone = wants(60.0)
    assert unstressed == still == 1.0 and full == easy
    assert 0.0 < stressed < 1.0 and hard == pytest.approx(full * stressed)
    assert gone == 0.0 and 0.0 < none < 0.1 * full  # a wilted plant still leaks a little


def test_strawberry_feels_thirst_before_mint():
    def stress(plant):
        state = PlantState(plant, 300.0)
        state.demand_ml(600.0, DAY, 50.0, 20.0, 130.0)
        return state.stress

    assert stress(STRAWBERRY) < stress(MINT)


def test_a_thirstier_plant_feels_the_same_depletion_sooner():
    """FAO-56 p. 162: p falls with the rate of use; here the running mean of a day."""

    def stress(leaf_area_cm2):
        state = PlantState(MINT, leaf_area_cm2)
        for _ in range(48):
            state.demand_ml(3600.0, DAY, 50.0, 0.0, 130.0)
        state.demand_ml(3600.0, DAY, 50.0, 22.0, 130.0)
        return state.stress

    assert stress(100.0) == 1.0
    assert stress(1200.0) < 0.75


def test_dry_air_closes_stomata():
    """Three times the deficit in the same light takes less than twice the water."""
    moist, dry = (leaf_transpiration_kg_m2_s(Air(25.0, rh, 150.0)) for rh in (70.0, 10.0))
    assert 1.0 < dry / moist < 2.0


def test_use_follows_leaf_area_and_crop_coefficient():
    small, large = (PlantState(MINT, area).potential_ml_s(DAY) for area in (200.0, 400.0))
    assert large == pytest.approx(2.0 * small)
    assert PlantState(STRAWBERRY, 200.0).potential_ml_s(DAY) < small


def test_night_use_is_small_but_not_nothing():
    assert 0.02 < leaf_transpiration_kg_m2_s(NIGHT) / leaf_transpiration_kg_m2_s(DAY) < 0.25


def test_saturated_dark_air_takes_nothing():
    assert leaf_transpiration_kg_m2_s(Air(20.0, 100.0, 0.0)) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("plant", PLANTS.values(), ids=PLANTS)
def test_growth_is_logistic_and_stops_at_its_size(plant):
    state = PlantState(plant, 100.0)
    sizes = [state.leaf_area_cm2]
    for _ in range(365):
        for _ in range(24):
            state.live(3600.0, Air(22.0, 45.0, 45.0), drowned=False)
        sizes.append(state.leaf_area_cm2)
    assert sizes == sorted(sizes)
    assert sizes[1] / sizes[0] == pytest.approx(1.0 + plant.growth_per_d.value, rel=0.02)
    assert sizes[-1] == pytest.approx(plant.leaf_area_max_cm2.value, rel=0.02)


def test_stress_and_darkness_slow_growth():
    def grown(stress, air):
        state = PlantState(CHERRY_TOMATO, 500.0)
        state.stress = stress
        for _ in range(48):
            state.live(3600.0, air, drowned=False)
        return state.leaf_area_cm2

    assert grown(1.0, DAY) > grown(0.5, DAY) > 500.0
    assert grown(1.0, NIGHT) == 500.0


def test_wilting_is_forgiven_in_time_and_kills_in_the_end():
    state = PlantState(CHERRY_TOMATO, 500.0)
    state.stress = 0.0
    for _ in range(40):
        state.live(3600.0, DAY, drowned=False)
    assert state.wilted and state.alive and state.wilted_h == 40.0 and state.leaf_area_cm2 < 500.0
    state.stress = 1.0
    for _ in range(40):
        state.live(3600.0, DAY, drowned=False)
    assert not state.wilted and state.wilted_h == 0.0
    state.stress = 0.0
    for _ in range(72):
        state.live(3600.0, DAY, drowned=False)
    assert not state.alive and state.reason == "dried out"
    assert state.potential_ml_s(DAY) == 0.0


def test_a_dead_plant_stays_dead_and_drinks_nothing():
    pot = Pot(PotSpec(start_pm=1000.0))
    pot.plant._die("test")
    flux = pot.step(3600.0, DAY)
    assert flux.transpired_ml == 0.0 and flux.evaporated_ml > 0.0 and not pot.alive


def test_growing_fourfold_at_once():
    pot = Pot(PotSpec(leaf_area_cm2=400.0))
    before = pot.plant.potential_ml_s(DAY)
    pot.grow(4.0)
    assert pot.leaf_area_cm2 == 1600.0
    assert pot.plant.potential_ml_s(DAY) == pytest.approx(4.0 * before)
    pot.step(3600.0, DAY)
    assert pot.leaf_area_cm2 == pytest.approx(1600.0)


def test_an_unwatered_pot_wilts_then_dies():
    pot = Pot(PotSpec(leaf_area_cm2=600.0))
    wilted_on = died_on = None
    for hour in range(24 * 60):
        pot.step(3600.0, DAY if hour % 24 < 10 else NIGHT)
        if wilted_on is None and pot.plant.wilted:
            wilted_on = hour / 24
        if not pot.alive:
            died_on = hour / 24
            break
    assert 2.0 < wilted_on < died_on
    assert died_on - wilted_on == pytest.approx(4.0, abs=1.5)  # mint: 96 h wilted


@pytest.mark.parametrize("plant", PLANTS.values(), ids=PLANTS)
def test_every_number_of_a_plant_names_its_source(plant):
    for name, figure in vars(plant).items():
        if name != "name":
            assert figure.mark in {"V", "V-abs", "V-2nd", "D", "M", "ours"} and len(figure.source) > 5, name
