"""The air's thirst: vapour-pressure deficit and light, as evaporation.

Everything here is in micrometres of water (1 um over 1 cm2 is 0.1 ul), the
unit of a day's demand. It predicts how fast a pot should dry, which checks the
probe, and how much a pot needs while its probe is not believed.
"""

from potreeve.logic.units import HOUR_S, clamp, const, div_near

NO_TEMP = -32768

_LOWEST_CDEG = const(-2000)
_HIGHEST_CDEG = const(6000)

# Saturation vapour pressure in Pa at -20..60 degrees C in steps of one degree,
# e = 610.8 exp(17.27 T / (T + 237.3)): FAO Irrigation and Drainage Paper 56
# (1998), equation 11. Whole pascals with straight lines between them stay
# within 0.18 % of it above freezing and 0.69 % below.
_SATURATED_PA = (
    125, 136, 148, 161, 175, 190, 207, 224, 243, 264, 286, 309,
    334, 361, 390, 421, 454, 490, 527, 568, 611, 657, 706, 758,
    813, 872, 935, 1002, 1073, 1148, 1228, 1313, 1403, 1498, 1599, 1705,
    1818, 1938, 2064, 2197, 2338, 2487, 2644, 2809, 2984, 3168, 3361, 3565,
    3780, 4006, 4243, 4493, 4755, 5030, 5319, 5623, 5941, 6275, 6625, 6991,
    7376, 7778, 8199, 8640, 9101, 9582, 10086, 10613, 11163, 11737, 12337, 12963,
    13615, 14296, 15006, 15746, 16517, 17320, 18156, 19027, 19933,
)

# Light: 1 W/m2 of daylight is about 110 lx (common value, from memory), 1 MJ/m2
# evaporates 0.408 mm (FAO-56 eq. 20), and about half of what falls on leaves is
# spent so (common practice, no source): 110 lx for an hour is 0.73 um.
LX_PER_UM = 150

# Air: 50 um/h per kPa of deficit by day, a quarter by night when the leaves'
# pores are shut (both common practice, no source).
_UM_PER_KPA = const(50)
_NIGHT_SHARE = const(4)

_HIGHEST_UM_H = const(1500)


def saturated_pa(temp_cdeg):
    """Saturation vapour pressure in Pa; temperature clamped to -20..60 C."""
    t = clamp(temp_cdeg, _LOWEST_CDEG, _HIGHEST_CDEG) - _LOWEST_CDEG
    whole = t // 100
    part = t - whole * 100
    low = _SATURATED_PA[whole]
    if part == 0:
        return low
    return low + div_near((_SATURATED_PA[whole + 1] - low) * part, 100)


def deficit_pa(temp_cdeg, rh_pm):
    """Vapour-pressure deficit in Pa; rh_pm clamped to 0..1000."""
    rh = clamp(rh_pm, 0, 1000)
    return div_near(saturated_pa(temp_cdeg) * (1000 - rh), 1000)


def rate_um_h(vpd_pa, lx, dark_lx):
    """Evaporative demand now, um/h. lx < 0 means unknown: taken as dim day."""
    if lx < 0:
        lx = dark_lx
    air = vpd_pa * _UM_PER_KPA // 1000
    if lx < dark_lx:
        air = air // _NIGHT_SHARE
    return clamp(air + lx // LX_PER_UM, 0, _HIGHEST_UM_H)


def over_um(rate, seconds):
    """Demand in um over a span; rate um/h, seconds 0..DAY_S."""
    return div_near(rate * seconds, HOUR_S)


def share(amount, today_um, typical_um, low_pm, high_pm):
    """`amount` scaled by how thirsty a day is against a typical one.

    The ratio is kept within low_pm..high_pm (pm), so that one odd day neither
    starves nor drowns a pot.
    """
    if typical_um <= 0:
        return amount
    ratio_pm = clamp(today_um * 1000 // typical_um, low_pm, high_pm)
    return amount * ratio_pm // 1000
