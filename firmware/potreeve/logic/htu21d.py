"""HTU21D: from its words to hundredths of a degree and per mille. SHT21 and Si7021 speak the same (from memory).

Conversion and CRC of the maker's data sheet (Measurement Specialties, HPC199): the same
polynomial as Sensirion's, from 0. A word whose CRC does not fit, or a value outside the
chip's range, is None. The two status bits are not looked at: the data sheet's own
examples of a temperature and a humidity have those of the other kind.
"""

from potreeve.logic.sht4x import crc8
from potreeve.logic.units import clamp, const, div_near

# Working range (data sheet: -40 to 125).
_LOW_CDEG = const(-4000)
_HIGH_CDEG = const(12500)


def _word(data):
    if len(data) != 3 or crc8(data[0:2], 0) != data[2]:
        return -1
    return data[0] << 8 | data[1] & 0xFC


def reading(first, second):
    """(temp_cdeg, rh_pm) from three bytes each (word, CRC) of temperature and humidity, or None if they can't be
    believed.

    T = -46.85 + 175.72 * word / 65536 degC; RH = -6 + 125 * word / 65536 %, held to
    0..100 %.
    """
    warm = _word(first)
    damp = _word(second)
    if warm < 0 or damp < 0:
        return None
    # 17572 / 65536 and 1250 / 65536 in lowest terms, which keeps the products small.
    cdeg = div_near(warm * 4393, 16384) - 4685
    if cdeg < _LOW_CDEG or cdeg > _HIGH_CDEG:
        return None
    return cdeg, clamp(div_near(damp * 625, 32768) - 60, 0, 1000)
