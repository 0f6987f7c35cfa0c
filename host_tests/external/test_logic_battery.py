"""State of charge and charge counting against a battery library's cell, published voltages and exact fractions."""

import random
from fractions import Fraction

import pytest
from potreeve.logic import battery, energy
from potreeve_tools.link import settings_meaning

# Open-circuit voltage of the Chen2020 cell (an NMC 21700) against state of charge in %,
# as PyBaMM 26.10.1 gives it; typed here, and compared with it where it is installed.
PYBAMM_CHEN2020 = (
    (100, 4.200),
    (90, 4.097),
    (80, 4.042),
    (70, 3.948),
    (60, 3.841),
    (50, 3.751),
    (40, 3.667),
    (30, 3.581),
    (20, 3.485),
    (10, 3.296),
    (5, 3.109),
    (0, 2.500),
)

# Alkaline: "1.5 full, 1.25 about half, 1.0 nearly empty at light load", a battery FAQ, coarse.
ALKALINE = ((1500, 900, 1000), (1250, 400, 600), (1000, 20, 150))

SETTINGS = {
    "battery_kind": "lithium",
    "battery_cells": 1,
    "battery_mah": 2500,
    "battery_reserve_pm": 80,
    "battery_stop_mv": 3200,
}
BOARD = {
    "active_ua": 37100,
    "sleep_ua": 1310,
    "boot_ms": 333,
    "boot_ua": 41000,
    "pump_ua": 151000,
    "probe_ua": 5200,
    "report_uah": 61,
}


@pytest.mark.parametrize("cells", [1, 2, 3])
@pytest.mark.parametrize(("percent", "volt"), PYBAMM_CHEN2020)
def test_lithium_points_are_those_of_the_cell(percent, volt, cells):
    assert battery.by_voltage_pm(round(volt * 1000) * cells, "lithium", cells) == percent * 10


def test_lithium_against_the_battery_library_itself(monkeypatch):
    """Only where PyBaMM is installed: it takes 0.8 GB, so it is no dependency. Tried with 26.10.1."""
    monkeypatch.setenv("PYBAMM_DISABLE_TELEMETRY", "true")
    pybamm = pytest.importorskip(
        "pybamm", reason="pybamm is not installed (0.8 GB); the typed points are checked instead"
    )
    values = pybamm.ParameterValues("Chen2020")
    solver = pybamm.lithium_ion.ElectrodeSOHSolver(values)

    def volt(percent):
        x, y = solver.get_initial_stoichiometries(percent / 100)[:2]
        positive = values.evaluate(values["Positive electrode OCP [V]"](pybamm.Scalar(y)))
        return positive - values.evaluate(values["Negative electrode OCP [V]"](pybamm.Scalar(x)))

    for percent, typed in PYBAMM_CHEN2020:
        assert round(volt(percent), 3) == typed
    # Between the points straight lines stand for the cell's curve.
    for percent in range(0, 101):
        told = battery.by_voltage_pm(round(volt(percent) * 1000), "lithium", 1)
        assert told == pytest.approx(percent * 10, abs=30)


@pytest.mark.parametrize(("mv", "least_pm", "most_pm"), ALKALINE)
def test_alkaline_points_are_as_coarse_as_published(mv, least_pm, most_pm):
    for cells in (1, 2, 3):
        assert least_pm <= battery.by_voltage_pm(mv * cells, "alkaline", cells) <= most_pm


@pytest.mark.parametrize("kind", battery.CURVES)
def test_charge_never_falls_as_the_voltage_rises(kind):
    told = [battery.by_voltage_pm(mv, kind, 1) for mv in range(0, 5000)]
    assert told == sorted(told)
    assert (told[0], told[-1]) == (0, 1000)


@pytest.mark.parametrize("kind", battery.CURVES)
def test_curves_rise_in_both_columns(kind):
    volts, charges = zip(*battery.CURVES[kind])
    assert list(volts) == sorted(set(volts))
    assert list(charges) == sorted(set(charges))


def test_nickel_is_counted_because_its_voltage_is_flat():
    """A battery FAQ: 1.2 V flat until nearly empty. From there on up to 1.35 V the count alone speaks."""
    told = dict(SETTINGS, battery_kind="nimh", battery_cells=3)
    for mv in range(1200, 1350, 10):
        assert battery.charge_pm(3 * mv, 1000000, told) == 600
    assert battery.charge_pm(3 * 1050, 1000000, told) < 100


def exact_uah(slept_s, awake_ms, pump_ms, started):
    """The same charge as an exact fraction of a uAh. A board that started anew was also awake while it pumped, and
    until it slept."""
    if started:
        awake_ms += pump_ms + energy.FINISH_MS
    total = Fraction(slept_s * BOARD["sleep_ua"], 3600)
    total += Fraction(awake_ms * (BOARD["active_ua"] + BOARD["probe_ua"]), 3600000)
    total += Fraction(pump_ms * BOARD["pump_ua"], 3600000)
    if started:
        total += Fraction(BOARD["boot_ms"] * BOARD["boot_ua"], 3600000)
    return total


