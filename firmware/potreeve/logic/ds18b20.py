"""DS18B20: from the nine bytes of its scratchpad to hundredths of a degree.

Layout, CRC, configuration and the value after a start: DS18B20 data sheet, "Memory" and "CRC generation" (from memory).
"""

from potreeve.logic.record import NO_TEMP, SOIL_HIGH_CDEG, SOIL_LOW_CDEG, SOIL_STEP_CDEG
from potreeve.logic.units import const

BYTES = 9

# Sixteenths of a degree that stand there from the start until something was measured: 85 degC.
_NOT_MEASURED = const(0x0550)

# Of the configuration's byte these bits can't be otherwise: a wire to ground gives nine zeros, whose CRC fits.
_CONFIG_MASK = const(0x9F)
_CONFIG = const(0x1F)


def crc8(data):
    """The maker's CRC-8: x^8 + x^5 + x^4 + 1, lowest bit first, start 0."""
    crc = 0
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ 0x8C if crc & 1 else crc >> 1
    return crc


def reading(data):
    """temp_cdeg in whole quarters of a degree, or NO_TEMP where the bytes can't be believed.

    Also where they say what no pot on a sill is; a record has no room for it.
    """
    if len(data) != BYTES or crc8(data[:8]) != data[8] or data[4] & _CONFIG_MASK != _CONFIG:
        return NO_TEMP
    sixteenths = data[1] << 8 | data[0]
    if sixteenths == _NOT_MEASURED:
        return NO_TEMP
    if sixteenths & 0x8000:
        sixteenths -= 0x10000
    # What is finer than a quarter is not told at ten bits, and far within the sensor's half a degree.
    cdeg = (sixteenths >> 2) * SOIL_STEP_CDEG
    return cdeg if SOIL_LOW_CDEG <= cdeg <= SOIL_HIGH_CDEG else NO_TEMP
