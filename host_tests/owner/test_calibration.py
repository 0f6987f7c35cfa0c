"""owner.calibration: what must hold whatever was measured, and cases worked out by hand."""

import calibration_cases
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from potreeve.logic import dosing, moisture
from potreeve.logic import settings as settings_logic
from potreeve_tools.owner import calibration

counts = st.integers(656, 64879)


@pytest.mark.parametrize("function, arguments, expected", calibration_cases.CASES)
def test_by_hand(function, arguments, expected):
    assert getattr(calibration, function)(*arguments) == expected


pots = st.tuples(st.integers(300, 8000), st.integers(300, 650)).map(lambda p: (p[0], p[0] * p[1] // 1000))


def data(curve, spread_raw):
    pot = {"name": "mint", "pot_ml": 1200, "holds_ml": 600, "curve": curve, "spread_raw": spread_raw}
    return {"tray_headroom_ml": 1500, "tray_area_cm2": 900, "channels": [pot]}


@settings(max_examples=300, deadline=None)
@given(
    air=st.tuples(counts, st.integers(1, 600), st.integers(-500, 500)),
    wet=st.tuples(counts, st.integers(1, 600), st.integers(-500, 500)),
    pot=pots,
)
def test_an_accepted_curve_passes_the_check_and_never_reads_too_dry(air, wet, pot):
    air_at_pm, doubt_pm = calibration.air_pm(*pot)
    fault, measured = calibration.ends(air, wet, air_at_pm)
    if fault:
        return
    curve = calibration.curve(measured)
    assert settings_logic.check(data(curve, max(air[1], wet[1])))[1] == []
    assert doubt_pm > 0 and 2 <= len(curve) <= 6
    # At the wet point as it was read, the pot counts as soaked or more; air lies below any substrate.
    assert moisture.to_pm(wet[0], curve) >= 1000
    assert moisture.to_pm(air[0], curve) == max(air_at_pm, moisture.LOWEST_PM) < 0


@settings(max_examples=300, deadline=None)
@given(dry_v=st.floats(1.8, 3.2), ratio=st.floats(1.3, 3.0), pot=pots, theta=st.floats(0.1, 0.6))
def test_the_boards_points_follow_the_law_of_a_probe(dry_v, ratio, pot, theta):
    """theta = a / V + b (Hrisko 2020): calibrated at both ends, such a probe is read right in between."""
    air_at_pm, _ = calibration.air_pm(*pot)
    air_raw, wet_raw = round(dry_v / 3.3 * 65535), round(dry_v / ratio / 3.3 * 65535)
    _, measured = calibration.ends((min(64000, air_raw), 1, 0), (wet_raw, 1, 0), air_at_pm)
    (a, a_pm), (b, b_pm) = measured
    curve = calibration.curve(measured)
    for pm in range(200, 1001, 50):
        raw = 1 / (1 / a + (1 / b - 1 / a) * (pm - a_pm) / (b_pm - a_pm))
        assert abs(moisture.to_pm(round(raw), curve) - pm) <= 25, (pm, curve)


def test_open_air_lies_where_published_curves_put_it():
    """Between what the mixing law (-8) and the steepest table (-24 vol-%) give, see the module."""
    for pot_ml, holds_ml in ((1000, 490), (1000, 340), (8000, 3900)):
        at_pm, doubt_pm = calibration.air_pm(pot_ml, holds_ml)
        below_vwc = -at_pm * holds_ml / pot_ml / 1000
        assert 0.08 <= below_vwc <= 0.24 and doubt_pm > 50


def test_a_scale_point_bends_the_curve_and_stays_in_it():
    _, measured = calibration.ends((56000, 60, 0), (30000, 60, 0), -200)
    law = calibration.curve(measured)
    fault, bent = calibration.add_point(measured, 36000, 650)
    assert fault == calibration.FINE and (36000, 650) in calibration.curve(bent)
    assert moisture.to_pm(36000, law) != 650


runs = st.lists(st.tuples(st.integers(500, 30000), st.integers(0, 500000)), min_size=2, max_size=6)


@settings(max_examples=300, deadline=None)
@given(runs=runs, read_ul=st.integers(0, 5000))
@example(runs=[(500, 0), (500, 60), (500, 1857), (3771, 13136), (1068, 5153), (8586, 10030)], read_ul=5000)
def test_an_accepted_pump_counts_as_no_slower_than_any_run_showed(runs, read_ul):
    fault, flow, spread_pm, prime_ms = calibration.pump(runs, None, read_ul)
    if fault:
        return
    pot = {"pump_ul_s": flow, "pump_spread_pm": spread_pm, "pump_cal_mv": 0}
    if not 0 < flow <= 60000:
        return
    for ms, ul in runs:
        assert dosing.most_ul(ms, pot) >= ul