def test_counted_charge_is_never_below_the_exact_and_at_most_four_above():
    rng = random.Random("span")
    for _ in range(3000):
        span = (rng.randrange(0, 90000), rng.randrange(0, 60000), rng.randrange(0, 30000), rng.randrange(2))
        exact = exact_uah(*span)
        assert exact <= energy.span_uah(span, BOARD) < exact + 4


def test_a_year_of_wakes_counts_to_within_three_per_cent():
    """Coulomb counting: 17,520 wakes of half an hour, some with a pulse, against the exact sum."""
    rng = random.Random("year")
    counted, exact = 0, Fraction(0)
    for _ in range(17520):
        span = (1800, rng.randrange(900, 2500), 6000 if rng.random() < 0.02 else 0, 0)
        counted += energy.span_uah(span, BOARD)
        exact += exact_uah(*span)
    assert exact <= counted <= exact * Fraction(103, 100)


def test_a_planned_day_is_the_sum_of_its_wakes():
    day = settings_meaning.day_uah(48, 1500, 12000, BOARD, 1)
    exact = exact_uah(86400 - 72, 48 * 1500 + 12000, 12000, 0) + 48 * Fraction(
        BOARD["boot_ms"] * BOARD["boot_ua"], 3600000
    )
    assert exact <= day <= exact + 48 * 2 + 2


def test_days_left_against_plain_division():
    """At a steady pace, to the charge at which a pump would be refused."""
    for soc_pm in range(0, 1001, 7):
        for usage_uah in (1, 999, 36690, 2500000):
            days = battery.days_left(soc_pm, 150, (usage_uah, usage_uah), SETTINGS)
            end_pm = battery.refused_pm(soc_pm, 150, SETTINGS)
            assert days == min(999, int(Fraction((soc_pm - end_pm) * 2500, usage_uah)))


# Self-discharge as published: (kind, least and most pm of the capacity in a year at 20-25 degC, who says so).
SELF_DISCHARGE = (
    # "1-2 % per month (plus 3 % for protection circuit)": a battery maker's FAQ, self-discharge of lithium and nickel.
    ("lithium", 12 * 40, 12 * 50),
    # "15 % in 1 year" (the same), kept at 20 degC; twice as much 10 degrees warmer (a textbook of portable batteries).
    ("nimh", 150, 212),
    # "less than two percent per year" at 70 degF, "5 % per year" at 85 (a battery FAQ).
    ("alkaline", 20, 50),
)


@pytest.mark.parametrize(("kind", "least_pm", "most_pm"), SELF_DISCHARGE)
def test_self_discharge_is_as_published(kind, least_pm, most_pm):
    told = dict(SETTINGS, battery_kind=kind, battery_mah=1000)
    year_mah = 365 * battery.leak_uah_day(told) / 1000
    assert least_pm <= year_mah + 1 and year_mah <= most_pm


@pytest.mark.parametrize("sag_mv", [0, 100, 400])
@pytest.mark.parametrize(("kind", "cells", "stop_mv"), [("lithium", 1, 3200), ("alkaline", 3, 3150), ("nimh", 3, 3240)])
def test_pumps_are_refused_where_the_published_curve_says_so(kind, cells, stop_mv, sag_mv):
    """On the typed curve of each chemistry, by plain interpolation in exact fractions, an unchanging sag."""
    points = {
        "lithium": [(percent * 10, Fraction(round(volt * 1000))) for percent, volt in PYBAMM_CHEN2020][::-1],
        "alkaline": [(0, 900), (150, 1100), (500, 1250), (930, 1500), (1000, 1600)],
        "nimh": [(0, 1000), (50, 1100), (200, 1200), (950, 1300), (1000, 1400)],
    }[kind]
    least_mv = Fraction(stop_mv + sag_mv + battery.SAG_SPARE_MV, cells)
    exact = next(
        x0 + (least_mv - y0) * (x1 - x0) / (y1 - y0)
        for (x0, y0), (x1, y1) in zip(points, points[1:])
        if y0 <= least_mv <= y1
    )
    told = dict(SETTINGS, battery_kind=kind, battery_cells=cells, battery_stop_mv=stop_mv, battery_reserve_pm=10)
    # From just above that charge on, the sag hardly grows with what is yet to go.
    start_pm = min(1000, int(exact) + 40)
    assert battery.refused_pm(start_pm, sag_mv, told) == pytest.approx(float(exact), abs=60)


def test_an_alkaline_cell_is_given_up_earlier_the_more_it_will_sag():
    """Published: 0.15-0.3 ohm fresh, 1 ohm flat; so a sag seen in a fresh pack is three to seven times that in a flat
    one."""
    assert 3.3 <= battery._sag_at(100, 1000, 0, "alkaline") / 100 <= 6.7
