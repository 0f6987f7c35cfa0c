"""The tub's level: floats on pins, or a strip that gives a voltage like a probe.

A float's contact closes to ground while it floats. So a broken wire says "down", which calls and is tried, and never
hides an empty tub.
"""

import time

from machine import Pin

from potreeve.hal import parts
from potreeve.logic.tub_marks import float_mark

# Water that was just poured rocks a float: the majority of so many looks, so far apart.
_LOOKS = 5
_APART_MS = 10


class Floats:
    """rig.tub_sensor of tub_kind "floats". Pull-ups are on only while read, so that floats cost no charge asleep."""

    def __init__(self, board):
        self._pins = board["extras"]["tub_pins"]

    def read(self, settings):
        """Readings.tub_mark; see logic/tub_marks.py."""
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


class Strip:
    """rig.tub_sensor of tub_kind "strip": one ADC pin; fed by the probes' rail, so it is read while that is on."""

    def __init__(self, board, probes):
        self._probes = probes
        self._adc = parts.open_adc(board, board["extras"]["tub_pins"][0])

    def raw(self):
        """0..65535, the median of nine; 0 if it can't be read."""
        try:
            self._probes.power(1)
            return sorted([self._adc.read_u16() for _ in range(9)])[4]
        except OSError:
            return 0
        finally:
            self._probes.power(0)

    def read(self, settings):
        """Readings.tub_mark; see logic/tub_marks.py."""
        from potreeve.logic.tub_marks import strip_mark

        return strip_mark(self.raw(), settings.get("tub"))
