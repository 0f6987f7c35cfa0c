"""What a rig with extras remembers besides its State: the tray's sensor, the tub's.

Packed into state.EXTRA_BYTES bytes behind it. Fields are added at the end, where zeros stand so far. Only boards that
are wired for such parts are sent this.
"""

import struct

BYTES = 64

# name code name code ..., as state.columns has it.
_TABLE = (
    "tray_wet B "  # what the tray's sensor last said: record.TRAY_...
    "wet B "  # 1 until the tray is dry again
    "held B "  # the rig's hold, reasons.*, that comes back then
    "wet_since_s I "
    "wet_last_s I "
    "dry_since_s I "  # every reading since was dry
    "added_ul I "  # what of the tray's account stands for the sensor's word alone
    "dry_carry I "  # see limits.dry_tray
    "tub_days B "  # days of water left in the tub, and one more; 0 not known
).split()
NAMES = tuple(_TABLE[::2])
_CODES = "<" + "".join(_TABLE[1::2])
_FORMAT = _CODES + "%dx" % (BYTES - struct.calcsize(_CODES))


class Extra:
    """The names of NAMES, all integers."""

    def pack(self):
        """BYTES bytes."""
        return struct.pack(_FORMAT, *[getattr(self, name) for name in NAMES])


def unpack(data):
    """The Extra in BYTES bytes."""
    made = Extra()
    for name, value in zip(NAMES, struct.unpack(_FORMAT, data)):
        setattr(made, name, value)
    return made


def fresh():
    """The Extra of a rig whose extras were wired just now: zeros."""
    return unpack(bytes(BYTES))
