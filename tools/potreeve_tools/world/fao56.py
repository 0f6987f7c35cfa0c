"""FAO-56 arithmetic: vapour, radiation, reference use, soil-water balance.

Source of every formula: Allen, Pereira, Raes, Smith (1998), Crop
evapotranspiration, FAO Irrigation and Drainage Paper 56. "Eq" numbers are the
paper's. The paper is about fields; on a sill only the parts that carry no field
assumption are used (vapour, slope, the combination equation, stress).
"""

import math

LATENT_HEAT_MJ = 2.45  # lambda, MJ/kg at about 20 degC, Eq 2
VAPOUR_RATIO = 0.622  # molecular weight of vapour to dry air, Eq 8
MM_PER_MJ = 0.408  # Eq 20
SOLAR_CONSTANT_MJ_MIN = 0.0820  # Gsc, Eq 21
ALBEDO = 0.23  # Eq 38, grass reference; also taken for a pot's canopy
STEFAN_BOLTZMANN_MJ_D = 4.903e-9  # Eq 39
KELVIN = 273.16  # as the paper writes it


def pressure_kpa(altitude_m):
    """Mean air pressure at an altitude (Eq 7)."""
    return 101.3 * ((293.0 - 0.0065 * altitude_m) / 293.0) ** 5.26


def psychrometric_constant(pressure):
    """gamma, kPa/degC, for a pressure in kPa (Eq 8)."""
    return 0.665e-3 * pressure


def saturation_kpa(temp_c):
    """Saturation vapour pressure over water (Eq 11)."""
    return 0.6108 * math.exp(17.27 * temp_c / (temp_c + 237.3))


def saturation_mean_kpa(tmax_c, tmin_c):
    """es of a day: the mean of both ends, not the value at the mean (Eq 12)."""
    return (saturation_kpa(tmax_c) + saturation_kpa(tmin_c)) / 2.0


def saturation_slope(temp_c):
    """Delta, kPa/degC (Eq 13)."""
    return 4098.0 * saturation_kpa(temp_c) / (temp_c + 237.3) ** 2


def vapour_from_rh_kpa(tmax_c, tmin_c, rh_max_pct, rh_min_pct):
    """ea from the day's extremes of relative humidity (Eq 17)."""
    return (saturation_kpa(tmin_c) * rh_max_pct + saturation_kpa(tmax_c) * rh_min_pct) / 200.0


def vapour_from_mean_rh_kpa(tmax_c, tmin_c, rh_mean_pct):
    """ea from the day's mean relative humidity (Eq 19)."""
    return rh_mean_pct / 100.0 * saturation_mean_kpa(tmax_c, tmin_c)


def wind_at_2m(wind_ms, height_m):
    """Wind at 2 m from wind measured at another height (Eq 47)."""
    return wind_ms * 4.87 / math.log(67.8 * height_m - 5.42)


# --- radiation -------------------------------------------------------------


def inverse_distance(day):
    """dr, relative earth-sun distance, for a day of the year (Eq 23)."""
    return 1.0 + 0.033 * math.cos(2.0 * math.pi * day / 365.0)


def declination_rad(day):
    """Solar declination (Eq 24)."""
    return 0.409 * math.sin(2.0 * math.pi * day / 365.0 - 1.39)


def sunset_angle_rad(latitude_rad, declination):
    """Sunset hour angle (Eq 25)."""
    return math.acos(-math.tan(latitude_rad) * math.tan(declination))


def daylight_h(latitude_rad, day):
    """N, the possible hours of sun (Eq 34)."""
    return 24.0 / math.pi * sunset_angle_rad(latitude_rad, declination_rad(day))


def extraterrestrial_mj(latitude_rad, day):
    """Ra of a whole day, MJ/m2/d (Eq 21)."""
    decl = declination_rad(day)
    ws = sunset_angle_rad(latitude_rad, decl)
    return (
        24.0
        * 60.0
        / math.pi
        * SOLAR_CONSTANT_MJ_MIN
        * inverse_distance(day)
        * (ws * math.sin(latitude_rad) * math.sin(decl) + math.cos(latitude_rad) * math.cos(decl) * math.sin(ws))
    )


def extraterrestrial_hour_mj(latitude_rad, day, mid_hour, zone_west_deg, longitude_west_deg, hours=1.0):
    """Ra of one period, MJ/m2 per period (Eq 28-33).

    `mid_hour` is the clock at the middle of the period; longitudes count degrees
    west of Greenwich (Lz the zone's centre, Lm the place), as in the paper.
    """
    decl = declination_rad(day)
    b = 2.0 * math.pi * (day - 81) / 364.0
    season = 0.1645 * math.sin(2.0 * b) - 0.1255 * math.cos(b) - 0.025 * math.sin(b)
    angle = math.pi / 12.0 * (mid_hour + 0.06667 * (zone_west_deg - longitude_west_deg) + season - 12.0)
    ws = sunset_angle_rad(latitude_rad, decl)
    first = max(angle - math.pi * hours / 24.0, -ws)
    last = min(angle + math.pi * hours / 24.0, ws)
    if last <= first:
        return 0.0
    return (
        12.0
        * 60.0
        / math.pi
        * SOLAR_CONSTANT_MJ_MIN
        * inverse_distance(day)
        * (
            (last - first) * math.sin(latitude_rad) * math.sin(decl)
            + math.cos(latitude_rad) * math.cos(decl) * (math.sin(last) - math.sin(first))
        )
    )


