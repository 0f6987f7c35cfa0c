"""Water in a pot: nothing lost, nothing made, and where it goes."""

import random

import books
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from potreeve_tools.world.air import Air
from potreeve_tools.world.pot import Pot, PotSpec

EVENING = Air(20.0, 45.0, 0.0)

substrates = st.sampled_from(["peat_mix", "coir", "coir_pellet", "bark_mix"])


@given(books.specs(substrate=substrates, layers=st.integers(3, 5)), books.events(30))
@settings(max_examples=150, deadline=None)
def test_every_millilitre_is_accounted_for(spec, happenings):
    books.balance(Pot(spec), happenings, -1e-9, 1.0)


def drained(pot, hours=24):
    for _ in range(hours * 12):
        pot.step(300.0, Air(20.0, 100.0, 0.0))  # saturated air: nothing evaporates
    return pot


@pytest.mark.parametrize("substrate", ["peat_mix", "coir", "bark_mix"])
@pytest.mark.parametrize("height_cm", [6.0, 11.0, 18.0])
def test_soaked_and_drained_is_container_capacity(substrate, height_cm):
    pot = Pot(PotSpec(substrate=substrate, height_cm=height_cm, start_pm=900.0, leaf_area_cm2=0.1))
    for _ in range(3):
        pot.add_water(pot.container_capacity_ml)
        drained(pot, 1)
    drained(pot)
    assert pot.moisture_pm == pytest.approx(1000.0, abs=5.0)
    assert pot.layer_theta() == pytest.approx(pot.column.capacity, abs=0.01)
    assert pot.theta == pytest.approx(pot.retention.container_capacity(height_cm), abs=0.004)


def test_drained_within_a_quarter_of_an_hour():
    """Purdue extension: leave 10-15 min for water to drain completely (here: 90 % of it)."""
    pot = Pot(PotSpec(start_pm=1000.0))
    before = pot.water_ml
    pot.add_water(150.0)
    for _ in range(15):
        pot.step(60.0, EVENING)
    assert pot.leachate_ml > 0.9 * (before + 150.0 - pot.container_capacity_ml)
    assert pot.moisture_pm < 1020.0


@given(st.floats(300.0, 1000.0), st.floats(5.0, 300.0), st.floats(1.0, 200.0))
@settings(max_examples=60, deadline=None)
def test_more_water_never_leaves_less_in_the_pot_nor_less_in_the_tray(start_pm, ml, more):
    little, much = (Pot(PotSpec(start_pm=start_pm)) for _ in range(2))
    little.add_water(ml)
    much.add_water(ml + more)
    for _ in range(12):
        little.step(300.0, EVENING)
        much.step(300.0, EVENING)
    assert much.water_ml >= little.water_ml - 1e-6
    assert much.leachate_ml >= little.leachate_ml - 1e-6


def test_warmer_drier_or_brighter_air_takes_more():
    def lost(air):
        pot = Pot(PotSpec())
        pot.step(3600.0, air)
        return pot.transpired_ml + pot.evaporated_ml

    assert lost(Air(25.0, 40.0, 100.0)) > lost(Air(20.0, 40.0, 100.0))
    assert lost(Air(20.0, 30.0, 100.0)) > lost(Air(20.0, 60.0, 100.0))
    assert lost(Air(20.0, 40.0, 200.0)) > lost(Air(20.0, 40.0, 50.0))


def test_bare_surface_dries_in_two_stages():
    """FAO-56 Eq 74: full rate up to REW (here 45 % of TEW, middle of Table 19), then falling.

    Only the top layer's own water counts, so water rising from below is kept out
    by looking at the rate against the top layer's depletion.
    """
    pot = Pot(PotSpec(start_pm=1000.0, leaf_area_cm2=0.01))
    rates = []
    while pot.moisture_pm > 150.0 and len(rates) < 4000:
        lost = pot.step(3600.0, EVENING).evaporated_ml
        depleted = (pot.column.capacity[0] - pot.layer_theta()[0]) / (pot.column.capacity[0] - pot.theta_air_dry)
        rates.append((depleted, lost))
    full = rates[0][1]
    assert all(lost == pytest.approx(full) for depleted, lost in rates if depleted < 0.43)
    late = [lost for depleted, lost in rates if 0.70 < depleted < 0.75]
    assert late and max(late) < 0.6 * full and min(late) > 0.4 * full


def test_short_steps_and_long_steps_agree():
    """An hour in one step and in sixty: what stays in the pot differs by less than 1 %."""
    one, many = Pot(PotSpec(start_pm=700.0)), Pot(PotSpec(start_pm=700.0))
    for pot in (one, many):
        pot.add_water(90.0)
    for _ in range(12):
        one.step(3600.0, books.NOON)
        for _ in range(60):
            many.step(60.0, books.NOON)
    assert one.water_ml == pytest.approx(many.water_ml, rel=0.01)
    assert one.transpired_ml == pytest.approx(many.transpired_ml, rel=0.03)


