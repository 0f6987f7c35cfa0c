"""The tub's level by floats on pins.

A float's contact closes to ground while it floats. So a broken wire says "down", which calls and is tried, and never
hides an empty tub.
"""

import time

from machine import Pin

# Water that was just poured rocks a float: the majority of so many looks, so far apart.
_LOOKS = 5
_APART_MS = 10


class Floats:
    """rig.tub_sensor of tub_kind "floats". Pull-ups are on only while read, so that floats cost no charge asleep."""

    def __init__(self, board):
        self._pins = board["extras"]["tub_pins"]

    def read(self, settings, last=0):
        """Readings.tub_mark; see logic/tub_marks.py. A float has play of its own and need not know the last."""
        from potreeve.logic.tub_marks import float_mark

        return float_mark(self.pattern(), len(self._pins))

    def pattern(self):
        """Floats that are up, as bits; bit 0 the lowest."""
        pins = [Pin(number, Pin.IN, Pin.PULL_UP) for number in self._pins]
        up = [0] * len(pins)
        for _ in range(_LOOKS):
            time.sleep_ms(_APART_MS)
            for index, pin in enumerate(pins):
                up[index] += 1 - pin.value()
        pattern = 0
        for index, number in enumerate(self._pins):
            Pin(number, Pin.IN, None)
            if up[index] * 2 > _LOOKS:
                pattern |= 1 << index
        return pattern
