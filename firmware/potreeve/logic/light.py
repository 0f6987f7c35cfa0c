"""Light sensor BH1750: from counts to whole lux.

lux = counts / 1.2 * 69 / MTreg (ROHM BH1750FVI technical note). The
1.2 counts per lux are typical, 0.96 to 1.44 between parts: 20 % either way.
"""

MTREG_DEFAULT = 69
MTREG_LOW = 31
MTREG_HIGH = 254


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
