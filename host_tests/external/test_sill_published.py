"""The sill's light and air against published or independently derived figures.

Weather: TMY3 Greensboro and Sand Point (world/years).
"""

import pytest
from potreeve_tools.world.sill import SillClimate, Site, Window
from potreeve_tools.world.weather import FILES, Pane, read_hours

MONTH_STARTS = (0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365)
UMOL_PER_J = 2.06  # of short-wave; upper-bound tables below were made with it
VISIBLE_DOUBLE_CLEAR = 0.81

# Upper-bound daily light integral (mol/m2/d) behind an unobstructed vertical double
# clear pane, isotropic sky, albedo 0.2, no loss at slanting angles; monthly means,
# derived separately from the same weather files.
UPPER_BOUND = {
    ("greensboro", 180.0): (18.3, 19.9, 19.7, 17.9, 15.4, 15.0, 15.4, 17.2, 18.3, 20.0, 17.7, 19.6),
    ("greensboro", 90.0): (8.6, 11.5, 14.4, 17.9, 19.2, 20.3, 19.4, 18.0, 14.9, 12.4, 8.6, 8.5),
    ("sand-point", 0.0): (1.5, 2.6, 4.7, 6.9, 8.7, 10.5, 11.0, 7.2, 5.7, 3.5, 1.8, 1.1),
}
PEAK_OUTSIDE_WM2 = {180.0: 901.0, 0.0: 322.0}  # Greensboro, same derivation


def light_by_day(hours):
    return [sum(hours.pane_wm2[24 * d : 24 * d + 24]) * 3600e-6 * UMOL_PER_J * VISIBLE_DOUBLE_CLEAR for d in range(365)]


@pytest.mark.parametrize("data, azimuth_deg", UPPER_BOUND)
def test_daily_light_behind_the_pane(data, azimuth_deg):
    days = light_by_day(read_hours(data, Pane(azimuth_deg, layers=0)))
    means = [sum(days[a:b]) / (b - a) for a, b in zip(MONTH_STARTS, MONTH_STARTS[1:])]
    assert means == pytest.approx(UPPER_BOUND[data, azimuth_deg], abs=0.15)


@pytest.mark.parametrize("azimuth_deg", PEAK_OUTSIDE_WM2)
def test_peak_on_the_pane(azimuth_deg):
    peak = max(read_hours("greensboro", Pane(azimuth_deg, layers=0)).pane_wm2)
    assert peak == pytest.approx(PEAK_OUTSIDE_WM2[azimuth_deg], rel=0.01)


def test_a_south_pane_gets_no_less_in_winter_than_in_summer():
    days = light_by_day(read_hours("greensboro", Pane(180.0)))
    assert sum(days[:59]) / 59 > sum(days[151:212]) / 61


@pytest.mark.parametrize("data", FILES)
def test_luminous_efficacy(data):
    """Littlefair 1988, Lighting Res. Technol. 20(4):177-188: beam 70-95 lm/W, sky 115-144 lm/W.

    So any hour on a pane lies between, and a year on a north pane (mostly sky,
    some ground) near the 107-109 lm/W measured for sun and sky together.
    """
    hours = read_hours(data, Pane(0.0))
    ratios = [lux / wm2 for lux, wm2 in zip(hours.pane_lux, hours.pane_wm2) if wm2 > 5.0]
    assert 70.0 <= min(ratios) and max(ratios) <= 144.0
    assert sum(hours.pane_lux) / sum(hours.pane_wm2) == pytest.approx(115.0, abs=8.0)


@pytest.mark.parametrize("data", FILES)
def test_winter_room_is_dry(data):
    """Heated homes in winter: 25-30 % RH on average, 20-25 % common (Kent et al., ASHRAE Trans. 72).

    Held for the December-to-February median, 20-35 %.
    """
    sill = SillClimate(Site(data), Window(), start=(12, 1))
    readings = sorted(sill.at(h * 3600.0).rh_pct for h in range(90 * 24))
    assert 20.0 <= readings[len(readings) // 2] <= 35.0


def test_summer_room_stays_near_the_comfort_line():
    """60 % is the upper comfort line in the same survey; a cooled Greensboro July is near it."""
    sill = SillClimate(start=(7, 1))
    readings = sorted(sill.at(h * 3600.0).rh_pct for h in range(31 * 24))
    assert 45.0 <= readings[len(readings) // 2] <= 65.0