def test_a_dose_takes_minutes_to_reach_the_probe():
    pot = Pot(PotSpec(start_pm=600.0))
    before = pot.probe_theta(3.0, 8.0)
    pot.add_water(60.0)
    rise_at = {}
    for minute in range(1, 61):
        pot.step(60.0, EVENING)
        rise_at[minute] = pot.probe_theta(3.0, 8.0) - before
    mean_rise = 60.0 / pot._volume_ml
    assert rise_at[1] < 0.15 * mean_rise
    assert rise_at[15] > 0.3 * mean_rise
    # More than half by then: how fast follows from bark's published conductivity (wetting.py, EVEN_CM2_D).
    assert rise_at[60] > 0.5 * mean_rise
    assert [rise_at[m] for m in (1, 5, 15, 30, 60)] == sorted(rise_at[m] for m in (1, 5, 15, 30, 60))


def test_probe_sees_the_layer_it_is_in():
    pot = drained(Pot(PotSpec(start_pm=1000.0, height_cm=12.0, leaf_area_cm2=0.1)))
    top, middle, bottom = pot.layer_theta()
    assert pot.probe_theta(1.0) == top
    assert pot.probe_theta(6.0) == middle
    assert pot.probe_theta(2.0, 6.0) == pytest.approx((top + middle) / 2.0)
    assert pot.probe_theta(11.9) == bottom
    assert pot.probe_theta(40.0) == 0.0


@given(st.floats(200.0, 1000.0), st.floats(1.0, 400.0), st.floats(0.0, 6.0))
@settings(max_examples=60, deadline=None)
def test_watering_never_makes_a_probe_read_drier(start_pm, ml, from_cm):
    pot, plain = Pot(PotSpec(start_pm=start_pm)), Pot(PotSpec(start_pm=start_pm))
    pot.add_water(ml)
    for _ in range(20):
        assert pot.probe_theta(from_cm, from_cm + 4.0) >= plain.probe_theta(from_cm, from_cm + 4.0) - 1e-4
        pot.step(60.0, EVENING)
        plain.step(60.0, EVENING)


# --- dry substrate ------------------------------------------------------------


def test_bone_dry_peat_sheds_water_while_the_probe_reads_dry():
    """Nearly all runs to the tray and the probe hardly moves (the flood in the making)."""
    pot = Pot(PotSpec(start_pm=40.0))
    before = pot.probe_theta(3.0, 8.0)
    out = 0.0
    for _ in range(3):
        out += pot.add_water(50.0)
        for _ in range(6):
            out += pot.step(300.0, EVENING).leachate_ml
    assert out > 0.85 * 150.0
    assert pot.probe_theta(3.0, 8.0) - before < 0.02


def test_dry_peat_lost_capacity():
    """Bartley et al. 2023, HortScience 58(1):79-83: peat's content after surface watering fell by 21.5 vol-%.

    Right after re-watering most of that must be missing; wet for ten days, it has come back.
    """
    pot = Pot(PotSpec(start_pm=20.0, leaf_area_cm2=0.1))
    for _ in range(60):
        pot.add_water(100.0)
        pot.step(600.0, EVENING)
    missing = pot.theta_cc - drained(pot, 1).theta
    assert 0.12 < missing < 0.23
    for _ in range(10):
        pot.add_water(200.0)
        drained(pot)
    pot.add_water(400.0)
    assert pot.theta_cc - drained(pot).theta < 0.02


def test_coir_stays_wettable():
    """Coir lost little capacity on drying (Schulker et al. 2021, Agronomy 11(7):1355)."""
    caught = {}
    for substrate in ("peat_mix", "coir"):
        pot = Pot(PotSpec(substrate=substrate, start_pm=10.0))
        caught[substrate] = 100.0 - pot.add_water(100.0)
    assert caught["coir"] > 3.0 * caught["peat_mix"]


def test_peat_that_was_kept_moist_sheds_nothing():
    pot = Pot(PotSpec(start_pm=600.0))
    assert pot.add_water(40.0) == 0.0


def test_repellency_grows_as_a_pot_dries_out():
    pot = Pot(PotSpec(start_pm=900.0, leaf_area_cm2=600.0))
    for _ in range(24 * 60):
        pot.step(3600.0, Air(24.0, 30.0, 60.0))
    assert not pot.alive and pot.plant.reason == "dried out"
    assert pot.add_water(100.0) > 20.0


# --- options ------------------------------------------------------------------


def test_three_small_doses_leach_no_more_than_one_large():
    """Cyclic watering leaches less (Fare, Gilliam, Keever 1994: -34 %, abstract); the sign only."""

    def leached(parts, start_pm):
        pot = Pot(PotSpec(start_pm=start_pm))
        for _ in range(parts):
            pot.add_water(pot.area_cm2 * 1.3 / parts)
            for _ in range(60):
                pot.step(60.0, EVENING)
        for _ in range((3 - parts) * 60):
            pot.step(60.0, EVENING)
        return pot.leachate_ml

    for start_pm in (800.0, 850.0, 900.0):
        assert leached(3, start_pm) < leached(1, start_pm)


