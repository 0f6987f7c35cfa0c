"""What a rig with extras remembers besides its State, and what it makes of them: the tray's sensor, the tub's.

Packed into state.EXTRA_BYTES bytes behind it. Fields are added at the end, where zeros stand so far. Only boards that
are wired for such parts are sent this.
"""

import struct

from potreeve.logic import reasons, record, state
from potreeve.logic.units import const

BYTES = 64

# Bytes of a record before these two; behind alarm stands memory.
_USB_AT = const(34)
_ALARM_AT = const(38)

# Holds that a sensor in the tray asks for.
_WET = (reasons.WET_TRAY, reasons.WET_DENIED)

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


def heed(state, readings, settings, told_ul):
    """Take in what extras say; returns what decides about water instead of water.decide, or None.

    state: a copy, whose extra still is bytes; told_ul: the tray's account before people were heard.
    """
    state.extra = unpack(state.extra)
    if readings.tray_wet:
        from potreeve.logic import wet

        wet.observe(state, readings, settings, told_ul)
        if state.rig.hold in _WET:
            return wet.decide
    elif state.rig.hold in _WET:
        # The sensor was taken away.
        state.rig.hold = reasons.NONE
    return None


def in_record(line, readings, what):
    """A record's bytes with what extras said, as version record.EXTRA_VERSION; what: the Extra.

    The byte of `usb` holds both sensors' words, that of `alarm` both alarm and memory, and that of `memory` the tub's
    days.
    """
    made = bytearray(line[:-4])
    made[2] = record.EXTRA_VERSION
    made[_USB_AT] |= readings.tray_wet << 1 | readings.tub_mark << 4
    made[_ALARM_AT] |= made[_ALARM_AT + 1] << 4
    made[_ALARM_AT + 1] = (what.tub_days or record.NO_TUB_DAYS + 1) - 1
    return state.closed(bytes(made))


def told(head):
    """What a report says of extras; head: of a decoded record."""
    return {
        "tray_sensor": head["tray_wet"] or None,
        "tub_left_d": None if head["tub_days"] == record.NO_TUB_DAYS else head["tub_days"],
    }


def fresh():
    """The Extra of a rig whose extras were wired just now: zeros."""
    return unpack(bytes(BYTES))
