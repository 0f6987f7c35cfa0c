"""From what a person measured to settings: probe, pump, and which tube goes where.

What was uncertain is used cautiously: a probe's wet end is moved so that the pot
reads rather too wet, a pump counts as the fastest it may be.

The law of a probe. The output voltage of a capacitive probe goes with 1/water
content: theta = a / V + b (Hrisko 2020, technical note, V). A pulse-counting
probe's period, again one over its reading, is the nearly linear quantity (M).
So moisture is taken as linear in 1/raw, between what was measured; the board
gets points along that law and goes straight from one to the next. A straight
line in raw from air to soaked would read 6 to 25 % of the span too wet half-way
(at 1.3 to 3 times as many counts in air as soaked, D).

Open air is not air-dry substrate. Read by the law of the substrate it lies far
below it, as if water were missing:
  * quadratics of a soil logger probe for five mineral soils, air at 114.5 counts:
    the chord from 5 to 40 % goes through air at -8 to -14 vol-%, that of peat from
    20 to 80 % at -16 (coefficients V-2nd, chords D);
  * a mixing law (roots of permittivities add up by volume; air 1, solids 3 to 8,
    water 80, V) with 20 to 30 % of solids (V): at -2 to -7 vol-% (D).
Air-dry mixes hold 5 to 10 vol-% themselves, so air lies 8 to 24 vol-% below
them. AIR_BELOW_DRY_VWC is that of the peat curve: most pots hold a peat-like mix, and
the two errors do not weigh the same. A pot that reads too dry is watered sooner, and its
soaked end, which was measured, still says when it is full; one that reads too wet dries
out and nobody is told. AIR_DOUBT_VWC covers half of the range, for a reading between is
wrong by only a part of it.
"""

from potreeve.logic import moisture
from potreeve.logic.units import div_near, div_up

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
_NOISY_RAW = 600
_READINGS = 6

# Both as in settings.check: the ends lie this far apart, and this many spreads.
_SPAN_RAW = 1000
_SPAN_SPREADS = 10

_POINTS = 6

# Between two points the straight line may stray from the law by this without another
# point between: less than a probe's noise.
_STRAYS_PM = 3

# How far open air lies below air-dry substrate, by the law of the substrate, and how
# far that may be wrong where it counts, in thousandths of m3/m3 (see above).
AIR_BELOW_DRY_VWC = 220
AIR_DOUBT_VWC = 80

# What a pot holds is known to one part in so many, by its mix and a ruler (ours; the parts of a mix
# alone differ by that).
HOLDS_KNOWN = 10

_RUNS = 2
_SPREAD_FLOOR_PM = 100

# A tube that has come off its pot hangs lower, and its pump brings more: this
# much where nobody measured it (common practice, no source).
LOW_UNSEEN_PM = 250
_UNEVEN_PM = 400
_LEAST_CUP_UL = 5000

# A rise that medians of some bursts do not show by chance: each lies well within its
# burst's spread (common practice, no source).
_ROSE_SPREADS = 2
_ROSE_RAW = 160
# Where several rose, the own one must lead the next by so many times.
_LEADS_TIMES = 3


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
    """How far a point may lie from where it was read, in counts.

    A burst's spread is that of the middle seven of nine samples, 1.9 standard deviations of
    one; the median of nine medians of nine scatters by 0.17 of one (normal noise, D). Three
    times that is a quarter of the spread.
    """
    return div_up(spread, 4) + abs(drift)


def air_pm(pot_ml, holds_ml):
    """(where open air lies on the scale of a pot, uncertainty), in pm; below 0.

    pot_ml: volume of the substrate; holds_ml: water between air-dry and container capacity.
    """
    return -div_near(AIR_BELOW_DRY_VWC * pot_ml, holds_ml), div_up(AIR_DOUBT_VWC * pot_ml, holds_ml)


def ends(air, wet, air_at_pm):
    """(fault, [(raw, pm), (raw, pm)]) from (raw, spread, drift) in air and at container capacity.

    The wet end is moved towards the air's by its doubt. air_at_pm: as air_pm gives it.
    """
    span = abs(wet[0] - air[0])
    spread = max(air[1], wet[1])
    if span < _SPAN_RAW or span < _SPAN_SPREADS * spread:
        return SPAN, []
    doubt = doubt_raw(wet[1], wet[2])
    moved = wet[0] - doubt if wet[0] > air[0] else wet[0] + doubt
    if abs(moved - air[0]) < max(_SPAN_RAW, _SPAN_SPREADS * spread):
        return SPAN, []
    return FINE, [(air[0], air_at_pm), (moved, 1000)]


def curve(measured):
    """Points for the board along the law, from measured (raw, pm) by rising pm, two or more.

    Those measured stay; what is left of the six goes, one by one, into the middle of
    the gap in which the straight line strays furthest from the law.
    """
    points = [tuple(point) for point in measured]
    while len(points) < _POINTS:
        gaps = [(_strays(one, other), one, other) for one, other in zip(points, points[1:])]
        worst, one, other = max(gaps)
        if worst <= _STRAYS_PM:
            break
        pm = (one[1] + other[1]) // 2
        raw = law_raw(one, other, pm)
        if not min(one[0], other[0]) < raw < max(one[0], other[0]):
            break
        points.insert(points.index(other), (raw, pm))
    return points


