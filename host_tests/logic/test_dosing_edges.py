"""Doses at the edges of what counts as taken up, as proven, as finished."""

import pytest
from potreeve.logic import dosing

POT = {
    "holds_ml": 1000,
    "fill_pm": 900,
    "dose_ml": 1000,
    "pump_ul_s": 4000,
    "pump_spread_pm": 200,
    "pump_cal_mv": 0,
    "prime_ms": 500,
    "tube_full_h": 0,
    "pulse_max_ms": 8000,
    "wilting_pm": 250,
    "depletion_pm": 400,
}
DOSE = (1000000, 1200000)


@pytest.mark.parametrize(
    ("rise", "left_ul"),
    [
        (1000, 50000),
        (850, 50000),
        (849, 1200000 * 151 // 1000),
        (0, 1200000),
        (-50, 1200000),
        # Less than any dose must show to be one that stayed, and the least that shows.
        (11, 1200000),
        (12, 1200000 * 988 // 1000),
    ],
)
def test_a_dose_is_taken_up_from_85_percent_of_the_usual_rise_on(rise, left_ul):
    assert dosing.leachate_ul(rise, 1000, DOSE, POT) == left_ul


@pytest.mark.parametrize(
    ("gain_pm", "rise", "taken"),
    [(600, 553, True), (600, 552, False), (650, 553, True), (651, 553, False), (652, 555, True), (652, 554, False)],
)
def test_what_is_usual_is_never_less_than_65_percent(gain_pm, rise, taken):
    assert (dosing.leachate_ul(rise, gain_pm, DOSE, POT) == 50000) is taken


def test_a_dose_too_small_to_tell_is_all_in_the_tray():
    assert dosing.leachate_ul(5, 1000, (999, 1500), POT) == 1500
    assert dosing.leachate_ul(5, 1000, (1000, 1500), POT) == 50


@pytest.mark.parametrize(
    ("gain", "rise", "learned"),
    [
        (500, 0, 500),
        (501, 0, 500),
        (503, 0, 502),
        (504, 0, 503),
        (2000, 9000, 2000),
        (1999, 9000, 1999),
        (1000, 1000, 1000),
        (1000, 2000, 1250),
        (1000, 1, 875),
    ],
)
def test_the_gain_moves_a_quarter_and_stays_within_its_bounds(gain, rise, learned):
    assert dosing.learn_gain(gain, rise, 1000000, POT) == learned


def test_a_dose_too_small_to_tell_teaches_nothing():
    assert dosing.learn_gain(1234, 500, 999, POT) == 1234
    assert dosing.learn_gain(1000, 2, 1000, POT) == 1250


@pytest.mark.parametrize(
    ("moisture", "gain", "ul"),
    [(900, 1000, 0), (901, 1000, 0), (899, 1000, 1000), (899, 2000, 1000), (-500, 1000, 1000000), (0, 500, 1000000)],
)
def test_the_deficit_ends_at_the_fill_mark_and_at_one_dose(moisture, gain, ul):
    assert dosing.deficit_ul(moisture, gain, POT) == ul


@pytest.mark.parametrize(("idle_s", "ms"), [(1799, 1000), (1800, 1500), (0, 1000)])
def test_a_tube_left_for_half_an_hour_is_filled_again(idle_s, ms):
    assert dosing.pulse_ms(4000, idle_s, POT) == ms
    assert dosing.likely_ul(ms, idle_s, POT) == 4000


def test_no_pulse_is_longer_than_its_limit_and_none_is_negative():
    assert dosing.pulse_ms(10**6, 9999, POT) == 8000
    assert dosing.pulse_ms(0, 0, POT) == 0
    assert dosing.likely_ul(500, 1800, POT) == 0
    assert dosing.likely_ul(499, 1800, POT) == 0
    assert dosing.likely_ul(501, 1800, POT) == 4


@pytest.mark.parametrize(
    ("rest_mv", "flow"), [(0, 4000), (3700, 4000), (2220, 1440), (2000, 1440), (4440, 5760), (5000, 5760), (4070, 4840)]
)
def test_the_likely_flow_goes_by_the_square_of_the_voltage_within_bounds(rest_mv, flow):
    assert dosing.flow_ul_s({**POT, "pump_cal_mv": 3700}, rest_mv) == flow


@pytest.mark.parametrize(("rest_mv", "most"), [(3700, 4800), (3699, 4800), (0, 4800), (3701, 4834)])
def test_a_fuller_battery_counts_against_us_an_emptier_one_not_for_us(rest_mv, most):
    assert dosing.most_ul(1000, {**POT, "pump_cal_mv": 3700}, rest_mv) == most


@pytest.mark.parametrize(
    ("dose_ul", "gain", "need"),
    [(119999, 1000, 12), (130000, 1000, 13), (1000, 1000, 12), (129999, 1000, 12), (130000, 2000, 26)],
)
def test_a_dose_is_proven_by_a_tenth_of_its_rise_and_more_than_noise(dose_ul, gain, need):
    assert dosing.proof_pm(dose_ul, gain, POT) == need
