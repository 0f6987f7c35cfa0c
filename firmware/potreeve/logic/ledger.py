"""The ledger's two slots: which to believe, which to write.

A slot is magic, version, sequence number, the packed state, and a CRC-32 of
all that. The newer good slot counts; writing goes to the other one, so a torn
write costs nothing that was safe before.
"""

import struct

from potreeve.logic import state

MAGIC = 0x5256
VERSION = 2
SLOTS = ("ledger.a", "ledger.b")

# Holds the number of the slot written last, in a folder to itself: where one damaged
# block brings back both slots as they once were, this one knows better.
WITNESS = "@ledger"

SLOT_BYTES = state.SEALED_BYTES

# A sequence number this far behind is ahead: the counter has wrapped.
_HALF = 0x80000000
_WHOLE = 0x100000000


def encode(number, what):
    """A slot's bytes; number 0..2**32-1, what: a State."""
    return state.sealed(MAGIC, VERSION, number, what)


def decode(data):
    """(number, State) of a slot, or None where it is not whole and ours."""
    return None if data is None else state.unsealed(data, MAGIC, VERSION)


def choose(slot_a, slot_b):
    """What two slots' bytes (or None) say together.

    Returns (State or None, next number, index of the slot to write next).
    """
    a = decode(slot_a)
    b = decode(slot_b)
    if a is None and b is None:
        return None, 1, 0
    if b is None or (a is not None and _newer(a[0], b[0])):
        return a[1], (a[0] + 1) % _WHOLE, 1
    return b[1], (b[0] + 1) % _WHOLE, 0


def testimony(number):
    """The witness's bytes."""
    return struct.pack("<I", number)


def rolled_back(data, number):
    """True where the witness's bytes speak of a newer slot than `number`, the newest there is."""
    return data is not None and len(data) == 4 and _newer(struct.unpack("<I", data)[0], number)


def _newer(one, other):
    gap = (one - other) % _WHOLE
    return 0 < gap < _HALF
