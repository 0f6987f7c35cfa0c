"""Battery voltage through a divider on an ADC pin."""

from potreeve.hal import adc


class Battery:
    """rig.battery."""

    def __init__(self, board):
        number = board["pins"]["battery_adc"]
        self._vref_mv = board["adc"]["vref_mv"]
        self._divider_pm = board["adc"]["battery_divider_pm"]
        self._adc = adc.open_adc(board, number) if number >= 0 else None

    def read_mv(self):
        """Battery voltage in mV, averaged; 0 if it can't be read or no pin is wired for it."""
        if self._adc is None:
            return 0
        try:
            return adc.read_mv(self._adc, self._vref_mv) * 1000 // self._divider_pm
        except OSError:
            return 0
