"""State of charge and charge counting against a battery library's cell, published voltages and exact fractions."""

import random
from fractions import Fraction

import pytest
from potreeve.logic import battery, energy

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
    """A battery FAQ: 1.2 V flat until nearly empty. Between 1.15 and 1.35 V the count alone speaks."""
    told = dict(SETTINGS, battery_kind="nimh", battery_cells=3)
    for mv in range(1150, 1350, 10):
        assert battery.charge_pm(3 * mv, 1000000, told) == 600
    assert battery.charge_pm(3 * 1050, 1000000, told) < 100


def exact_uah(slept_s, awake_ms, pump_ms, started):
    """The same charge as an exact fraction of a uAh."""
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
    day = energy.day_uah(48, 1500, 12000, BOARD, 1)
    exact = exact_uah(86400 - 72, 48 * 1500, 12000, 0) + 48 * Fraction(BOARD["boot_ms"] * BOARD["boot_ua"], 3600000)
    assert exact <= day <= exact + 48 * 2 + 2


def test_days_left_against_plain_division():
    for soc_pm in range(0, 1001, 7):
        for usage_uah in (1, 999, 36690, 2500000):
            days = battery.days_left(soc_pm, usage_uah, SETTINGS)
            exact = Fraction(max(0, soc_pm - 80) * 2500, usage_uah)
            assert days == min(999, int(exact))
