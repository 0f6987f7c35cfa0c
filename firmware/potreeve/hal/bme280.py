"""Air temperature and humidity over I2C: BME280, woken for one measurement at a time.

A BMP280 answers too, but has no humidity: None. A sensor that fails reads as None and is tried afresh next time.
"""

import time

from potreeve.logic import air


class Bme280:
    """rig.climate."""

    def __init__(self, i2c, address):
        self._i2c = i2c
        self._address = address
        self._calibration = None

    def read(self):
        """(temp_cdeg, rh_pm), or None if anything is amiss."""
        try:
            if self._calibration is None:
                self._calibration = self._read_calibration()
            if self._calibration is None or not self._measure():
                return None
            cdeg, rh_pm = air.bme280(self._calibration, self._get(0xF7, 8))
        except OSError:
            # Another sensor may be plugged in before the next reading.
            self._calibration = None
            return None
        if cdeg is None or rh_pm is None:
            return None
        return cdeg, rh_pm

    def _read_calibration(self):
        if air.has_humidity(self._get(0xD0, 1)[0]) != 1:
            return None
        return air.parse_bme280(self._get(0x88, 26), self._get(0xE1, 7))

    def _measure(self):
        """Measure temperature and humidity once, pressure not at all; True when done."""
        self._i2c.writeto_mem(self._address, 0xF2, b"\x01")
        self._i2c.writeto_mem(self._address, 0xF4, b"\x21")
        for _ in range(20):
            time.sleep_ms(5)
            if not self._get(0xF3, 1)[0] & 0x08:
                return True
        return False

    def _get(self, register, length):
        return self._i2c.readfrom_mem(self._address, register, length)
