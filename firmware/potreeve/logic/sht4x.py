"""SHT4x: from its words to hundredths of a degree and per mille.

Conversion and CRC of the Sensirion SHT4x data sheet, section 4 (from memory). A word
whose CRC does not fit, or a value outside the chip's range, is None.
"""

from potreeve.logic.units import clamp, const, div_near

# Working range (SHT4x data sheet, -40 to 125).
_LOW_CDEG = const(-4000)
_HIGH_CDEG = const(12500)


def crc8(data, crc=0xFF):
    """Sensirion's CRC-8: polynomial 0x31, start 0xff (HTU21D: 0), no reflection, no final inversion."""
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc << 1 ^ 0x31) & 0xFF if crc & 0x80 else crc << 1
    return crc


def reading(data):
    """(temp_cdeg, rh_pm) from an SHT4x's six bytes (word, CRC, word, CRC), or None if they can't be believed.

    T = -45 + 175 * word / 65535 degC; RH = -6 + 125 * word / 65535 %, held to
    0..100 % as the data sheet asks.
    """
    if len(data) != 6 or crc8(data[0:2]) != data[2] or crc8(data[3:5]) != data[5]:
        return None
    # 17500 / 65535 and 1250 / 65535 in lowest terms, which keeps the products small.
    cdeg = div_near((data[0] << 8 | data[1]) * 3500, 13107) - 4500
    if cdeg < _LOW_CDEG or cdeg > _HIGH_CDEG:
        return None
    rh_pm = div_near((data[3] << 8 | data[4]) * 250, 13107) - 60
    return cdeg, clamp(rh_pm, 0, 1000)
