"""Light sensors: from counts or millivolts to whole lux.

BH1750: lux = counts / 1.2 * 69 / MTreg (ROHM BH1750FVI technical note). The
1.2 counts per lux are typical, 0.96 to 1.44 between parts: 20 % either way.
Photodiode: no such standard; the owner states its slope, or two slopes where
the amplifier bends over.
"""

MTREG_DEFAULT = 69
MTREG_LOW = 31
MTREG_HIGH = 254

# No sill is brighter: direct sun at noon is about 100 klx (common knowledge, no source).
LX_MAX = 200000


def bh1750_lx(counts, mtreg, fine):
    """Lux of a 16-bit count, or -1 if counts or mtreg are out of range.

    counts: 0..65535; 65535 is a clipped reading and stands for "at least".
    mtreg: 31..254, 69 unless set. fine: 1 in high-resolution mode 2, which
    counts twice, else 0.
    """
    if counts < 0 or counts > 65535 or mtreg < MTREG_LOW or mtreg > MTREG_HIGH:
        return -1
    # counts / 1.2 * 69 / mtreg = counts * 115 / (2 * mtreg), rounded to the nearest.
    whole = (4 if fine else 2) * mtreg
    return (counts * 115 + whole // 2) // whole


def bh1750_wait_ms(mtreg):
    """Longest time of a high-resolution measurement in ms: 180 at MTreg 69, in proportion otherwise."""
    return (180 * mtreg + MTREG_DEFAULT - 1) // MTREG_DEFAULT


def photodiode_lx(mv, dark_mv, lx_per_v, knee_mv, upper_lx_per_v):
    """Lux of a photodiode's voltage, 0..200000, or -1 if mv is negative (no reading).

    mv: 0..5000. dark_mv: its voltage in the dark. lx_per_v: slope in lux per
    volt, 0..200000. knee_mv: voltage above which upper_lx_per_v holds
    instead; 0 for one straight line.
    """
    if mv < 0:
        return -1
    above_mv = mv - dark_mv
    if above_mv <= 0:
        return 0
    bend_mv = knee_mv - dark_mv
    if knee_mv <= 0 or above_mv <= bend_mv:
        lx = (above_mv * lx_per_v + 500) // 1000
    else:
        # A knee below the dark voltage leaves only the upper slope.
        low_mv = bend_mv if bend_mv > 0 else 0
        lx = (low_mv * lx_per_v + 500) // 1000 + ((above_mv - low_mv) * upper_lx_per_v + 500) // 1000
    return lx if lx < LX_MAX else LX_MAX
