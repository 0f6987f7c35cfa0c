"""Rest states of a pot of substrate."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from potreeve_tools.world.column import Column
from potreeve_tools.world.substrate import Retention
from potreeve_tools.world.substrates import PEAT_MIX, SUBSTRATES

COLUMN = Column(PEAT_MIX.retention, 12.0, 4)


@given(st.floats(0.07, 0.80))
@settings(max_examples=200)
def test_rest_keeps_the_mean_and_is_wetter_below(mean):
    layers = COLUMN.at_rest(mean)
    assert sum(layers) / 4 == pytest.approx(mean, abs=2e-3)
    assert all(below >= above - 1e-12 for above, below in zip(layers, layers[1:]))


def test_rest_at_container_capacity_is_container_capacity():
    mean = sum(COLUMN.capacity) / 4
    assert COLUMN.at_rest(mean) == pytest.approx(COLUMN.capacity, abs=2e-3)


def test_rest_beyond_both_ends_stays_at_the_ends():
    assert max(COLUMN.at_rest(0.0)) < 0.07
    assert min(COLUMN.at_rest(0.95)) == pytest.approx(0.80)


def test_water_level_fills_from_below():
    curve = PEAT_MIX.retention
    means = [COLUMN.mean_with_level(level, curve) for level in (0.0, 3.0, 6.0, 12.0, 40.0)]
    assert means == sorted(means)
    assert means[0] == pytest.approx(sum(COLUMN.capacity) / 4)
    assert means[-1] == pytest.approx(0.80)


@pytest.mark.parametrize("mix", SUBSTRATES.values(), ids=SUBSTRATES)
def test_every_number_of_a_mix_names_its_source(mix):
    for name, figure in vars(mix).items():
        if name != "name":
            assert figure.mark in {"V", "V-abs", "V-2nd", "D", "M", "ours"} and len(figure.source) > 5, name
    assert mix.theta_r.value < mix.theta_repel_full.value <= mix.theta_repel.value or mix.name.startswith("coir")
    assert mix.theta_r.value < mix.theta_wilting.value < mix.theta_s.value


def test_suction_of_an_impossible_content_is_refused():
    curve = Retention(0.06, 0.80, 0.198, 1.46)
    assert curve.suction_cm(0.80) == 0.0
    assert curve.theta(-3.0) == 0.80
    with pytest.raises(ValueError, match="residual"):
        curve.suction_cm(0.06)
