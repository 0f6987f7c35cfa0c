"""Names, numbers, heads and sizes of the log's files."""

from potreeve.logic import record, segments

from vectors.made import make_state

HEAD = segments.HEAD_BYTES
LONG = segments.EXTRA_HEAD_BYTES
ONE = record.RECORD_BYTES


def head(number, cut, turn):
    """Number and seq of a head, with `cut` bytes missing or the byte at `turn` spoilt."""
    data = bytearray(segments.encode_head(number, make_state({"seq": 5}, {})) + b"more")
    if turn >= 0:
        data[turn] ^= 1
    found = segments.decode_head(bytes(data[:HEAD + 4 - cut]))
    return None if found is None else (found[0], found[1].rig.seq)


def bare_head():
    return segments.head_bytes(make_state({}, {}))


def resealed(at, value):
    from binascii import crc32
    from struct import pack

    data = bytearray(segments.encode_head(3, make_state({}, {}))[:-4])
    data[at] = value
    data = bytes(data)
    return segments.decode_head(data + pack("<I", crc32(data) & 0xFFFFFFFF)) is not None


def marked(number, at):
    """A mark after coding there and back."""
    return segments.decode_mark(segments.encode_mark((number, at)))


VECTORS = (
    ("name", (0,), "log.000000"),
    ("name", (1,), "log.000001"),
    ("name", (999999,), "log.999999"),
    ("numbers", ([],), []),
    ("numbers", (["log.000010", "log.000009", "settings.json", "log.00001", "log.0000011", "log.x00001", "log."],),
     [9, 10]),
    ("numbers", (["xlog.000001", "log.000001.tmp", "ledger.a"],), []),
    ("head", (7, 0, -1), (7, 5)),
    ("head", (4294967295, 0, -1), (4294967295, 5)),
    ("head", (7, 4, -1), (7, 5)),
    ("head", (7, 5, -1), None),
    ("head", (7, HEAD + 4, -1), None),
    ("head", (7, 0, 0), None),
    ("head", (7, 0, HEAD - 1), None),
    ("resealed", (0, 0x53), True),
    ("resealed", (0, 0x54), False),
    ("resealed", (2, 9), False),
    ("resealed", (8 + 13, 9), False),
    ("goes_on", (0,), False),
    ("goes_on", (HEAD - 1,), False),
    ("goes_on", (HEAD,), True),
    ("goes_on", (HEAD + 1,), False),
    ("goes_on", (HEAD + ONE,), True),
    ("goes_on", (HEAD + 119 * ONE,), True),
    ("goes_on", (HEAD + 120 * ONE,), False),
    ("goes_on", (HEAD + 121 * ONE,), False),
    ("marked", (0, 0), (0, 0)),
    ("marked", (7, HEAD), (7, HEAD)),
    ("marked", (4294967295, HEAD + 119 * ONE), (4294967295, HEAD + 119 * ONE)),
    ("marked", (7, segments.FULL_BYTES), (7, segments.FULL_BYTES)),
    ("marked", (7, segments.FULL_BYTES + ONE), (7, 0)),
    ("marked", (7, HEAD - ONE), (7, 0)),
    ("marked", (7, HEAD + 1), (7, 0)),
    ("decode_mark", (None,), (0, 0)),
    ("decode_mark", (b"",), (0, 0)),
    ("decode_mark", (b"1234567",), (0, 0)),
    ("decode_mark", (b"123456789",), (0, 0)),
    ("waiting", ((0, 0), [1]), (1, 0)),
    ("waiting", ((1, HEAD), [1, 2]), (1, HEAD)),
    ("waiting", ((1, HEAD + ONE), [1, 2]), (1, HEAD + ONE)),
    ("waiting", ((2, 0), [1, 2]), (2, 0)),
    ("waiting", ((3, HEAD + ONE), [5, 6]), (5, 0)),
    ("waiting", ((9, HEAD + ONE), [5, 6]), (5, 0)),
    ("waiting", ((5, 0), [4, 6]), (6, 0)),
    ("bare_head", (), HEAD),
    ("goes_on", (LONG, LONG), True),
    ("goes_on", (HEAD, LONG), False),
    ("goes_on", (LONG,), False),
    ("goes_on", (LONG + 119 * ONE, LONG), True),
    ("goes_on", (LONG + 120 * ONE, LONG), False),
    ("marked", (7, LONG), (7, LONG)),
    ("marked", (7, segments.MOST_BYTES), (7, segments.MOST_BYTES)),
    ("marked", (7, segments.MOST_BYTES + ONE), (7, 0)),
    ("marked", (7, LONG - ONE), (7, 0)),
    ("begins", (b"",), HEAD),
    ("begins", (b"SP\x01\x00",), HEAD),
    ("begins", (b"SP\x02\x00",), LONG),
    ("begins", (b"SP\x03\x00",), HEAD),
    ("taken_bytes", (0, 3 * ONE), 0),
    ("taken_bytes", (1, 3 * ONE), ONE),
    ("taken_bytes", (3, 3 * ONE), 3 * ONE),
    ("taken_bytes", (4, 3 * ONE), 0),
    ("taken_bytes", (-1, 3 * ONE), 0),
    ("taken_bytes", (-1073741824, 3 * ONE), 0),
    ("most", (0, 4096), 2),
    ("most", (1 << 30, 1 << 20), 614),
)
