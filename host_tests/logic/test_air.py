"""logic.air and logic.sht4x: what must hold for any bytes at all; their vectors are run in test_sensor_vectors.py."""

from hypothesis import given
from hypothesis import strategies as st
from potreeve.logic import air, sht4x


@given(st.binary(min_size=26, max_size=26), st.binary(min_size=7, max_size=7), st.binary(min_size=8, max_size=8))
def test_any_registers_give_a_reading_in_range_or_none(first, second, data):
    calibration = air.parse_bme280(first, second)
    if calibration is None:
        return
    cdeg, rh_pm = air.bme280(calibration, data)
    assert cdeg is None or -4000 <= cdeg <= 8500
    assert rh_pm is None or 0 <= rh_pm <= 1000
    assert cdeg is not None or rh_pm is None


@given(st.binary(max_size=8))
def test_any_bytes_give_an_sht4x_reading_in_range_or_none(data):
    reading = sht4x.reading(data)
    assert reading is None or (-4000 <= reading[0] <= 12500 and 0 <= reading[1] <= 1000)


@given(st.binary(min_size=2, max_size=2), st.integers(0, 23))
def test_crc_notices_every_single_flipped_bit(word, bit):
    frame = bytearray(word + bytes((sht4x.crc8(word),)))
    frame[bit // 8] ^= 1 << bit % 8
    assert sht4x.crc8(frame[:2]) != frame[2]
