"""The tub's level by a strip that gives a voltage like a probe."""

from potreeve.hal import parts


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

    def read(self, settings, last=0):
        """Readings.tub_mark; last: the mark believed so far. See logic/tub_marks.py."""
        from potreeve.logic.tub_marks import strip_mark

        return strip_mark(self.raw(), settings.get("tub"), last)
