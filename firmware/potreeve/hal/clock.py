"""Ticks and wall clock. Time that can't be believed is 0, never a plausible date."""

import time

import machine

# Ports count from 1970 or from 2000; Unix seconds are what leaves here.
EPOCH_S = 946684800 if time.gmtime(0)[0] == 2000 else 0
# Boards wake up in 2000 or 2021; nothing before this firmware existed can be true.
BELIEVABLE_FROM_S = 1704067200
BELIEVABLE_TO_S = 4102444800


def believable(unix_s):
    """unix_s if it lies in 2024..2099, else 0."""
    return unix_s if BELIEVABLE_FROM_S <= unix_s < BELIEVABLE_TO_S else 0


class Clock:
    """rig.clock. chip: the external clock of a latched board, whose time outlives the power, or None."""

    def __init__(self, chip):
        self._chip = chip

    def ticks_ms(self):
        """Millisecond counter; wraps (after 12.4 days on boards)."""
        return time.ticks_ms()

    def ticks_diff(self, later, earlier):
        """Milliseconds between two ticks; right up to half the counter's period (6.2 days on boards)."""
        return time.ticks_diff(later, earlier)

    def ticks_add(self, ticks, ms):
        """The tick ms later; ms may be negative."""
        return time.ticks_add(ticks, ms)

    def sleep_ms(self, ms):
        """Wait, awake; for moments, not for sleep."""
        time.sleep_ms(ms)

    def utc_s(self):
        """Unix seconds, or 0 if the wall clock is not believable."""
        if self._chip is not None:
            unix_s = believable(self._chip.read_utc())
            if unix_s:
                return unix_s
        return believable(int(time.time()) + EPOCH_S)

    def set_utc(self, unix_s):
        """Set the wall clock, and the external clock if there is one; raises OSError if that one does not answer."""
        t = time.gmtime(unix_s - EPOCH_S)
        machine.RTC().datetime((t[0], t[1], t[2], t[6], t[3], t[4], t[5], 0))
        if self._chip is not None:
            self._chip.set_utc(unix_s)
