"""Vectors of logic.htu21d: (function, arguments, expected). Both interpreters run them."""

MODULE = "htu21d"

WARM, DAMP = b"\x68\x3a\x7c", b"\x4e\x85\x6b"

VECTORS = [
    ("reading", (WARM, DAMP), (2469, 323)),
    ("reading", (DAMP, WARM), (704, 449)),
    ("reading", (WARM, b"\x4e\x85\x6a"), None),
    ("reading", (b"\x68\x3a\x7d", DAMP), None),
    ("reading", (b"", DAMP), None),
    ("reading", (WARM, b""), None),
    ("reading", (WARM, b"\x4e\x85"), None),
    ("reading", (b"\xff\xff\xff", b"\xff\xff\xff"), None),
    # Coldest and hottest that are believed, one step further, driest and dampest.
    ("reading", (b"\t\xfc<", b"\x00\x02b"), (-4000, 0)),
    ("reading", (b"\t\xf8\xf8", b"\x00\x02b"), None),
    ("reading", (b"\xfa\\\xf5", b"\xff\xfe\x1c"), (12500, 1000)),
    ("reading", (b"\xfa`M", b"\xff\xfe\x1c"), None),
]
