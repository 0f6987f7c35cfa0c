"""Records at both ends of their fields; what comes of them is in vectors/recorded.py."""

from potreeve.logic import record

LOW = (1, 0, 0, 0, 0, 0, 0, 0, 0, -32768, -32768, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0)
HIGH = (4, 4294967295, 4294967295, 4294967295, 4294967295, 65535, 255, 255, 65535, 32767, 32767, 2147483647, 255,
        65535, 255, 255, 255, 65535, 65535, 65535, 65535)
POT_LOW = (0, 0, 0, 0, -32768, 0, 0, 0, 0)
POT_HIGH = (65535, 65535, 65535, 65535, 32767, 255, 255, 65535, 65535)


def with_bits(before, bits):
    """(errors, whether all else is unchanged) after error bits were added to a record."""
    line = record.encode(HIGH[:-1] + (before,), [POT_HIGH] * 4)
    found = record.with_errors(line, bits)
    at = record.HEAD_BYTES - 2
    return found[at] | found[at + 1] << 8, found[:at] + found[at + 2:-4] == line[:at] + line[at + 2:-4]


VECTORS = (
    ("encode", (LOW, [POT_LOW]), "any"),
    ("encode", (HIGH, [POT_HIGH] * 4), "any"),
    ("with_bits", (0, 0), (0, True)),
    ("with_bits", (5, 2), (7, True)),
    ("with_bits", (5, 5), (5, True)),
    ("with_bits", (4095, 32768), (36863, True)),
    ("light_field", (-1,), 4294967295),
    ("light_field", (-1073741824,), 4294967295),
    ("light_field", (0,), 0),
    ("light_field", (120000,), 120000),
)
