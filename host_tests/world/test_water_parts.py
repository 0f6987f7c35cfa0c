"""Reservoir, tray, tube and pump: nothing lost, physics in the right direction."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from potreeve.logic import dosing
from potreeve_tools.world.water import PUMP_KINDS, Line, Reservoir, Tray, evaporation_mm_day


def tub(level_mm=200.0, base_mm=-320.0):
    return Reservoir(400, 220, base_mm, level_mm, 10, True)


def line(**changes):
    spec = dict(
        kind="centrifugal",
        pump_ml_s=4.0,
        nominal_mv=3700,
        pump_ma=150,
        start_times=2.5,
        lift_max_mm=900,
        tube_mm=900,
        tube_id_mm=4.0,
        outlet_mm=130.0,
        valve=True,
        air_hole=True,
        tolerance=0.0,
    )
    one = Line(random.Random(1), **{**spec, **changes})
    one.lift_ref_mm = one.outlet_mm - tub().surface_mm
    return one


def test_evaporation_lies_in_the_screening_range():
    """20 degC 50 % -> 1.40; 20/30 -> 1.96; 25/40 -> 2.28; 30/30 -> 3.56 mm/day from the rule's own arithmetic."""
    for temp_c, rh, mm in ((20, 50, 1.40), (20, 30, 1.96), (25, 40, 2.28), (30, 30, 3.56)):
        assert evaporation_mm_day(temp_c, rh) == pytest.approx(mm, abs=0.01)
    assert evaporation_mm_day(20, 100) == 0.0


@given(st.lists(st.floats(0, 3000), max_size=30))
def test_tray_keeps_or_spills_every_drop(portions):
    tray = Tray(1000, 15, 300)
    spilled = 0.0
    for ml in portions:
        spilled += tray.put(ml)
        assert tray.water_ml <= tray.capacity_ml
    assert tray.water_ml + spilled == pytest.approx(sum(portions), abs=1e-6)
    assert tray.spilled_ml == pytest.approx(spilled)
    assert (tray.floods > 0) == (spilled > 0)


def test_one_flood_is_one_flood():
    tray = Tray(1000, 10)
    for _ in range(5):
        tray.put(600)
    assert tray.floods == 1
    tray.take(500)
    tray.rest(3000)
    tray.put(700)
    assert tray.floods == 1
    tray.rest(3600)
    tray.put(1)
    assert tray.floods == 2 and tray.peak_ml == tray.capacity_ml


def test_tray_dries_out_at_last():
    tray = Tray(1000, 10, water_ml=100)
    total = sum(tray.evaporate(0.05) for _ in range(2000))
    assert total == pytest.approx(100 - tray.water_ml) and tray.water_ml < 1


@given(st.lists(st.tuples(st.floats(0, 60), st.floats(0, 4300), st.floats(0, 5000)), max_size=20), st.booleans())
def test_reservoir_tube_and_outlet_keep_every_drop(runs, valve):
    source, one, out = tub(), line(valve=valve), 0.0
    before = source.water_ml
    for seconds, mv, idle_s in runs:
        out += one.run(seconds, mv, source)
        source.put(one.idle(idle_s))
        assert 0 <= one.water_ml <= one.tube_ml + 1e-9
    assert source.water_ml + one.water_ml + out == pytest.approx(before)


def test_the_first_pulse_fills_the_tube():
    source, one = tub(), line()
    first, second = one.run(5, 3700, source), one.run(5, 3700, source)
    assert first == pytest.approx(second - one.tube_ml, abs=0.3)
    assert second == pytest.approx(20.0, rel=0.02)


def test_without_a_valve_the_tube_runs_back():
    source, one = tub(), line(valve=False)
    one.run(10, 3700, source)
    source.put(one.idle(600))
    assert one.water_ml == 0.0
    kept = line()
    kept.run(10, 3700, source)
    assert kept.idle(600) < 0.01 * kept.tube_ml


