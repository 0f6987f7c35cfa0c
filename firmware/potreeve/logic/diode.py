"""A photodiode's millivolts as whole lux.

There is no standard; the owner states its slope, or two slopes where the amplifier
bends over.
"""

# No sill is brighter: direct sun at noon is about 100 klx (common knowledge, no source).
LX_MAX = 200000


def lux(mv, dark_mv, lx_per_v, knee_mv, upper_lx_per_v):
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
