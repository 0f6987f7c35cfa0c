"""Floats or a strip in the tub as a mark, and what the tub holds there.

A mark is what Readings.tub_mark and the record hold: 0 no sensor, else 1 + how many floats are up, 15 a pattern that
can't be.
"""

from potreeve.logic import record
from potreeve.logic.units import const

NO_MARK = record.TUB_NONE
EMPTY = 1
ODD = record.TUB_ODD

# A rail within 1 % of full scale or zero is a wire, as with probes (common practice, no source).
RAIL_LOW_RAW = 655
RAIL_HIGH_RAW = 64880

# So far beyond a mark of a strip its water is clearly back: half of what two marks lie apart at the least, see tub_keys
# (common practice, no source).
_CLEAR_RAW = const(150)


def float_mark(pattern, count):
    """Mark of `count` floats, bit 0 the lowest, 1 up: ODD where one is down below another that is up."""
    if pattern & (pattern + 1) or pattern >> count:
        return ODD
    mark = EMPTY
    while pattern:
        pattern >>= 1
        mark += 1
    return mark


def strip_mark(raw, table, last=NO_MARK):
    """Mark of a strip that gives `raw`; table: settings["tub"] or None; last: the mark believed so far. ODD at a rail,
    or where it was not measured.

    A mark that was left is reached again only clearly beyond it: where the water stands at one for a day, noise would
    else pass for a jug that somebody poured in.
    """
    strip = table["strip"] if table else ()
    if not strip or not RAIL_LOW_RAW < raw < RAIL_HIGH_RAW:
        return ODD
    falls = strip[1][0] < strip[0][0]
    mark = EMPTY
    for at, number in strip[1:]:
        beyond = at - raw if falls else raw - at
        if beyond >= (_CLEAR_RAW if NO_MARK < last <= number else 0):
            mark = 1 + number
    return mark


def marks(table):
    """What the tub holds at each mark, in ml, from below; one at least."""
    found = [table["mark1_ml"]]
    for key in ("mark2_ml", "mark3_ml", "mark4_ml"):
        if table[key]:
            found.append(table[key])
    return found


def bounds(mark, table):
    """(least, most) ml of the tub at a mark of 1 and more."""
    at = marks(table)
    up = mark - 1
    return at[up - 1] if up else 0, at[up] if up < len(at) else table["full_ml"]
