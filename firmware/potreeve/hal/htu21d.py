"""Air temperature and humidity over I2C: HTU21D, SHT21, Si7021."""

import time

from potreeve.logic import htu21d


class Htu21d:
    """rig.climate: temperature (command 0xF3), then humidity (0xF5), the bus free meanwhile."""

    def __init__(self, i2c, address):
        self._i2c = i2c
        self._address = address

    def read(self):
        """(temp_cdeg, rh_pm), or None if anything is amiss; tried afresh next time."""
        try:
            # The slowest of the three takes 85 ms and 29 ms (SHT21, from memory).
            return htu21d.reading(self._ask(b"\xf3", 90), self._ask(b"\xf5", 32))
        except OSError:
            return None

    def _ask(self, command, ms):
        self._i2c.writeto(self._address, command)
        time.sleep_ms(ms)
        return self._i2c.readfrom(self._address, 3)
