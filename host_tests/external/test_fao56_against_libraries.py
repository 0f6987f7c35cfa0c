"""The same arithmetic against two independent packages: refet and PsychroLib."""

import math

import psychrolib
import pytest
import refet
from potreeve_tools.world import fao56

psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize("temp_c", [0.5, 5, 10, 15, 20, 25, 30, 35, 40])
def test_saturation_pressure_against_psychrolib(temp_c):
    """PsychroLib 2.5.0 has ASHRAE's curve; it parts from FAO-56 Eq 11 in the third digit."""
    assert fao56.saturation_kpa(temp_c) == pytest.approx(psychrolib.GetSatVapPres(temp_c) / 1000.0, rel=0.003)


@pytest.mark.parametrize("altitude_m", [0, 273, 1000, 1800])
def test_pressure_against_psychrolib(altitude_m):
    """FAO-56 takes 20 degC at sea level, the standard atmosphere 15 degC."""
    assert fao56.pressure_kpa(altitude_m) == pytest.approx(
        psychrolib.GetStandardAtmPressure(altitude_m) / 1000.0, rel=0.005
    )


@pytest.mark.parametrize(
    "tmin, tmax, vapour, rs, wind, altitude, latitude, day",
    [
        (12.3, 21.5, 1.409, 22.07, 2.078, 100.0, 50.8, 187),  # FAO-56 Example 18
        (-4.0, 6.0, 0.40, 6.5, 3.0, 273.0, 36.1, 15),
        (19.0, 33.0, 2.30, 24.0, 1.2, 273.0, 36.1, 200),
        (9.0, 15.0, 1.10, 14.0, 5.0, 7.0, 55.3, 230),
    ],
)
def test_daily_reference_against_refet(tmin, tmax, vapour, rs, wind, altitude, latitude, day):
    """refet 0.5.0, method 'asce', short reference; its constants differ a little (P and dr)."""
    theirs = refet.Daily(
        tmin=tmin, tmax=tmax, ea=vapour, rs=rs, uz=wind, zw=2.0, elev=altitude, lat=latitude, doy=day, method="asce"
    ).eto()
    mean = (tmin + tmax) / 2.0
    ra = fao56.extraterrestrial_mj(math.radians(latitude), day)
    rnl = fao56.net_longwave_mj(tmax, tmin, vapour, max(rs / fao56.clear_sky_mj(ra, altitude), 0.3))
    ours = fao56.eto_day_mm(
        mean,
        fao56.saturation_slope(mean),
        fao56.psychrometric_constant(fao56.pressure_kpa(altitude)),
        (1.0 - fao56.ALBEDO) * rs - rnl,
        0.0,
        wind,
        fao56.saturation_mean_kpa(tmax, tmin) - vapour,
    )
    assert ours == pytest.approx(theirs.item(), rel=0.01, abs=0.02)


def test_hourly_reference_parts_from_refet_as_published():
    """FAO-56 Example 19, 14-15 h. refet uses ASCE-2005's hourly constants (0.24 by day).

    So it must come out above FAO-56's 0.63 mm/h, by about a twentieth.
    """
    theirs = (
        refet.Hourly(
            tmean=38.0,
            ea=3.445,
            rs=2.450,
            uz=3.3,
            zw=2.0,
            elev=8.0,
            lat=16 + 13 / 60,
            lon=-16.25,
            doy=274,
            time=15.0,
            method="asce",
        )
        .eto()
        .item()
    )
    ours = fao56.eto_hour_mm(
        38.0,
        fao56.saturation_slope(38.0),
        fao56.psychrometric_constant(fao56.pressure_kpa(8.0)),
        1.749,
        0.175,
        3.3,
        fao56.saturation_kpa(38.0) - 3.445,
    )
    assert 1.02 < theirs / ours < 1.08