def law_raw(one, other, pm):
    """The reading at a moisture between or beyond two measured (raw, pm): moisture is linear in 1/raw."""
    inverse = 1 / one[0] + (1 / other[0] - 1 / one[0]) * (pm - one[1]) / (other[1] - one[1])
    return round(1 / inverse)


def _strays(one, other):
    """How far the straight line between two points strays from the law at half its pm, in pm."""
    raw = law_raw(one, other, (one[1] + other[1]) / 2)
    return round(abs(one[1] + (other[1] - one[1]) * (raw - one[0]) / (other[0] - one[0]) - (one[1] + other[1]) / 2))


def doubts_pm(measured, doubts):
    """Uncertainty in pm at each of 1000, 750, 500 and 250 pm: the nearer a measured point, the more it counts.

    doubts: pm, one for each measured point.
    """
    found = []
    for pm in (1000, 750, 500, 250):
        rows = list(zip(measured, doubts))
        for (one, doubt_one), (other, doubt_other) in zip(rows, rows[1:]):
            if one[1] <= pm <= other[1]:
                share = (pm - one[1]) / (other[1] - one[1])
                found.append((pm, round(doubt_one * (1 - share) + doubt_other * share)))
                break
    return found


def scale_pm(full_g, now_g, holds_ml):
    """Moisture in pm by weight: 1 g of water is 1 ml.

    full_g: the pot at container capacity; now_g: the same pot now.
    """
    return 1000 - div_near((full_g - now_g) * 1000, holds_ml)


def scale_doubt_pm(read_g, holds_ml, pm):
    """Uncertainty in pm of a scale_pm of `pm`: two weighings read to read_g each, and what the pot holds, known to a
    tenth."""
    return div_up(2 * read_g * 1000, holds_ml) + div_up(1000 - pm, HOLDS_KNOWN)


def add_point(measured, raw, pm):
    """(fault, measured) with one more point in its place; one of the same pm is replaced.

    measured: (raw, pm) points, two or more, the last one at 1000 pm.
    """
    kept = [tuple(point) for point in measured if point[1] != pm]
    if not 0 < pm < 1000:
        return ORDER, list(measured)
    if len(kept) >= _POINTS:
        return FEW, list(measured)
    place = 0
    while place < len(kept) and kept[place][1] < pm:
        place += 1
    kept.insert(place, (raw, pm))
    falling = kept[0][0] > kept[len(kept) - 1][0]
    for one, other in zip(kept, kept[1:]):
        if other[0] == one[0] or (other[0] < one[0]) != falling:
            return ORDER, list(measured)
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
    # Two cups may be misread by as much either way: only what they differ by beyond that is the pump's.
    read_pm = div_up(read_ul * 1000 * count, all_ul)
    its_pm = max(0, apart_pm - 2 * read_pm)
    if its_pm > _UNEVEN_PM or any(run[1] * 1000 > 2 * flow * run[0] for run in runs):
        # No spread says that a pump is more than twice as fast as it was found to be.
        return UNEVEN, flow, apart_pm, 0
    # Two runs show about half of what many would (common practice, no source).
    seen_pm = div_up(its_pm * (count + 2), count)
    spread_pm = _SPREAD_FLOOR_PM + seen_pm + read_pm
    low_pm = LOW_UNSEEN_PM
    if low is not None:
        low_pm = div_up(low[1] * 1000000, low[0] * flow) - 1000
    if low_pm > 0:
        spread_pm += low_pm
    prime_ms = 0
    if first is not None:
        prime_ms = first[0] - first[1] * 1000 // flow
    return FINE, flow, spread_pm if spread_pm < 1000 else 1000, prime_ms if prime_ms > 0 else 0


def refilled(shorts, longs, read_ul, low=None):
    """(fault, flow in ul/s, spread in pm, priming in ms) of a pump whose tube is empty before each run.

    shorts, longs: (ms, ul) of as many short runs and long ones: what fills the tube is in both, so the flow is in the
    difference, and the priming is what is left. read_ul, low: as for pump; an eye that reads all cups too high by as
    much does no harm to a difference, so it is not counted twice.
    """
    pairs = [(long[0] - short[0], long[1] - short[1]) for short, long in zip(shorts, longs, strict=True)]
    all_ms, all_ul = sum(pair[0] for pair in pairs), sum(pair[1] for pair in pairs)
    if all_ms <= 0 or all_ul <= 0:
        return pump(pairs, None, read_ul)
    runs = shorts + longs
    fills_ms = div_near(sum(run[0] for run in runs) - sum(run[1] for run in runs) * all_ms // all_ul, len(runs))
    prime_ms = max(0, fills_ms)
    if low is not None:
        # As if its tube had been full, for that brings no less.
        low = (low[0], low[1] + prime_ms * all_ul // all_ms)
    fault, flow, spread_pm, _ = pump(pairs, None, read_ul, low)
    return fault, flow, spread_pm, 0 if fault else prime_ms


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
NOT_TRIED = 4


def answer(channel, moved):
    """(verdict, channel that rose) after a pulse to `channel`; -1 where none or several."""
    most = max(moved)
    if most == 0:
        return SILENT, -1
    leaders = [index for index, value in enumerate(moved) if value * _LEADS_TIMES > most]
    if len(leaders) > 1:
        return UNCLEAR, -1
    return (RIGHT if leaders[0] == channel else CROSSED), leaders[0]
