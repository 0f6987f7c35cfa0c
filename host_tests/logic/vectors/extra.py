"""What a rig with extras remembers: zeros at first, and everything comes back, from ledger and log, too."""

from potreeve.logic import extra, segments, state

from vectors.made import make_state


def survives(value):
    """How many fields did not come back from one filled with a value, and whether it has its length."""
    made = extra.fresh()
    for name in extra.NAMES:
        setattr(made, name, value)
    data = made.pack()
    again = extra.unpack(data)
    return len([name for name in extra.NAMES if getattr(again, name) != value]), len(data) == state.EXTRA_BYTES


def fresh():
    return sum([getattr(extra.fresh(), name) for name in extra.NAMES])


def short(count):
    """Whether bytes of which only the first are not zero are packed again as they were: fields that were added later
    read as zero."""
    data = bytes([1] * count) + bytes(extra.BYTES - count)
    return extra.unpack(data).pack() == data


def _extended(value):
    made = make_state({"seq": 5}, {})
    made.extra = extra.fresh()
    made.extra.tray_wet = value
    return made


def in_state(value):
    """An extra's field: in the state again, in its original and in a copy that was changed; whether it is that much
    longer."""
    made = _extended(value)
    data = state.pack(made)
    other = state.copy(made)
    other.extra.tray_wet = 0
    again = state.unpack(data).extra.tray_wet
    return again, made.extra.tray_wet, other.extra.tray_wet, len(data) == state.STATE_BYTES + state.EXTRA_BYTES


def sealed(version, cut):
    """The extra's field of a state sealed as version 2, asked for as `version`; cut: bytes missing."""
    data = state.sealed(7, 2, 1, _extended(9))
    found = state.unsealed(data[:len(data) - cut], 7, version)
    return None if found is None else found[1].extra.tray_wet


def head(number, turn):
    """Number, seq and an extra's field of a segment's head, with the byte at `turn` spoilt; whether it says how long it
    is."""
    made = _extended(3)
    data = bytearray(segments.encode_head(number, made) + b"more")
    if turn >= 0:
        data[turn] ^= 1
    found = segments.decode_head(bytes(data))
    if found is None:
        return None
    right = segments.head_bytes(made) == len(data) - 4 == segments.begins(bytes(data))
    return found[0], found[1].rig.seq, found[1].extra.tray_wet, right


VECTORS = (
    ("survives", (0,), (0, True)),
    ("survives", (255,), (0, True)),
    ("fresh", (), 0),
    ("short", (1,), True),
    ("short", (6,), True),
    ("in_state", (9,), (9, 9, 0, True)),
    ("sealed", (2, 0), 9),
    ("sealed", (3, 0), None),
    ("sealed", (1, 0), None),
    ("sealed", (2, 1), None),
    ("sealed", (2, state.EXTRA_BYTES), None),
    ("head", (7, -1), (7, 5, 3, True)),
    ("head", (7, 100), None),
)
