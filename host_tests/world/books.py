"""The books of a pot's water, the same for both soil models."""

import pytest
from hypothesis import strategies as st
from potreeve_tools.world.air import Air
from potreeve_tools.world.potspec import PotSpec

NOON = Air(24.0, 40.0, 200.0)


def specs(**more):
    """Pots of any shape that a sill takes; more: further fields of PotSpec, each a strategy."""
    return st.builds(
        PotSpec,
        plant=st.sampled_from(["mint", "strawberry", "cherry_tomato"]),
        diameter_cm=st.floats(5.0, 25.0),
        height_cm=st.floats(4.0, 25.0),
        leaf_area_cm2=st.floats(1.0, 3000.0),
        start_pm=st.floats(0.0, 1100.0),
        drainage_hole=st.booleans(),
        **more,
    )


def events(most):
    """Up to `most` things that happen to a pot."""
    return st.lists(
        st.tuples(
            st.floats(0.0, 400.0),  # poured, ml
            st.sampled_from([0.4, 5.0, 60.0, 900.0, 3600.0, 20000.0]),  # s
            st.sampled_from([0.0, 0.0, 3.0, 40.0]),  # mm of water around the foot
        ),
        min_size=1,
        max_size=most,
    )


def balance(pot, happenings, least_ml, most):
    """Live through `happenings`; every millilitre is accounted for, and no layer holds less than least_ml, or more than
    `most` times what it can."""
    tray_ml = 300.0
    seen = 0.0
    for poured, dt_s, standing_mm in happenings:
        seen += pot.add_water(poured)
        flux = pot.step(dt_s, NOON, standing_mm, tray_ml)
        seen += flux.leachate_ml
        tray_ml -= flux.uptake_ml
        assert tray_ml >= -1e-9
        assert min(flux) >= 0.0
        assert min(pot._w) >= least_ml
        assert max(pot._w) <= most * pot._full_ml + 1e-6
    came = pot.initial_ml + pot.given_ml + pot.uptake_ml
    went = pot.transpired_ml + pot.evaporated_ml + pot.leachate_ml
    assert came - went == pytest.approx(pot.water_ml, abs=1e-6)
    assert seen == pytest.approx(pot.leachate_ml, abs=1e-6)
