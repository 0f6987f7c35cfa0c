"""What is packed comes back, at both ends of every field, and only what is whole is unsealed."""

from binascii import crc32

from potreeve.logic import state

from vectors.made import fields, make_state

ENDS = {"B": (0, 255), "H": (0, 65535), "I": (0, 4294967295), "h": (-32768, 32767)}


def filled(channels, end):
    """A state with every field at its lowest (0) or highest (1)."""
    made = state.fresh(channels)
    for name, code in zip(state.RIG_NAMES, state.RIG_CODES):
        setattr(made.rig, name, ENDS[code][end])
    made.rig.channels = channels
    for pot in made.pots:
        for name, code in zip(state.POT_NAMES, state.POT_CODES):
            setattr(pot, name, ENDS[code][end])
        pot.spent = [65535 * end] * 13
    return made


def survives(channels, end):
    """True when every field comes back from a filled state."""
    made = filled(channels, end)
    again = state.unpack(state.pack(made))
    names = list(state.RIG_NAMES)
    if fields(names, again.rig) != fields(names, made.rig):
        return False
    names = list(state.POT_NAMES) + ["spent"]
    for one, other in zip(made.pots, again.pots):
        if fields(names, one) != fields(names, other):
            return False
    return len(again.pots) == channels


def packed_crc(channels, end):
    data = state.pack(filled(channels, end))
    return len(data) == state.STATE_BYTES, crc32(data) & 0xFFFFFFFF


def unpacked(length, channels):
    data = bytearray(length)
    at = 13
    if length > at:
        data[at] = channels
    found = state.unpack(bytes(data))
    return None if found is None else len(found.pots)


def shares():
    """True when a copy shares nothing with its original."""
    made = make_state({}, {"pm": 5})
    other = state.copy(made)
    other.rig.seq = 9
    other.pots[0].pm = 6
    other.pots[0].spent[0] = 7
    return made.rig.seq != 0 or made.pots[0].pm != 5 or made.pots[0].spent[0] != 0


def unsealed(magic, version, number, at, cut):
    """(number, seq) of a sealed state asked for as magic 7, version 2; at: byte to spoil, -1 none; cut: bytes
    missing."""
    data = bytearray(state.sealed(magic, version, number, make_state({"seq": 5}, {})))
    if at >= 0:
        data[at] ^= 1
    found = state.unsealed(bytes(data[:len(data) - cut]), 7, 2)
    return None if found is None else (found[0], found[1].rig.seq)


def unsealed_nothing():
    """A whole seal around what can't be a state."""
    data = state.sealed(7, 2, 1, make_state({}, {}))
    return state.unsealed(state.closed(data[:8] + bytes(state.STATE_BYTES)), 7, 2)


VECTORS = tuple(("survives", (channels, end), True) for channels in (1, 2, 4) for end in (0, 1)) + (
    ("packed_crc", (1, 0), "any"),
    ("packed_crc", (4, 1), "any"),
    ("unpacked", (state.STATE_BYTES, 1), 1),
    ("unpacked", (state.STATE_BYTES, 4), 4),
    ("unpacked", (state.STATE_BYTES, 0), None),
    ("unpacked", (state.STATE_BYTES, 5), None),
    ("unpacked", (state.STATE_BYTES - 1, 1), None),
    ("unpacked", (state.STATE_BYTES + 1, 1), None),
    ("unpacked", (state.STATE_BYTES + state.EXTRA_BYTES, 2), 2),
    ("unpacked", (state.STATE_BYTES + state.EXTRA_BYTES - 1, 2), None),
    ("unpacked", (0, 1), None),
    ("shares", (), False),
    ("columns", ("seq I up_s H ",), (("seq", "up_s"), "IH")),
    ("columns", ("",), ((), "")),
    ("closed", (b"",), bytes(4)),
    ("closed", (b"123456789",), b"123456789\x26\x39\xf4\xcb"),
    ("opened", (b"123456789\x26\x39\xf4\xcb",), b"123456789"),
    ("opened", (b"123456789\x26\x39\xf4\xca",), None),
    ("opened", (b"123456788\x26\x39\xf4\xcb",), None),
    ("opened", (bytes(4),), b""),
    ("unsealed", (7, 2, 9, -1, 0), (9, 5)),
    ("unsealed", (7, 2, 4294967295, -1, 0), (4294967295, 5)),
    ("unsealed", (7, 2, 9, 0, 0), None),
    ("unsealed", (7, 2, 9, 40, 0), None),
    ("unsealed", (7, 2, 9, state.SEALED_BYTES - 1, 0), None),
    ("unsealed", (7, 2, 9, -1, 1), None),
    ("unsealed", (7, 2, 9, -1, state.SEALED_BYTES), None),
    ("unsealed", (8, 2, 9, -1, 0), None),
    ("unsealed", (7, 1, 9, -1, 0), None),
    ("unsealed_nothing", (), None),
)
