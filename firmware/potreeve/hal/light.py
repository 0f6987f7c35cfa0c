"""Light on the sill in lux."""

import time

from potreeve.hal import adc
from potreeve.logic import light


def open_light(board, i2c):
    """rig.light of the kind the board file names."""
    kind = board["sensors"]["light"]
    if kind == "bh1750" and i2c is not None:
        return Bh1750(i2c, board["sensors"]["light_address"], board["sensors"]["light_mtreg"])
    if kind == "photodiode":
        return Photodiode(board)
    return NoLight()


class NoLight:
    """A rig without the sensor."""

    def read_lx(self):
        """-1."""
        return -1


class Bh1750:
    """BH1750, one high-resolution measurement at a time; it powers itself down afterwards."""

    def __init__(self, i2c, address, mtreg):
        self._i2c = i2c
        self._address = address
        self._mtreg = mtreg

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


class Photodiode:
    """A photodiode and its amplifier on an ADC pin."""

    def __init__(self, board):
        sensors = board["sensors"]
        self._vref_mv = board["adc"]["vref_mv"]
        self._adc = adc.open_adc(board, board["pins"]["light_adc"])
        self._curve = (
            sensors["photodiode_dark_mv"],
            sensors["photodiode_lx_per_v"],
            sensors["photodiode_knee_mv"],
            sensors["photodiode_upper_lx_per_v"],
        )

    def read_lx(self):
        """Lux, or -1 if the pin can't be read."""
        try:
            mv = adc.read_mv(self._adc, self._vref_mv)
        except OSError:
            return -1
        return light.photodiode_lx(mv, *self._curve)