def test_without_a_hole_water_stands_and_drowns_the_roots():
    pot = Pot(PotSpec(plant="strawberry", drainage_hole=False, start_pm=900.0))
    spilled = pot.add_water(500.0)
    assert spilled > 0.0  # over the rim
    assert pot.water_ml == pytest.approx(pot.initial_ml + 500.0 - spilled)
    for _ in range(24 * 4):
        assert pot.step(3600.0, books.NOON).leachate_ml == 0.0
    assert pot.waterlogged and not pot.alive and pot.plant.reason == "roots drowned"


def test_a_wet_tray_is_drawn_up_and_never_more_than_it_holds():
    pot = Pot(PotSpec(start_pm=500.0))
    uptake = sum(pot.step(1800.0, EVENING, standing_mm=5.0, tray_ml=1e9).uptake_ml for _ in range(96))
    assert uptake > 0.5 * pot.holds_ml * 0.5
    assert pot.moisture_pm < 1030.0  # 5 mm of water lifts rest only a little above container capacity
    poor = Pot(PotSpec(start_pm=500.0))
    left = 20.0
    for _ in range(96):
        left -= poor.step(1800.0, EVENING, standing_mm=5.0, tray_ml=left).uptake_ml
    assert left == pytest.approx(0.0, abs=1e-9)
    assert poor.uptake_ml == pytest.approx(20.0)


def test_standing_deep_in_the_tray_keeps_the_roots_short_of_air():
    pot = Pot(PotSpec(start_pm=1000.0))
    for _ in range(48):
        pot.step(3600.0, EVENING, standing_mm=40.0)
    assert pot.waterlogged and pot.plant.wet_h > 24.0


def test_a_pellet_swells_once():
    pot = Pot(PotSpec(substrate="coir_pellet", diameter_cm=6.0, height_cm=6.0, leaf_area_cm2=5.0, start_pm=50.0))
    small = pot.container_capacity_ml
    for _ in range(10):
        pot.add_water(15.0)
        pot.step(1800.0, EVENING)
    assert pot.container_capacity_ml == pytest.approx(4.0 * small, rel=0.02)
    grown = pot.swollen
    for _ in range(24 * 20):
        pot.step(3600.0, books.NOON)
    assert pot.swollen >= grown


def test_refill_and_wilting_points_lie_in_order():
    for plant in ("mint", "strawberry", "cherry_tomato"):
        pot = Pot(PotSpec(plant=plant))
        assert 0.0 < pot.wilting_pm < pot.refill_pm < 1000.0
        available = 1000.0 - pot.wilting_pm
        assert 1000.0 - pot.refill_pm == pytest.approx(pot.allowed_depletion * available)


# --- sameness -----------------------------------------------------------------


def run(seed):
    pot = Pot(PotSpec(), random.Random(seed))
    for hour in range(200):
        pot.step(3600.0, books.NOON if hour % 24 < 9 else EVENING)
        if hour % 40 == 0:
            pot.add_water(100.0)
    return pot.layer_theta(), pot.transpired_ml, pot.leachate_ml


def test_same_seed_same_run_other_seed_other_pot():
    assert run(3) == run(3)
    assert run(3) != run(4)


@pytest.mark.parametrize(
    "wrong, named",
    [
        ({"plant": "fern"}, "plant 'fern' is unknown"),
        ({"substrate": "clay"}, "substrate 'clay' is unknown"),
        ({"layers": 2}, "layers = 2"),
        ({"height_cm": 0.0}, "height_cm = 0.0"),
    ],
)
def test_wrong_specs_are_refused_by_name(wrong, named):
    with pytest.raises(ValueError, match=named):
        PotSpec(**wrong)


def test_negative_water_is_refused_and_no_time_changes_nothing():
    pot = Pot(PotSpec())
    with pytest.raises(ValueError, match="negative"):
        pot.add_water(-1.0)
    before = pot.layer_theta()
    assert pot.step(0.0, books.NOON) == (0.0, 0.0, 0.0, 0.0)
    assert pot.layer_theta() == before


def test_a_taller_pot_takes_longer_to_even_out():
    """Diffusion: the time goes with the square of the height (bark's published conductivity, wetting.py)."""
    shares = []
    for height_cm in (8.0, 16.0):
        pot = Pot(PotSpec(start_pm=700.0, height_cm=height_cm))
        pot._w[0] += 0.05 * pot._layer_ml
        before = pot.layer_theta()[-1]
        pot.step(1800.0, EVENING)
        shares.append(pot.layer_theta()[-1] - before)
    assert shares[0] > 2.0 * shares[1] > 0.0
