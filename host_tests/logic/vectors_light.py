"""Vectors of logic.light: (function, arguments, expected). Both interpreters run them.

Expected values by hand from lux = counts / 1.2 * 69 / MTreg, and from straight lines.
"""

MODULE = "light"

VECTORS = [
    ("bh1750_lx", (0, 69, 0), 0),
    ("bh1750_lx", (1, 69, 0), 1),
    ("bh1750_lx", (12, 69, 0), 10),
    ("bh1750_lx", (12, 69, 1), 5),
    ("bh1750_lx", (65535, 69, 0), 54613),
    ("bh1750_lx", (65535, 69, 1), 27306),
    ("bh1750_lx", (65535, 31, 0), 121557),
    ("bh1750_lx", (65535, 254, 0), 14836),
    ("bh1750_lx", (4660, 31, 0), 8644),
    ("bh1750_lx", (-1, 69, 0), -1),
    ("bh1750_lx", (65536, 69, 0), -1),
    ("bh1750_lx", (100, 30, 0), -1),
    ("bh1750_lx", (100, 255, 0), -1),
    ("bh1750_wait_ms", (69,), 180),
    ("bh1750_wait_ms", (31,), 81),
    ("bh1750_wait_ms", (254,), 663),
    # one slope
    ("photodiode_lx", (-1, 0, 1000, 0, 0), -1),
    ("photodiode_lx", (0, 0, 1000, 0, 0), 0),
    ("photodiode_lx", (9, 10, 1000, 0, 0), 0),
    ("photodiode_lx", (10, 10, 1000, 0, 0), 0),
    ("photodiode_lx", (11, 10, 499, 0, 0), 0),
    ("photodiode_lx", (11, 10, 500, 0, 0), 1),
    ("photodiode_lx", (1010, 10, 10000, 0, 0), 10000),
    ("photodiode_lx", (5000, 0, 200000, 0, 0), 200000),
    ("photodiode_lx", (1000, 0, 200000, 0, 0), 200000),
    ("photodiode_lx", (1000, 0, 199999, 0, 0), 199999),
    # two slopes
    ("photodiode_lx", (500, 0, 1000, 1000, 50000), 500),
    ("photodiode_lx", (1000, 0, 1000, 1000, 50000), 1000),
    ("photodiode_lx", (1001, 0, 1000, 1000, 50000), 1050),
    ("photodiode_lx", (2000, 0, 1000, 1000, 50000), 51000),
    ("photodiode_lx", (2100, 100, 1000, 1100, 50000), 51000),
    ("photodiode_lx", (300, 100, 1000, 50, 50000), 10000),
]
