"""The log's record: everything a wake's decision saw and what it decided.

Fixed size, little-endian, for up to four channels, closed by a CRC-32. With
the state at the start of a segment, records replay to the same decisions.
"""

import struct

from potreeve.logic.state import CHANNELS, closed, columns

MAGIC = 0x5052
VERSION = 1
# The same size: what extras said stands in bits that version 1 leaves empty; see extra.in_record.
EXTRA_VERSION = 2
# As that, with the soil's temperature in what humidity and charge leave of their fields.
SOIL_VERSION = 3

# What stands for "no reading".
NO_TEMP = -32768
NO_RH = -1
NO_LX = -1
NOT_RUN = 0xFFFF

# The soil's temperatures that a record has room for: every quarter of a degree, 255 of them.
SOIL_LOW_CDEG = -1000
SOIL_STEP_CDEG = 25
SOIL_HIGH_CDEG = 5350

# What the tray's sensor says.
TRAY_NONE = 0  # no sensor
TRAY_DRY = 1
TRAY_WET = 2
TRAY_BROKEN = 3  # wire open
TRAY_ODD = 4  # shorted, or nothing that wires in water can give

# The tub's sensor: 0 none, 1 + floats that are up (or the strip's step), the last for what can't be.
TUB_NONE = 0
TUB_ODD = 15
# Days of water left in the tub where nobody knows.
NO_TUB_DAYS = 255

# The tub's notes count from the one before reasons.TUB_LOW.
NOTES_FROM = 59

LX_NONE = 0xFFFFFFFF

# See state.columns: header, then one block per channel.
HEAD_NAMES, HEAD_CODES = columns(
    "magic H version B channels B "
    "seq I up_s I utc_s I "
    "elapsed_s I awake_ms H cause B button B "
    "battery_mv H temp_cdeg h rh_pm h lx I "
    "usb B sleep_s H hold B alarm B memory B "
    "soc_pm H days_left H tray_ml H errors H "
)
POT_NAMES, POT_CODES = columns(
    "raw H spread H done_ms H under_mv H "
    "pm h ladder B reason B "
    "pulse_ms H most_tenths H "
)

HEAD_FORMAT = "<" + HEAD_CODES
POT_FORMAT = "<" + POT_CODES
HEAD_BYTES = struct.calcsize(HEAD_FORMAT)
POT_BYTES = struct.calcsize(POT_FORMAT)
RECORD_BYTES = HEAD_BYTES + CHANNELS * POT_BYTES + 4

_NO_POT = (0,) * len(POT_NAMES)


def encode(head, pots):
    """RECORD_BYTES bytes.

    head: values of HEAD_NAMES after version, as a tuple in that order; pots: a
    tuple of POT_NAMES per channel, 1..4. Values must fit their fields.
    """
    parts = [struct.pack(HEAD_FORMAT, MAGIC, VERSION, *head)]
    for pot in pots:
        parts.append(struct.pack(POT_FORMAT, *pot))
    for _ in range(CHANNELS - len(pots)):
        parts.append(struct.pack(POT_FORMAT, *_NO_POT))
    return closed(b"".join(parts))


def with_errors(line, bits):
    """A record's bytes with more error bits set: bits by which nothing is decided,
    so that a replay of the record comes to the same decisions."""
    at = HEAD_BYTES - 2
    seen = struct.unpack("<H", line[at:HEAD_BYTES])[0] | bits
    return closed(line[:at] + struct.pack("<H", seen) + line[HEAD_BYTES:RECORD_BYTES - 4])


def light_field(lx):
    """Light as the record stores it: 0..2**31, all ones for none."""
    return LX_NONE if lx < 0 else lx
