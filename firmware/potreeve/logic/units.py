"""Integer arithmetic the other modules share, and the bounds they keep to.

Small integers on 32-bit boards run from -2**30 to 2**30 - 1. Results beyond
that are still right, but each costs an allocation.
"""

DAY_S = 86400
HOUR_S = 3600


def const(value):
    """`value`. MicroPython's compiler puts it in place of a private name given by it,
    which then takes no room in flash or heap."""
    return value


def clamp(value, low, high):
    """`value`, or the nearer bound when it lies outside low..high."""
    if value < low:
        return low
    if value > high:
        return high
    return value


def div_up(value, divisor):
    """Quotient rounded towards plus infinity; divisor > 0."""
    return -(-value // divisor)


def div_near(value, divisor):
    """Quotient rounded to the nearest integer, halves up; divisor > 0."""
    return (2 * value + divisor) // (2 * divisor)


def ease(old, new, weight):
    """Move `old` by 1/weight of the way to `new`, always by at least one.

    An exponential average in integers stalls below `weight` counts from its
    goal; the extra count keeps it honest.
    """
    gap = new - old
    if gap == 0:
        return old
    moved = gap // weight if gap > 0 else -((-gap) // weight)
    if moved == 0:
        moved = 1 if gap > 0 else -1
    return old + moved


def between(x, x0, y0, x1, y1):
    """Linear interpolation (or extrapolation) through two points, x0 != x1.

    Rounded to the nearest integer, so that both ends come back exactly.
    """
    run = x1 - x0
    rise = (x - x0) * (y1 - y0)
    if run < 0:
        run = -run
        rise = -rise
    return y0 + div_near(rise, run)
