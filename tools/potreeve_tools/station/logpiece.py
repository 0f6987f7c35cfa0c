"""A piece of a rig's log on its way: a small head and whole records, as they lie on flash. See messages.md."""

import struct
from typing import NamedTuple

from potreeve.logic import record, segments

MAGIC = b"PL"
VERSION = 1
MOST = 40
_HEAD = "<2sBBIIIHHI"
HEAD_BYTES = struct.calcsize(_HEAD)
# Past any segment's last byte.
_BYTES = 1 << 16


class Piece(NamedTuple):
    """boot; from_place: what it goes on from; place: of its first record; due_s: the promise, 0 none; records: bytes
    each."""

    boot: int
    from_place: int
    place: int
    due_s: int
    records: list

    @property
    def end(self):
        """The place after its last record."""
        return self.place + len(self.records) * record.RECORD_BYTES


def place(segment, byte):
    """(segment, byte) of the log as one number that only grows."""
    return segment * _BYTES + byte


def split(where):
    """(segment, byte) of a place."""
    return divmod(where, _BYTES)


def pack(piece):
    """A piece as the payload of a `log` message."""
    from_segment, from_byte = split(piece.from_place)
    segment, byte = split(piece.place)
    head = struct.pack(
        _HEAD, MAGIC, VERSION, len(piece.records), piece.boot, from_segment, segment, from_byte, byte, piece.due_s
    )
    return head + b"".join(piece.records)


def unpack(payload):
    """The Piece in a payload. Raises ValueError with what is wrong. Records are not looked into: they have sums of
    their own."""
    if len(payload) < HEAD_BYTES:
        raise ValueError(f"{len(payload)} bytes are no piece of a log")
    magic, version, count, boot, from_segment, segment, from_byte, byte, due_s = struct.unpack(
        _HEAD, payload[:HEAD_BYTES]
    )
    if magic != MAGIC or version != VERSION:
        raise ValueError(f"magic {magic!r}, version {version}: no piece of a log that this version knows")
    size = record.RECORD_BYTES
    if count > MOST or len(payload) != HEAD_BYTES + count * size:
        raise ValueError(f"{count} records told, {len(payload) - HEAD_BYTES} bytes came")
    if not 1 <= boot < 1 << 31 or due_s > 604800:
        raise ValueError(f"boot {boot}, promise {due_s} s: out of range")
    if max(from_segment, segment) >= 10**6:
        raise ValueError(f"segments {from_segment}, {segment}: a log has none that high")
    if byte + count * size > segments.MOST_BYTES or from_byte > segments.MOST_BYTES:
        raise ValueError(f"bytes {from_byte}, {byte}: beyond a segment's end")
    start, before = place(segment, byte), place(from_segment, from_byte)
    if before > start:
        raise ValueError("it goes on from a place after its own")
    body = payload[HEAD_BYTES:]
    return Piece(boot, before, start, due_s, [body[at : at + size] for at in range(0, len(body), size)])
