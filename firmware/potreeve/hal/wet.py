"""Water in the tray: two wires or a float, a resistor across their far end, driven only while read.

    drive A --- 47 k --+--- wire ---+
                       |            |
                     sense        100 k at the far end, and water, or a float's contact in series with 10 k
                                    |
    drive B ---------- wire --------+

Both ways round for the same time, so that no metal wanders; between readings no pin drives.
"""

import time

from machine import Pin

from potreeve.hal import parts
from potreeve.logic.units import const

# So long for cable and electrodes to settle, and so often each way.
_SETTLE_MS = const(5)
_TURNS = const(3)


class TrayProbe:
    """rig.tray_sensor."""

    def __init__(self, board):
        *self._drives, sense = board["extras"]["tray_probe"]
        self._vref_mv = board["adc"]["vref_mv"]
        self._adc = parts.open_adc(board, sense)
        self._let_go()

    def millivolts(self):
        """(forth, back): on the sense wire, in mV, drive A high and drive B high."""
        forth = back = 0
        try:
            for _ in range(_TURNS):
                forth += self._one(1)
                back += self._one(0)
        finally:
            self._let_go()
        return forth // _TURNS, back // _TURNS

    def read(self, settings):
        """record.TRAY_...; settings: as settings.check gives them."""
        # Loaded where it is needed: a board in service has no room for it.
        from potreeve.logic import wet

        return wet.classify(*self.millivolts(), settings)

    def _one(self, first):
        for number, level in zip(self._drives, (first, 1 - first)):
            Pin(number, Pin.OUT, value=level)
        time.sleep_ms(_SETTLE_MS)
        return parts.read_mv(self._adc, self._vref_mv)

    def _let_go(self):
        for number in self._drives:
            Pin(number, Pin.IN)
