"""Vectors of logic.sht4x: (function, arguments, expected). Both interpreters run them."""

MODULE = "sht4x"

VECTORS = [
    ("crc8", (b"\xbe\xef",), 0x92),
    ("crc8", (b"",), 0xFF),
    ("crc8", (b"\x00\x00",), 0x81),
    ("reading", (b"\xbe\xef\x92\xbe\xef\x92",), (8552, 872)),
    ("reading", (b"\xbe\xef\x93\xbe\xef\x92",), None),
    ("reading", (b"\xbe\xef\x92\xbe\xef\x90",), None),
    ("reading", (b"\xbe\xef\x92\xbe\xef",), None),
    ("reading", (b"",), None),
    ("reading", (b"\x00\x00\x81\xbe\xef\x92",), None),
    ("reading", (b"\xff\xff\xac\xbe\xef\x92",), None),
    ("reading", (b"\xbe\xef\x92\x00\x00\x81",), (8552, 0)),
    ("reading", (b"\xbe\xef\x92\xff\xff\xac",), (8552, 1000)),
]
