"""The log's files: records in segments that come and go.

A segment is a head (magic, version, number, packed state before its first
record, CRC-32; longer where a rig has extras) and whole records. When a segment is full the next begins;
when there are too many the oldest goes.

The log is also the queue of what a broker is to be told: a mark (segment,
byte) says up to where it has acknowledged. A mark that is lost or makes no
sense only means that records are sent twice; whoever removes segments by hand
removes the mark with them.
"""

import struct

from potreeve.logic import state
from potreeve.logic.record import RECORD_BYTES

MAGIC = 0x5053
VERSION = 1
PREFIX = "log."

RECORDS = 120

# The queue's mark; no name of a segment.
MARK = "sent.at"

# Bytes sent at a time, and how often in one wake: a month's queue is gone within a
# day, and even a slow broker keeps no wake for long.
PIECE_BYTES = 8 * RECORD_BYTES
PIECES = 5

HEAD_BYTES = state.SEALED_BYTES
EXTRA_HEAD_BYTES = HEAD_BYTES + state.EXTRA_BYTES
FULL_BYTES = HEAD_BYTES + RECORDS * RECORD_BYTES
MOST_BYTES = FULL_BYTES + state.EXTRA_BYTES

# First bytes of a segment with a longer head: magic, next version.
_EXTRA_MARK = struct.pack("<HH", MAGIC, VERSION + 1)

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
        tail = one[len(PREFIX) :]
        if one.startswith(PREFIX) and len(tail) == 6 and tail.isdigit():
            found.append(int(tail))
    found.sort()
    return found


def encode_head(number, what):
    """A segment's first HEAD_BYTES bytes; what: the State it starts from."""
    return state.sealed(MAGIC, VERSION, number, what)


def decode_head(data):
    """(number, State) from a segment's bytes, or None."""
    return state.unsealed(data[: begins(data)], MAGIC, VERSION)


def begins(data):
    """Where the records begin in a segment, by its first bytes."""
    return EXTRA_HEAD_BYTES if data[:4] == _EXTRA_MARK else HEAD_BYTES


def head_bytes(what):
    """Bytes of a segment's head; what: the State it starts from."""
    return EXTRA_HEAD_BYTES if what.extra else HEAD_BYTES


def goes_on(size, head=HEAD_BYTES):
    """True when a segment file of `size` bytes, with such a head, can take another record."""
    return head <= size < head + RECORDS * RECORD_BYTES and (size - head) % RECORD_BYTES == 0


def most(flash_bytes, block_bytes):
    """How many segments a file system of that size may hold, FEWEST or more."""
    blocks = -(-FULL_BYTES // block_bytes)
    room = flash_bytes * SHARE_PM // 1000 // (blocks * block_bytes)
    return room if room > FEWEST else FEWEST


def encode_mark(mark):
    """The mark file's bytes."""
    return struct.pack("<II", *mark)


def decode_mark(data):
    """(segment, byte) from the mark file's bytes; (0, 0), before everything, from
    anything else."""
    if not data or len(data) != 8:
        return 0, 0
    number, at = struct.unpack("<II", data)
    inside = at - HEAD_BYTES
    if 0 <= inside // RECORD_BYTES <= RECORDS and inside % RECORD_BYTES in (0, state.EXTRA_BYTES):
        return number, at
    return number, 0


def waiting(mark, found):
    """(segment, byte) of the first record not yet acknowledged; byte 0: the segment's first.

    found: the segments' numbers, ascending, one or more. What was dropped unsent
    is passed over; where all are older than the mark, the log began anew.
    """
    number, at = mark
    if number not in found:
        at = 0
        later = [one for one in found if one > number]
        number = (later or found)[0]
    return number, at


def taken_bytes(count, size):
    """Bytes of `size` sent that a broker's word acknowledges: none where it claims
    to have taken more records than it was given, or less than none."""
    taken = int(count) * RECORD_BYTES
    return taken if 0 < taken <= size else 0
