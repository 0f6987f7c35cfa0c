"""Air temperature and humidity over I2C: SHT40, SHT41, SHT45."""

import time

from potreeve.logic import sht4x


class Sht4x:
    """rig.climate: one high-precision measurement at a time (command 0xFD, under 9 ms)."""

    def __init__(self, i2c, address):
        self._i2c = i2c
        self._address = address

    def read(self):
        """(temp_cdeg, rh_pm), or None if anything is amiss; tried afresh next time."""
        try:
            self._i2c.writeto(self._address, b"\xfd")
            time.sleep_ms(10)
            return sht4x.reading(self._i2c.readfrom(self._address, 6))
        except OSError:
            return None
