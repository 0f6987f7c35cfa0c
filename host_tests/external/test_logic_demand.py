"""The air's thirst in whole numbers against FAO-56 and PsychroLib.

FAO-56: Allen, Pereira, Raes and Smith 1998, "Crop evapotranspiration", FAO Irrigation
and Drainage Paper 56; equation 11 and examples 3, 5 and 6.
"""

import math

import psychrolib
import pytest
from potreeve.logic import demand

psychrolib.SetUnitSystem(psychrolib.SI)


def fao_pa(temp_c):
    """FAO-56 eq. 11, in Pa."""
    return 610.8 * math.exp(17.27 * temp_c / (temp_c + 237.3))


@pytest.mark.parametrize("temp_c", range(-20, 61))
def test_whole_degrees_are_equation_11_rounded(temp_c):
    assert demand.saturated_pa(temp_c * 100) == round(fao_pa(temp_c))


def test_between_them_the_straight_line_stays_as_near_as_stated():
    """0.18 % above freezing and 0.69 % below: what the module says of itself."""
    above = max(abs(demand.saturated_pa(t) / fao_pa(t / 100) - 1) for t in range(0, 6001))
    below = max(abs(demand.saturated_pa(t) / fao_pa(t / 100) - 1) for t in range(-2000, 0))
    assert above <= 0.0018
    assert below <= 0.0069


@pytest.mark.parametrize("temp_cdeg", range(0, 5001, 25))
def test_saturation_against_psychrolib_from_0_to_50_degrees(temp_cdeg):
    """PsychroLib 2.5.0 has ASHRAE's curve, which parts from eq. 11 by up to 0.2 % in this range."""
    assert demand.saturated_pa(temp_cdeg) == pytest.approx(psychrolib.GetSatVapPres(temp_cdeg / 100), rel=0.0032)


@pytest.mark.parametrize(("temp_c", "kpa"), [(24.5, 3.075), (15.0, 1.705), (19.75, 2.30), (18.0, 2.064), (25.0, 3.168)])
def test_saturation_of_fao_examples_3_and_5(temp_c, kpa):
    tolerance_pa = 5.5 if kpa == 2.30 else 1.5
    assert demand.saturated_pa(round(temp_c * 100)) == pytest.approx(kpa * 1000, abs=tolerance_pa)


def test_deficit_of_fao_example_6():
    """Data of example 5: Tmin 18, Tmax 25, RHmax 82 %, RHmin 54 %; printed deficit 0.91 kPa (es 2.62, ea 1.70).

    es - ea splits into the mean of the deficits at the two temperatures, each with its own humidity.
    """
    cold = demand.deficit_pa(1800, 820)
    warm = demand.deficit_pa(2500, 540)
    assert (cold + warm) / 2 == pytest.approx(910, abs=5.5)


# Deficits worked out from eq. 11: temperature, relative humidity, kPa.
ROOMS = [(20, 30, 1.637), (21, 25, 1.865), (22, 50, 1.322), (25, 40, 1.901), (30, 35, 2.758), (35, 25, 4.217)]


@pytest.mark.parametrize(("temp_c", "rh_pct", "kpa"), ROOMS)
def test_deficits_of_rooms(temp_c, rh_pct, kpa):
    ours = demand.deficit_pa(temp_c * 100, rh_pct * 10)
    assert ours == pytest.approx(kpa * 1000, abs=1.5)
    theirs_pa = psychrolib.GetSatVapPres(temp_c) - psychrolib.GetVapPresFromRelHum(temp_c, rh_pct / 100)
    assert ours == pytest.approx(theirs_pa, rel=0.0032)


def test_light_evaporates_as_equation_20_says():
    """FAO-56 eq. 20: 1 MJ/m2 is 0.408 mm. With 110 lx per W/m2 (from memory) and half of it spent (common practice,
    no source) that is 0.73 um per hour for 110 lx; ours is 110 / 150 = 0.733."""
    exact_um = 0.408 * 1000 * (110 / 110 * 3600 / 1e6) * 0.5
    assert 110 / demand.LX_PER_UM == pytest.approx(exact_um, rel=0.01)
    assert demand.rate_um_h(0, 15000, 0) == 100


def test_a_day_in_a_bright_room_is_plausible():
    """Twelve hours at 22 degC, 50 %, 3000 lx and twelve at night: some 1 mm, as indoor pans show (common practice,
    no source)."""
    vpd_pa = demand.deficit_pa(2200, 500)
    day_um = demand.over_um(demand.rate_um_h(vpd_pa, 3000, 20), 43200)
    night_um = demand.over_um(demand.rate_um_h(vpd_pa, 0, 20), 43200)
    assert 500 <= day_um + night_um <= 2500
    assert night_um < day_um / 3
