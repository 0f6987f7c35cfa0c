"""The log's files: records in segments that come and go.

A segment is a head (magic, version, number, packed state before its first
record, CRC-32) and whole records. When a segment is full the next begins;
when there are too many the oldest goes.
"""

import struct
from binascii import crc32

from potreeve.logic import record, state

MAGIC = 0x5053
VERSION = 1
PREFIX = "log."

RECORDS = 120

_HEAD = "<HHI"
_HEAD_BYTES = struct.calcsize(_HEAD)
HEAD_BYTES = _HEAD_BYTES + state.STATE_BYTES + 4
FULL_BYTES = HEAD_BYTES + RECORDS * record.RECORD_BYTES

# Never more than this share of the file system for the log, so that a new
# firmware, settings and the ledger always find room.
SHARE_PM = 600
FEWEST = 2


def name(number):
    """File name of a segment; numbers sort as text."""
    return PREFIX + "%06d" % number


def numbers(names):
    """Numbers of all segments among file names, ascending."""
    found = []
    for one in names:
        tail = one[len(PREFIX):]
        if one.startswith(PREFIX) and len(tail) == 6 and tail.isdigit():
            found.append(int(tail))
    found.sort()
    return found


def encode_head(number, what):
    """A segment's first HEAD_BYTES bytes; what: the State it starts from."""
    body = struct.pack(_HEAD, MAGIC, VERSION, number) + state.pack(what)
    return body + struct.pack("<I", crc32(body) & 0xFFFFFFFF)


def decode_head(data):
    """(number, State) from a segment's bytes, or None."""
    if len(data) < HEAD_BYTES:
        return None
    body = data[:HEAD_BYTES - 4]
    if struct.unpack("<I", data[HEAD_BYTES - 4:HEAD_BYTES])[0] != crc32(body) & 0xFFFFFFFF:
        return None
    magic, version, number = struct.unpack(_HEAD, body[:_HEAD_BYTES])
    if magic != MAGIC or version != VERSION:
        return None
    what = state.unpack(body[_HEAD_BYTES:])
    return None if what is None else (number, what)


def goes_on(size):
    """True when a segment file of `size` bytes can take another record."""
    if size < HEAD_BYTES or size >= FULL_BYTES:
        return False
    return (size - HEAD_BYTES) % record.RECORD_BYTES == 0


def most(flash_bytes, block_bytes):
    """How many segments a file system of that size may hold, FEWEST or more."""
    blocks = -(-FULL_BYTES // block_bytes)
    room = flash_bytes * SHARE_PM // 1000 // (blocks * block_bytes)
    return room if room > FEWEST else FEWEST
