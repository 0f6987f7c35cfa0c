"""Vectors of logic.air: (function, arguments, expected). Both interpreters run them.

Expected values of the worked example and of the CRC: see
host_tests/external/test_air_datasheet.py. The others follow from the registers'
layout, from the ranges, or were worked out with the makers' double-precision
formulas and rounded.
"""

MODULE = "air"

EXAMPLE = (27504, 26435, -1000, 36477, -10685, 3024, 2855, 140, -7, 15500, -14600, 6000, 75, 370, 0, 313, 50, 30)
FIRST = b"\x70\x6b\x43\x67\x18\xfc\x7d\x8e\x43\xd6\xd0\x0b\x27\x0b\x8c\x00\xf9\xff\x8c\x3c\xf8\xc6\x70\x17\x00\x4b"
SECOND = b"\x72\x01\x00\x13\x29\x03\x1e"
NO_P1 = EXAMPLE[:3] + (0,) + EXAMPLE[4:]
NO_HUMIDITY = EXAMPLE[:12] + (0, 0, 0, 0, 0, 0)
FINE = 128422

VECTORS = [
    ("has_humidity", (0x60,), 1),
    ("has_humidity", (0x56,), 0),
    ("has_humidity", (0x57,), 0),
    ("has_humidity", (0x58,), 0),
    ("has_humidity", (0x55,), -1),
    ("has_humidity", (0x61,), -1),
    ("has_humidity", (0x00,), -1),
    ("has_humidity", (0xFF,), -1),
    # calibration blocks
    ("parse_bme280", (FIRST, SECOND), EXAMPLE),
    ("parse_bme280", (FIRST[:24], b""), NO_HUMIDITY),
    ("parse_bme280", (FIRST, b""), NO_HUMIDITY),
    ("parse_bme280", (FIRST[:24], SECOND), None),
    ("parse_bme280", (FIRST[:25], SECOND), None),
    ("parse_bme280", (FIRST, SECOND[:6]), None),
    ("parse_bme280", (b"", b""), None),
    ("parse_bme280", (b"\x00" * 26, SECOND), None),
    ("parse_bme280", (b"\xff" * 26, SECOND), None),
    ("parse_bme280", (FIRST, b"\x00" * 7), None),
    ("parse_bme280", (FIRST, b"\xff" * 7), None),
    ("parse_bme280", (b"\x00\x00" + FIRST[2:], SECOND), None),
    # every word at its extreme: T1 and P1 unsigned, H4 and H5 12 bits signed, H6 8 bits signed
    (
        "parse_bme280",
        (b"\xff\xff\x00\x80\xff\x7f\xff\xff" + b"\x00\x80" * 8 + b"\x00\xff", b"\x00\x80\xff\x80\x08\x80\x80"),
        (65535, -32768, 32767, 65535) + (-32768,) * 8 + (255, -32768, 255, -2040, -2048, -128),
    ),
    (
        "parse_bme280",
        (b"\x01\x00" + b"\xff\x7f" * 11 + b"\x00\x00", b"\xff\x7f\x00\x7f\xff\x7f\x7f"),
        (1, 32767, 32767, 32767) + (32767,) * 8 + (0, 32767, 0, 2047, 2047, 127),
    ),
    # raw words
    ("bme280_words", (b"\x65\x5a\xc0\x7e\xed\x00\x75\x30",), (519888, 30000)),
    ("bme280_words", (b"\x80\x00\x00\x80\x00\x00\x80\x00",), (0x80000, 0x8000)),
    ("bme280_words", (b"\x80\x00\x00\x7e\xed\x00",), (519888, 0x8000)),
    ("bme280_words", (b"\xff" * 8,), (0xFFFFF, 0xFFFF)),
    # temperature
    ("bme280_fine", (EXAMPLE, 519888), FINE),
    ("bme280_fine", (EXAMPLE, 0x80000), None),
    ("bme280_fine", (EXAMPLE, 0), None),
    ("bme280_fine", (EXAMPLE, 0xFFFFF), None),
    ("bme280_cdeg", (FINE,), 2508),
    ("bme280_cdeg", (None,), None),
    ("bme280_cdeg", (0,), 0),
    ("bme280_cdeg", (-1,), 0),
    ("bme280_cdeg", (-26,), -1),
    ("bme280_cdeg", (-77,), -2),
    ("bme280_cdeg", (-204800,), -4000),
    ("bme280_cdeg", (-204851,), None),
    ("bme280_cdeg", (435200,), 8500),
    ("bme280_cdeg", (435251,), None),
    # humidity in 1/1024 %
    ("bme280_rh_q10", (EXAMPLE, 30000, FINE), 57552),
    ("bme280_rh_q10", (EXAMPLE, 30000, None), None),
    ("bme280_rh_q10", (EXAMPLE, 0x8000, FINE), None),
    ("bme280_rh_q10", (EXAMPLE, 0, FINE), None),
    ("bme280_rh_q10", (EXAMPLE, 0xFFFF, FINE), None),
    ("bme280_rh_q10", (NO_HUMIDITY, 30000, FINE), None),
    ("bme280_rh_q10", (EXAMPLE, 1, FINE), 0),
    ("bme280_rh_q10", (EXAMPLE, 0xFFFE, FINE), 102400),
    # the whole measurement
    ("bme280", (EXAMPLE, b"\x65\x5a\xc0\x7e\xed\x00\x75\x30"), (2508, 562)),
    ("bme280", (EXAMPLE, b"\x80\x00\x00\x7e\xed\x00\x75\x30"), (2508, 562)),
    ("bme280", (EXAMPLE, b"\x65\x5a\xc0\x7e\xed\x00\x80\x00"), (2508, None)),
    ("bme280", (NO_HUMIDITY, b"\x65\x5a\xc0\x7e\xed\x00"), (2508, None)),
    ("bme280", (EXAMPLE, b"\x65\x5a\xc0\x80\x00\x00\x75\x30"), (None, None)),
    ("bme280", (EXAMPLE, b"\x65\x5a\xc0\xf0\x00\x00\x75\x30"), (None, None)),
    ("bme280", (EXAMPLE, b"\x00" * 8), (None, None)),
]
