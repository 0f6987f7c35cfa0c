"""Records there and back, and bytes that are none."""

from potreeve.logic import record, recorded

LOW = (1, 0, 0, 0, 0, 0, 0, 0, 0, -32768, -32768, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0)
HIGH = (4, 4294967295, 4294967295, 4294967295, 4294967295, 65535, 255, 255, 65535, 32767, 32767, 2147483647, 255,
        65535, 255, 255, 255, 65535, 65535, 65535, 65535)
POT_LOW = (0, 0, 0, 0, -32768, 0, 0, 0, 0)
POT_HIGH = (65535, 65535, 65535, 65535, 32767, 255, 255, 65535, 65535)


def decoded(head, pots):
    """(values of the head, values per channel) after coding there and back."""
    told = recorded.decode(record.encode(head, pots))
    if told is None:
        return None
    names = record.HEAD_NAMES[2:]
    pot_names = record.POT_NAMES
    return tuple([told[0][name] for name in names]), [tuple([pot[name] for name in pot_names]) for pot in told[1]]


def spoilt(at, bit):
    """What a record with one bit turned decodes to."""
    data = bytearray(record.encode(HIGH, [POT_HIGH] * 4))
    data[at] ^= 1 << bit
    return recorded.decode(bytes(data))


def resealed(at, value):
    """What a record with one byte changed, but a right checksum, decodes to: None or "told"."""
    from binascii import crc32
    from struct import pack

    data = bytearray(record.encode(LOW, [POT_LOW])[:-4])
    data[at] = value
    data = bytes(data)
    return None if recorded.decode(data + pack("<I", crc32(data) & 0xFFFFFFFF)) is None else "told"


def cut(length):
    data = record.encode(LOW, [POT_LOW])
    return recorded.decode((data + b"\x00")[:length])


def with_bits(before, bits):
    """(errors, everything else unchanged) after error bits were added to a record."""
    line = record.encode(HIGH[:-1] + (before,), [POT_HIGH] * 4)
    told = recorded.decode(record.with_errors(line, bits))
    was = recorded.decode(line)
    found = told[0]["errors"]
    told[0]["errors"] = was[0]["errors"]
    return found, told == was


def bare():
    """What a record without extras says of them."""
    told = recorded.decode(record.encode(LOW, [POT_LOW]))[0]
    return told["version"], told["tray_wet"], told["tub_mark"], told["tub_days"], told["soil_cdeg"]


VECTORS = (
    ("decoded", (LOW, [POT_LOW]), (LOW, [POT_LOW])),
    ("decoded", (HIGH, [POT_HIGH] * 4), (HIGH, [POT_HIGH] * 4)),
    ("decoded", ((2,) + LOW[1:], [POT_LOW, POT_HIGH]), ((2,) + LOW[1:], [POT_LOW, POT_HIGH])),
    ("decoded", (LOW[:11] + (4294967295,) + LOW[12:], [POT_LOW]), (LOW[:11] + (-1,) + LOW[12:], [POT_LOW])),
    ("decoded", ((0,) + LOW[1:], [POT_LOW]), None),
    ("decoded", ((5,) + LOW[1:], [POT_LOW]), None),
    ("spoilt", (0, 0), None),
    ("spoilt", (40, 7), None),
    ("spoilt", (-1, 7), None),
    ("resealed", (0, 0x52), "told"),
    ("resealed", (0, 0x53), None),
    ("resealed", (1, 0x51), None),
    ("resealed", (2, 0), None),
    ("resealed", (2, 2), "told"),
    ("resealed", (2, 3), "told"),
    ("resealed", (2, 4), None),
    ("bare", (), (1, 0, 0, 255, -32768)),
    ("resealed", (3, 0), None),
    ("resealed", (3, 5), None),
    ("cut", (0,), None),
    ("cut", (record.RECORD_BYTES - 1,), None),
    ("cut", (record.RECORD_BYTES + 1,), None),
    ("with_bits", (0, 0), (0, True)),
    ("with_bits", (5, 0), (5, True)),
    ("with_bits", (5, 2), (7, True)),
    ("with_bits", (5, 5), (5, True)),
    ("with_bits", (4095, 32768), (36863, True)),
)
