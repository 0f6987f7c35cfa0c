"""Two slots: which counts and which is written next, across the wrap of their numbers."""

from binascii import crc32
from struct import pack

from potreeve.logic import ledger

from vectors.made import make_state


def slot(number, seq):
    return ledger.encode(number, make_state({"seq": seq}, {}))


def chosen(a, b):
    """(seq of the state or None, next number, slot to write); a, b: slot number or None. seq 1 is in a, 2 in b."""
    found, number, index = ledger.choose(None if a is None else slot(a, 1), None if b is None else slot(b, 2))
    return None if found is None else found.rig.seq, number, index


def spoilt(at, value):
    """Whether a slot with one byte changed and a right checksum still decodes."""
    data = bytearray(slot(7, 1)[:-4])
    data[at] = value
    data = bytes(data)
    return ledger.decode(data + pack("<I", crc32(data) & 0xFFFFFFFF)) is not None


def torn(length):
    """Which slot counts when the newer one has only its first bytes."""
    found, number, index = ledger.choose(slot(7, 1), slot(8, 2)[:length])
    return found.rig.seq, number, index


def turned(at):
    """A slot with one bit turned."""
    data = bytearray(slot(7, 1))
    data[at] ^= 1
    return ledger.decode(bytes(data))


VECTORS = (
    ("chosen", (None, None), (None, 1, 0)),
    ("chosen", (1, None), (1, 2, 1)),
    ("chosen", (None, 1), (2, 2, 0)),
    ("chosen", (1, 2), (2, 3, 0)),
    ("chosen", (3, 2), (1, 4, 1)),
    ("chosen", (5, 5), (2, 6, 0)),
    ("chosen", (4294967295, 4294967294), (1, 0, 1)),
    ("chosen", (4294967295, 0), (2, 1, 0)),
    ("chosen", (0, 4294967295), (1, 1, 1)),
    ("chosen", (2147483647, 0), (1, 2147483648, 1)),
    ("chosen", (2147483648, 0), (2, 1, 0)),
    ("chosen", (2147483649, 0), (2, 1, 0)),
    ("chosen", (0, 2147483647), (2, 2147483648, 0)),
    ("chosen", (1073741823, 1073741824), (2, 1073741825, 0)),
    ("torn", (0,), (1, 8, 1)),
    ("torn", (8,), (1, 8, 1)),
    ("torn", (ledger.SLOT_BYTES - 1,), (1, 8, 1)),
    ("torn", (ledger.SLOT_BYTES,), (2, 9, 0)),
    ("spoilt", (0, 0x56), True),
    ("spoilt", (0, 0x57), False),
    ("spoilt", (2, 2), True),
    ("spoilt", (2, 1), False),
    ("spoilt", (2, 3), False),
    ("spoilt", (8 + 13, 0), False),
    ("turned", (0,), None),
    ("turned", (100,), None),
    ("turned", (-1,), None),
    ("decode", (None,), None),
    ("decode", (b"",), None),
    ("testimony", (258,), b"\x02\x01\x00\x00"),
    ("rolled_back", (None, 1), False),
    ("rolled_back", (b"\x05\x00\x00", 1), False),
    ("rolled_back", (b"\x05\x00\x00\x00", 4), True),
    ("rolled_back", (b"\x05\x00\x00\x00", 5), False),
    ("rolled_back", (b"\x05\x00\x00\x00", 6), False),
    ("rolled_back", (b"\x00\x00\x00\x00", 4294967295), True),
)
