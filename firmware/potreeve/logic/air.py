"""Air sensors: from registers and raw words to hundredths of a degree and per mille.

BME280 and BMP280: the makers' 32-bit compensation formulas (Bosch BME280 data
sheet, sections 4.2.3 and 8.2). SHT4x: conversion and CRC of the Sensirion
SHT4x data sheet, section 4 (from memory).

A reading that can't be one is None, never a plausible number: a skipped or
unpowered channel, a calibration block of nothing but zeros or ones, a value
outside the chip's working range.
"""

from potreeve.logic.units import clamp, const

_BME280_ID = const(0x60)
BMP280_IDS = (0x56, 0x57, 0x58)

# What the data conversion leaves when a channel was not measured.
_SKIPPED_20BIT = const(0x80000)
_SKIPPED_16BIT = const(0x8000)

# Working range of the chip (BME280 data sheet, Table 1).
_BME280_LOW_CDEG = const(-4000)
_BME280_HIGH_CDEG = const(8500)

# Places in the tuple that parse_bme280 returns.
T1, T2, T3, P1, P2, P3, P4, P5, P6, P7, P8, P9, H1, H2, H3, H4, H5, H6 = range(18)


def has_humidity(chip_id):
    """1 for a BME280, 0 for a BMP280 (which many boards sold as BME280 are), -1 for anything else."""
    if chip_id == _BME280_ID:
        return 1
    if chip_id in BMP280_IDS:
        return 0
    return -1


def _unsigned(block, at):
    return block[at] | block[at + 1] << 8


def _signed(value, bits):
    """Two's complement value of `bits` bits as a signed integer."""
    if value >= 1 << (bits - 1):
        return value - (1 << bits)
    return value


def _blank(block):
    """True if every byte is 0x00 or every byte is 0xff: a dead bus, not a calibration."""
    first = block[0]
    if first != 0x00 and first != 0xFF:
        return False
    for byte in block:
        if byte != first:
            return False
    return True


def parse_bme280(first, second):
    """Calibration of a BME280 or BMP280 as a tuple of 18 integers: T1-T3, P1-P9, H1-H6.

    first: registers 0x88..0xA1 (26 bytes; a BMP280's 24 bytes do as well).
    second: registers 0xE1..0xE7 (7 bytes), or b"" for a BMP280, whose H1-H6
    are 0. None if the blocks have other lengths or hold no calibration.
    Layout: BME280 data sheet, Table 16.
    """
    if len(first) not in (24, 26) or len(second) not in (0, 7) or _blank(first):
        return None
    words = [_unsigned(first, 0)]
    for at in range(2, 24, 2):
        word = _unsigned(first, at)
        # T1 and P1 (at 6) are unsigned, all others signed.
        words.append(word if at == 6 else _signed(word, 16))
    if words[T1] == 0:
        return None
    if len(second) == 0:
        return tuple(words + [0, 0, 0, 0, 0, 0])
    if len(first) != 26 or _blank(second):
        return None
    words.append(first[25])
    words.append(_signed(_unsigned(second, 0), 16))
    words.append(second[2])
    words.append(_signed(second[3] << 4 | second[4] & 0x0F, 12))
    words.append(_signed(second[5] << 4 | second[4] >> 4, 12))
    words.append(_signed(second[6], 8))
    return tuple(words)


def bme280_words(data):
    """Raw words (adc_t, adc_h) of registers 0xF7..0xFE (8 bytes; a BMP280's 6 give adc_h = 0x8000). Pressure is not
    used."""
    adc_h = data[6] << 8 | data[7] if len(data) > 6 else _SKIPPED_16BIT
    return data[3] << 12 | data[4] << 4 | data[5] >> 4, adc_h


def bme280_fine(calibration, adc_t):
    """Fine temperature that the other channels are compensated with, or None if there is no reading.

    adc_t: 20-bit raw word. 0x80000 means skipped; 0 and 0xfffff are a dead bus.
    Not bound to the chip's range: see bme280_cdeg.
    """
    if adc_t in (_SKIPPED_20BIT, 0, 0xFFFFF):
        return None
    coarse = ((adc_t >> 3) - (calibration[T1] << 1)) * calibration[T2] >> 11
    bow = (adc_t >> 4) - calibration[T1]
    return coarse + ((bow * bow >> 12) * calibration[T3] >> 14)


def bme280_cdeg(fine):
    """Temperature in 0.01 degC from the fine temperature, or None outside -40..85 degC or without a reading."""
    if fine is None:
        return None
    cdeg = fine * 5 + 128 >> 8
    if cdeg < _BME280_LOW_CDEG or cdeg > _BME280_HIGH_CDEG:
        return None
    return cdeg


def bme280_rh_q10(calibration, adc_h, fine):
    """Relative humidity in 1/1024 %, 0..102400, or None without a reading.

    calibration must be a BME280's; a BMP280's humidity words are all 0, which
    gives None.
    """
    c = calibration
    if fine is None or adc_h in (_SKIPPED_16BIT, 0, 0xFFFF) or c[H2] == 0:
        return None
    v = fine - 76800
    gain = (v * c[H6] >> 10) * ((v * c[H3] >> 11) + 32768) >> 10
    gain = (gain + 2097152) * c[H2] + 8192 >> 14
    v = ((adc_h << 14) - (c[H4] << 20) - c[H5] * v + 16384 >> 15) * gain
    v -= ((v >> 15) * (v >> 15) >> 7) * c[H1] >> 4
    return clamp(v, 0, 419430400) >> 12


def bme280(calibration, data):
    """(temp_cdeg, rh_pm) of a forced measurement; each None if it is no reading.

    data: registers 0xF7.. (8 bytes, 6 for a BMP280). calibration: parse_bme280.
    Without a believable temperature nothing is believed, since it compensates
    the rest.
    """
    adc_t, adc_h = bme280_words(data)
    fine = bme280_fine(calibration, adc_t)
    cdeg = bme280_cdeg(fine)
    if cdeg is None:
        return None, None
    rh = bme280_rh_q10(calibration, adc_h, fine)
    rh_pm = None if rh is None else rh * 10 + 512 >> 10
    return cdeg, rh_pm
