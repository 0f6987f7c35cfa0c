"""From raw probe samples to moisture between the pot's own two anchors.

0 pm is air-dry (the probe in air), 1000 pm is container capacity (the pot
soaked and drained). Raw counts are 0..65535 whatever the probe: ADC counts or
hundredths of a hertz.
"""

from potreeve.logic import reasons
from potreeve.logic.units import between, clamp, const

LOWEST_PM = -500
HIGHEST_PM = 1500

# A rail within 1 % of full scale or zero is a wire, not a soil (common practice, no source).
RAIL_HIGH_RAW = 64880
RAIL_LOW_RAW = 655

# Raw noise a healthy probe may show: this many times the spread it had at
# calibration, and never less than the floor (12-bit ADCs step by 16 counts). A normal
# spread goes beyond six times itself next to never (common practice, no source).
_NOISY_TIMES = const(6)
_NOISY_FLOOR_RAW = const(640)


def burst(samples):
    """(median, spread) of a list of 3 or more raw samples.

    The spread leaves out the lowest and the highest sample, so that one spike
    neither hides in the median nor condemns the probe.
    """
    ordered = sorted(samples)
    count = len(ordered)
    return ordered[count // 2], ordered[count - 2] - ordered[1]


def to_pm(raw, curve):
    """Moisture in pm for a raw reading.

    curve: list of (raw, pm) points, 2 or more, pm rising, raw strictly rising
    or falling. Beyond the ends the end segment goes on, up to LOWEST_PM and
    HIGHEST_PM.
    """
    last = len(curve) - 1
    falling = curve[0][0] > curve[last][0]
    index = 1
    while index < last and (raw < curve[index][0] if falling else raw > curve[index][0]):
        index += 1
    x0, y0 = curve[index - 1]
    x1, y1 = curve[index]
    return clamp(between(raw, x0, y0, x1, y1), LOWEST_PM, HIGHEST_PM)


def warmth_pm(temp_cdeg, pot):
    """How much of a reading is warmth rather than water, in pm.

    Nemali et al. 2007 (abstract) found +0.0022 m3/m3 per degree C in soilless
    substrate; the setting states it per 10 degrees in the pot's own scale.
    """
    return (temp_cdeg - pot["cal_temp_cdeg"]) * pot["warmth_pm_10c"] // 1000


def smooth(filtered, raw, weight):
    """Average over wakes, in sixteenths of a count; 0 starts afresh."""
    if filtered == 0 or weight <= 1:
        return raw * 16
    return filtered + (raw * 16 - filtered) // weight


def complaint(raw, spread, pot):
    """What is wrong with a reading seen alone: one of reasons.*, NONE if nothing.

    pot: settings of the channel (`curve`, `spread_raw`).
    """
    if raw >= RAIL_HIGH_RAW:
        return reasons.BROKEN
    if raw <= RAIL_LOW_RAW:
        return reasons.SHORTED
    limit = pot["spread_raw"] * _NOISY_TIMES
    if spread > (limit if limit > _NOISY_FLOOR_RAW else _NOISY_FLOOR_RAW):
        return reasons.NOISY
    curve = pot["curve"]
    end_a = curve[0][0]
    end_b = curve[len(curve) - 1][0]
    low, high = (end_a, end_b) if end_a < end_b else (end_b, end_a)
    margin = (high - low) // 3
    if raw < low - margin or raw > high + margin:
        return reasons.OUTSIDE
    return reasons.NONE
