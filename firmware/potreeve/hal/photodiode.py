"""Light on the sill in lux: a photodiode and its amplifier on an ADC pin."""

from potreeve.hal import parts
from potreeve.logic import diode


class Photodiode:
    """rig.light."""

    def __init__(self, board, i2c):
        sensors = board["sensors"]
        self._vref_mv = board["adc"]["vref_mv"]
        self._adc = parts.open_adc(board, board["pins"]["light_adc"])
        self._curve = (
            sensors["photodiode_dark_mv"],
            sensors["photodiode_lx_per_v"],
            sensors["photodiode_knee_mv"],
            sensors["photodiode_upper_lx_per_v"],
        )

    def read_lx(self):
        """Lux, or -1 if the pin can't be read."""
        try:
            mv = parts.read_mv(self._adc, self._vref_mv)
        except OSError:
            return -1
        return diode.lux(mv, *self._curve)