def solar_from_sunshine_mj(ra_mj, sunshine_h, possible_h):
    """Rs from hours of sunshine (Eq 35 with a_s 0.25, b_s 0.50)."""
    return (0.25 + 0.50 * sunshine_h / possible_h) * ra_mj


def clear_sky_mj(ra_mj, altitude_m):
    """Rso (Eq 37)."""
    return (0.75 + 2e-5 * altitude_m) * ra_mj


def net_longwave_mj(tmax_c, tmin_c, vapour_kpa, rs_to_rso, per_day=1.0):
    """Rnl (Eq 39). For an hour give its temperature twice and per_day = 1/24."""
    hot = (tmax_c + KELVIN) ** 4
    cold = (tmin_c + KELVIN) ** 4
    return (
        STEFAN_BOLTZMANN_MJ_D
        * per_day
        * (hot + cold)
        / 2.0
        * (0.34 - 0.14 * math.sqrt(vapour_kpa))
        * (1.35 * min(rs_to_rso, 1.0) - 0.35)
    )


# --- evapotranspiration ----------------------------------------------------


def combination_kg_s(delta, gamma, net_wm2, vpd_kpa, air_s_m, surface_s_m, temp_c, pressure):
    """Penman-Monteith before any crop or wind is put in (Eq 3), kg/m2/s.

    delta and gamma kPa/degC, net radiation W/m2, resistances s/m, pressure kPa.
    rho*cp follows from gamma as in the paper's Box 6: cp = gamma*eps*lambda/P
    and rho = P / (1.01 (T + 273) R) with R = 0.287 kJ/kg/K.
    """
    rho_cp = gamma * VAPOUR_RATIO * LATENT_HEAT_MJ * 1e6 / (1.01 * (temp_c + 273.0) * 0.287)
    flux_wm2 = (delta * net_wm2 + rho_cp * vpd_kpa / air_s_m) / (delta + gamma * (1.0 + surface_s_m / air_s_m))
    return flux_wm2 / (LATENT_HEAT_MJ * 1e6)


def eto_day_mm(temp_c, delta, gamma, net_mj, soil_mj, wind_2m_ms, vpd_kpa):
    """Reference evapotranspiration of a day, mm (Eq 6)."""
    return (MM_PER_MJ * delta * (net_mj - soil_mj) + gamma * 900.0 / (temp_c + 273.0) * wind_2m_ms * vpd_kpa) / (
        delta + gamma * (1.0 + 0.34 * wind_2m_ms)
    )


def eto_hour_mm(temp_c, delta, gamma, net_mj, soil_mj, wind_2m_ms, vpd_kpa):
    """Reference evapotranspiration of an hour, mm (Eq 53)."""
    return (MM_PER_MJ * delta * (net_mj - soil_mj) + gamma * 37.0 / (temp_c + 273.0) * wind_2m_ms * vpd_kpa) / (
        delta + gamma * (1.0 + 0.34 * wind_2m_ms)
    )


# --- soil water ------------------------------------------------------------


def total_available(theta_capacity, theta_wilting, depth):
    """TAW in the unit of `depth` (Eq 82; mm for a depth of 1000 times metres)."""
    return (theta_capacity - theta_wilting) * depth


def readily_available(taw, depletion_fraction):
    """RAW (Eq 83)."""
    return depletion_fraction * taw


def adjusted_depletion_fraction(p_table, etc_mm_d):
    """p for another rate of use than the 5 mm/d of Table 22 (p. 162), 0.1-0.8."""
    p = p_table + 0.04 * (5.0 - etc_mm_d)
    return 0.1 if p < 0.1 else 0.8 if p > 0.8 else p


def stress_coefficient(taw, depletion, depletion_fraction):
    """Ks, 1 while readily available water lasts, 0 when nothing is left (Eq 84)."""
    left = taw - depletion
    hard = (1.0 - depletion_fraction) * taw
    if left >= hard:
        return 1.0
    return left / hard if left > 0.0 else 0.0


def evaporation_reduction(tew, rew, depletion):
    """Kr of drying bare soil: stage one up to REW, then falling (Eq 74)."""
    if depletion <= rew:
        return 1.0
    return (tew - depletion) / (tew - rew) if depletion < tew else 0.0


def depletion_after(depletion, water_in, use, taw, drain_first=False):
    """Root-zone depletion at the end of a day and its deep percolation (Eq 85-88).

    Returns (depletion, percolation). The equations take the day's use before
    drainage; `drain_first` follows the paper's Example 38, which drains first.
    """
    percolation = max(0.0, water_in - depletion - (0.0 if drain_first else use))
    after = depletion - water_in + use + percolation
    return min(max(after, 0.0), taw), percolation
