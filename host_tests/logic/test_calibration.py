"""logic.calibration: what must hold whatever was measured (its vectors are in vectors/)."""

import kit
from hypothesis import given, settings
from hypothesis import strategies as st
from potreeve.logic import calibration, dosing, moisture
from potreeve.logic import settings as settings_logic

counts = st.integers(656, 64879)


@settings(max_examples=300, deadline=None)
@given(
    air=st.tuples(counts, st.integers(1, 600), st.integers(-500, 500)),
    wet=st.tuples(counts, st.integers(1, 600), st.integers(-500, 500)),
)
def test_an_accepted_curve_passes_the_check_and_never_reads_too_dry(air, wet):
    fault, curve, doubt_pm = calibration.curve(air, wet)
    if fault:
        return
    data = kit.make_data(1, {"curve": curve, "spread_raw": max(air[1], wet[1])})
    assert settings_logic.check(data)[1] == []
    assert doubt_pm >= 0
    # At the wet point as it was read, the pot counts as soaked or more.
    assert moisture.to_pm(wet[0], curve) >= 1000
    assert moisture.to_pm(air[0], curve) == 0


runs = st.lists(st.tuples(st.integers(500, 30000), st.integers(0, 500000)), min_size=2, max_size=6)


@settings(max_examples=300, deadline=None)
@given(runs=runs, read_ul=st.integers(0, 5000))
def test_an_accepted_pump_counts_as_no_slower_than_any_run_showed(runs, read_ul):
    fault, flow, spread_pm, prime_ms = calibration.pump(runs, None, read_ul)
    if fault:
        return
    pot = {"pump_ul_s": flow, "pump_spread_pm": spread_pm, "pump_cal_mv": 0}
    if not 0 < flow <= 60000:
        return
    for ms, ul in runs:
        assert dosing.most_ul(ms, pot) >= ul
