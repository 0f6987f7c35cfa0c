"""From what a person measured to settings: probe, pump, and which tube goes where.

What was uncertain is used cautiously: a probe's wet end is moved so that the pot
reads rather too wet, a pump counts as the fastest it may be.
"""

from potreeve.logic import moisture
from potreeve.logic.units import const, div_near, div_up

# What is wrong with a measurement; FINE means nothing.
FINE = 0
FEW = 1  # too few readings
RAIL = 2  # a wire, not a substance
NOISY = 3
DRIFTS = 4  # it has not settled
SPAN = 5  # the two ends are too near for the noise
ORDER = 6  # a point does not lie between its neighbours
DRY = 7  # the pump brought nothing
UNEVEN = 8  # its runs differ too much to be one pump's
SHORT = 9  # too little ran to measure it

# A burst's spread at calibration above this is no healthy contact (5 times the
# step of a 12-bit ADC is 80 counts; common practice, no source).
_NOISY_RAW = const(600)
_READINGS = const(6)

# Both as in settings.check: the ends lie this far apart, and this many spreads.
_SPAN_RAW = const(1000)
_SPAN_SPREADS = const(10)

_POINTS = const(6)

# A cup is read to about this, if nobody says better.
_CUP_READ_UL = const(1000)
_RUNS = const(2)
_SPREAD_FLOOR_PM = const(100)

# A tube that has come off its pot hangs lower, and its pump brings more: this
# much where nobody measured it (common practice, no source).
LOW_UNSEEN_PM = 250
_UNEVEN_PM = const(400)
_LEAST_CUP_UL = const(5000)

# A rise that medians of some bursts do not show by chance: each lies well within its
# burst's spread (common practice, no source).
_ROSE_SPREADS = const(2)
_ROSE_RAW = const(160)
# Where several rose, the own one must lead the next by so many times.
_LEADS_TIMES = const(3)


