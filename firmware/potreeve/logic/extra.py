"""What a rig with extras remembers besides its State: the tray's sensor, the tub's.

Packed into state.EXTRA_BYTES bytes behind it. Fields are added at the end, where zeros stand so far. Only boards that
are wired for such parts are sent this.
"""

import struct

from potreeve.logic.state import columns

BYTES = 64

NAMES, _CODES = columns(
    "tray_wet B "  # what the tray's sensor last said: record.TRAY_...
    "wet B "  # 1 until the tray is dry again
    "held B "  # the rig's hold, reasons.*, that comes back then
    "wet_since_s I "
    "wet_last_s I "
    "dry_since_s I "  # every reading since was dry
    "added_ul I "  # what of the tray's account stands for the sensor's word alone
    "dry_carry I "  # see limits.dry_tray
    "tub_days B "  # days of water left in the tub, and one more; 0 not known
    "tub_note B "  # what the tub asks a person for: reasons.TUB_...
    "tub_seen B "  # its mark at the last wake: two in a row are believed
    "tub_mark B "  # the mark that is believed, 0 none yet
    "tub_float B "  # whether floats are believed: tub.BELIEVED, LIED, PUZZLES
    "tub_sure B "  # how well tub_from_ml is known: tub.LEAST, FILLED, FELL
    "tub_try B "  # an empty tub is being tried: with a channel + 1, or any
    "tub_known B "  # days that taught what a day takes, up to tub._DAYS
    "tub_prime_ml H "  # what filled empty tubes since the count began, or was pumped all the same
    "tub_from_ml H "  # what was in the tub when the count began
    "tub_gone_pm H "  # what really goes of what is counted, learned; 0 nothing counted yet
    "tub_air_ul_h H "  # what goes without pumps, learned
    "tub_s I "  # when the count began
    "tub_drawn_ul I "  # pumped since
    "tub_today_ul I "  # pumped in the day being learned from
    "tub_day_ul I "  # pumped in a day of late
    "tub_total_ul I "  # all pots' water at the last wake
    "tub_next_s I "  # when an empty tub is tried next
)
_FORMAT = "<" + _CODES + "%dx" % (BYTES - struct.calcsize("<" + _CODES))


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
