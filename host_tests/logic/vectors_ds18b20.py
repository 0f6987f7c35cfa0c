"""Vectors of logic.ds18b20: (function, arguments, expected). Both interpreters run them.

The sum of the first is the example of the maker's application note on its CRC; 25.0625, 0.5, -0.5, -10.125 and 85 degC
with their bytes stand in the data sheet's table of temperatures (both from memory).
"""

MODULE = "ds18b20"

VECTORS = [
    ("crc8", (b"\x02\x1c\xb8\x01\x00\x00\x00",), 0xA2),
    ("crc8", (b"\x02\x1c\xb8\x01\x00\x00\x00\xa2",), 0),
    ("crc8", (b"",), 0),
    ("reading", (b"\x91\x01\x7f\x80\x3f\xff\x0c\x10\x1f",), 2500),
    # A copy that took no setting: twelve bits.
    ("reading", (b"\x91\x01\x7f\x80\x7f\xff\x0c\x10\xff",), 2500),
    ("reading", (b"\x08\x00\x7f\x80\x3f\xff\x0c\x10\x8d",), 50),
    ("reading", (b"\x00\x00\x7f\x80\x3f\xff\x0c\x10\xa7",), 0),
    ("reading", (b"\xf8\xff\x7f\x80\x3f\xff\x0c\x10\xac",), -50),
    # As after a start: nothing was measured.
    ("reading", (b"\x50\x05\x7f\x80\x3f\xff\x0c\x10\x73",), -32768),
    # The ends of what a record has room for, and beyond.
    ("reading", (b"\x60\xff\x7f\x80\x3f\xff\x0c\x10\x40",), -1000),
    ("reading", (b"\x5e\xff\x7f\x80\x3f\xff\x0c\x10\x05",), -32768),
    ("reading", (b"\x58\x03\x7f\x80\x3f\xff\x0c\x10\xd7",), 5350),
    ("reading", (b"\x5b\x03\x7f\x80\x3f\xff\x0c\x10\x12",), 5350),
    ("reading", (b"\x5c\x03\x7f\x80\x3f\xff\x0c\x10\xc2",), -32768),
    # One bit turned, in what is told, in what is not, and in the sum.
    ("reading", (b"\x90\x01\x7f\x80\x3f\xff\x0c\x10\x1f",), -32768),
    ("reading", (b"\x91\x01\x7f\x80\x3f\xfe\x0c\x10\x1f",), -32768),
    ("reading", (b"\x91\x01\x7f\x80\x3f\xff\x0c\x10\x1e",), -32768),
    # A wire to ground: the sum fits. Nobody there: it does not. A bit that can't be set.
    ("reading", (bytes(9),), -32768),
    ("reading", (b"\xff" * 9,), -32768),
    ("reading", (b"\x91\x01\x7f\x80\xff\xff\x0c\x10\x26",), -32768),
    ("reading", (b"",), -32768),
    ("reading", (b"\x91\x01\x7f\x80\x3f\xff\x0c\x10",), -32768),
]