def test_flow_follows_voltage_lift_and_kink():
    one = line()
    surface = tub().surface_mm
    at = one.rate_ml_s(3700, surface)
    assert at == pytest.approx(4.0)
    assert one.rate_ml_s(4200, surface) > at > one.rate_ml_s(3000, surface) > one.rate_ml_s(2000, surface)
    assert one.rate_ml_s(1600, surface) == 0.0  # the motor does not start below about 1.7 V
    assert one.rate_ml_s(3700, surface - 100) < at
    assert one.rate_ml_s(3700, -2000) == 0.0
    one.left = 0.25
    assert one.rate_ml_s(3700, surface) == pytest.approx(1.0)


def test_flow_against_voltage_of_a_published_pump():
    """A 3 V pump: about 12 ml/s at 3 V, 25 ml/s at 5 V (science-education technical note TIL 3172)."""
    one = line(pump_ml_s=12.0, nominal_mv=3000, lift_max_mm=1e9)
    assert one.rate_ml_s(5000, tub().surface_mm) == pytest.approx(25.0, rel=0.02)
    # What caps count for it on a battery that sank from 5 V to 3 V.
    pot = {"pump_ul_s": 25000, "pump_spread_pm": 0, "pump_cal_mv": 5000}
    assert 12000 <= dosing.most_ul(1000, pot, 3000) < 25000


@given(
    kind=st.sampled_from(PUMP_KINDS),
    cal_mv=st.integers(2400, 6000),
    share=st.floats(0.3, 1.0),
    lift_max_mm=st.integers(500, 5000),
    sunk_mm=st.floats(0, 300),
)
def test_no_pump_on_a_sunken_battery_brings_more_than_caps_count(kind, cal_mv, share, lift_max_mm, sunk_mm):
    """By the battery's voltage at rest: under the pump it lies lower still, and so does the tub's surface in time."""
    one = line(kind=kind, nominal_mv=cal_mv, lift_max_mm=lift_max_mm)
    surface_mm = tub().surface_mm
    cal_ul_s = round(1000 * one.rate_ml_s(cal_mv, surface_mm))
    pot = {"pump_ul_s": cal_ul_s, "pump_spread_pm": 0, "pump_cal_mv": cal_mv}
    rest_mv = round(share * cal_mv)
    true_ul = 1000 * one.rate_ml_s(rest_mv, surface_mm - sunk_mm)
    assert true_ul <= dosing.most_ul(1000, pot, rest_mv) + 1


def test_an_empty_tub_gives_air():
    source, one = tub(level_mm=11), line()
    total = one.run(60, 3700, source) + one.run(60, 3700, source)
    assert total + one.water_ml == pytest.approx(40.0) and source.usable_ml == 0.0
    assert one.dry_s > 60 and source.water_ml == pytest.approx(400.0)


def test_siphon_needs_height_water_and_no_air():
    high = tub(base_mm=0)  # surface at 200, outlet at 130
    one = line(air_hole=False)
    assert not one.siphons(high)  # the tube is still empty
    one.run(10, 3700, high)
    assert one.siphons(high)
    assert not one.siphons(tub())
    one.air_hole = True
    assert not one.siphons(high)
    screw = line(air_hole=False, kind="peristaltic")
    screw.run(10, 3700, high)
    assert not screw.siphons(high)


def test_a_siphon_runs_until_the_levels_meet():
    high, one = tub(base_mm=0), line(air_hole=False)
    one.run(10, 3700, high)
    surface = high.surface_mm
    total = sum(one.siphon(20, high) for _ in range(2000))
    assert high.surface_mm == pytest.approx(130.5, abs=0.6)
    assert total == pytest.approx((surface - high.surface_mm) * 40.0)


def test_siphon_rate_is_the_laminar_tubes():
    """4 mm bore: 1 ml/s loses 16 mm of head per metre (computed from 128 mu L Q / pi d^4, water at 20 degC)."""
    one = line(tube_mm=1000)
    assert 1 / one.siphon_ml_s_mm == pytest.approx(16.2, abs=0.3)
