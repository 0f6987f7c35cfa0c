"""The station's time: goes on evenly whatever becomes of the wall clock, which is only shown."""

import time


def even_s():
    """Seconds that never go back and count a suspended host's sleep, where the system can."""
    if hasattr(time, "CLOCK_BOOTTIME"):
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    return time.monotonic()


def wall_s():
    """Seconds since 1970 by the host's clock."""
    return time.time()
