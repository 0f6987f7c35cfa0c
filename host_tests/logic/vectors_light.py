"""Vectors of logic.light: (function, arguments, expected). Both interpreters run them.

Expected values by hand from lux = counts / 1.2 * 69 / MTreg.
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
]
