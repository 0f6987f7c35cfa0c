"""A board's counter of milliseconds or microseconds, as MicroPython has it: it wraps, and is compared accordingly."""

PERIOD = 1 << 30
HALF = PERIOD // 2


def ticks_diff(later, earlier):
    return (later - earlier + HALF) % PERIOD - HALF


def ticks_add(ticks, by):
    return (ticks + by) % PERIOD
