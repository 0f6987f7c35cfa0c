"""Light on the sill in lux over I2C: BH1750."""

import time

from potreeve.logic import light


class Bh1750:
    """rig.light: one high-resolution measurement at a time; it powers itself down afterwards."""

    def __init__(self, board, i2c):
        self._i2c = i2c
        self._address = board["sensors"]["light_address"]
        self._mtreg = board["sensors"]["light_mtreg"]

    def read_lx(self):
        """Lux, or -1 if it does not answer."""
        try:
            for command in (0x01, 0x40 | self._mtreg >> 5, 0x60 | self._mtreg & 0x1F, 0x20):
                self._i2c.writeto(self._address, bytes((command,)))
            time.sleep_ms(light.bh1750_wait_ms(self._mtreg))
            data = self._i2c.readfrom(self._address, 2)
        except OSError:
            return -1
        return light.bh1750_lx(data[0] << 8 | data[1], self._mtreg, 0)