def settle(medians, spreads):
    """(fault, raw, spread, drift) of six or more bursts taken one after another.

    medians, spreads: as moisture.burst gives them. raw: their middle; spread: the
    widest burst, or how far the medians scatter, whichever is more; drift: how far
    the last third's mean lies above that of the first.
    """
    count = len(medians)
    if count < _READINGS or len(spreads) != count:
        return FEW, 0, 0, 0
    ordered = sorted(medians)
    raw = ordered[count // 2]
    third = count // 3
    drift = div_near(sum(medians[count - third :]), third) - div_near(sum(medians[:third]), third)
    scatter = ordered[count - 2] - ordered[1]
    spread = max(max(spreads), scatter, 1)
    fault = FINE
    if raw >= moisture.RAIL_HIGH_RAW or raw <= moisture.RAIL_LOW_RAW:
        fault = RAIL
    elif max(spreads) > _NOISY_RAW:
        fault = NOISY
    elif abs(drift) > 3 * max(spreads) and abs(drift) > _ROSE_RAW:
        fault = DRIFTS
    return fault, raw, spread, drift


def doubt_raw(spread, drift):
    """How far a point may lie from where it was read, in counts."""
    return div_up(spread, 2) + abs(drift)


def curve(air, wet):
    """(fault, curve, uncertainty in pm) from (raw, spread, drift) in air and at
    container capacity.

    The wet end is moved towards the air's by its doubt.
    """
    span = abs(wet[0] - air[0])
    spread = max(air[1], wet[1])
    if span < _SPAN_RAW or span < _SPAN_SPREADS * spread:
        return SPAN, [], 0
    doubt = doubt_raw(wet[1], wet[2])
    moved = wet[0] - doubt if wet[0] > air[0] else wet[0] + doubt
    if abs(moved - air[0]) < max(_SPAN_RAW, _SPAN_SPREADS * spread):
        return SPAN, [], 0
    both = doubt + doubt_raw(air[1], air[2])
    return FINE, [(air[0], 0), (moved, 1000)], div_up(both * 1000, span)


def scale_pm(full_g, now_g, holds_ml):
    """Moisture in pm by weight: 1 g of water is 1 ml.

    full_g: the pot at container capacity; now_g: the same pot now.
    """
    return 1000 - div_near((full_g - now_g) * 1000, holds_ml)


def scale_doubt_pm(read_g, holds_ml):
    """Uncertainty of scale_pm for two weighings read to read_g each, in pm."""
    return div_up(2 * read_g * 1000, holds_ml)


def add_point(points, raw, pm):
    """(fault, curve) with one more point in its place; one of the same pm is replaced.

    points: a curve of 2 or more, ends at 0 and 1000 pm.
    """
    kept = [tuple(point) for point in points if point[1] != pm]
    if not 0 < pm < 1000:
        return ORDER, list(points)
    if len(kept) >= _POINTS:
        return FEW, list(points)
    place = 0
    while place < len(kept) and kept[place][1] < pm:
        place += 1
    kept.insert(place, (raw, pm))
    falling = kept[0][0] > kept[len(kept) - 1][0]
    for one, other in zip(kept, kept[1:]):
        if other[0] == one[0] or (other[0] < one[0]) != falling:
            return ORDER, list(points)
    return FINE, kept


def pump(runs, first, read_ul, low=None):
    """(fault, flow in ul/s, spread in pm, priming in ms) of a pump run into a cup.

    runs: (ms, ul) with the tube full, two or more; first: (ms, ul) with the tube
    empty, or None (priming 0); read_ul: how well the cup was read; low: (ms, ul)
    with the tube's end as low as it would hang if it came off, or None. The spread is
    how much faster than the flow the pump may be: its fastest run, the reading, the
    low end, and the more the fewer runs there were.
    """
    count = len(runs)
    if count < _RUNS:
        return FEW, 0, 0, 0
    all_ms = sum(run[0] for run in runs)
    all_ul = sum(run[1] for run in runs)
    if all_ul <= 0:
        return DRY, 0, 0, 0
    if all_ul // count < _LEAST_CUP_UL or min(run[0] for run in runs) <= 0:
        return SHORT, 0, 0, 0
    flow = div_near(all_ul * 1000, all_ms)
    flows = [div_near(run[1] * 1000, run[0]) for run in runs]
    apart_pm = div_up((max(flows) - min(flows)) * 1000, flow)
    if apart_pm > _UNEVEN_PM:
        return UNEVEN, flow, apart_pm, 0
    # Two runs show about half of what many would (common practice, no source).
    seen_pm = div_up(apart_pm * (count + 2), count)
    spread_pm = _SPREAD_FLOOR_PM + seen_pm + div_up(read_ul * 1000 * count, all_ul)
    low_pm = LOW_UNSEEN_PM
    if low is not None:
        low_pm = div_up(low[1] * 1000000, low[0] * flow) - 1000
    if low_pm > 0:
        spread_pm += low_pm
    prime_ms = 0
    if first is not None:
        prime_ms = first[0] - first[1] * 1000 // flow
    return FINE, flow, spread_pm if spread_pm < 1000 else 1000, prime_ms if prime_ms > 0 else 0


def rises(before, after):
    """By how many spreads each channel's reading moved after a pulse, towards wet.

    before, after: lists of (raw, spread, air_raw, wet_raw); the two last are 0 where
    the probe was never calibrated: then any move counts. 0 where it is scatter.
    """
    moved = []
    for one, other in zip(before, after):
        way = other[0] - one[0]
        if one[2] != one[3]:
            way = way if one[3] > one[2] else -way
        else:
            way = abs(way)
        spread = max(one[1], other[1], 1)
        spreads = way // spread if way > 0 else 0
        moved.append(spreads if spreads >= _ROSE_SPREADS and way >= _ROSE_RAW else 0)
    return moved


# What a pulse to one channel showed.
RIGHT = 0
SILENT = 1
CROSSED = 2
UNCLEAR = 3


def answer(channel, moved):
    """(verdict, channel that rose) after a pulse to `channel`; -1 where none or several."""
    most = max(moved)
    if most == 0:
        return SILENT, -1
    leaders = [index for index, value in enumerate(moved) if value * _LEADS_TIMES > most]
    if len(leaders) > 1:
        return UNCLEAR, -1
    return (RIGHT if leaders[0] == channel else CROSSED), leaders[0]
