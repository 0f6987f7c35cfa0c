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
_BUTTON_AT = const(23)
# The upper halves of two fields that go up to 1000.
_RH_AT = const(29)
_SOC_AT = const(41)

# Holds that a sensor in the tray asks for.
_WET = (reasons.WET_TRAY, reasons.WET_DENIED)

NAMES, _CODES = state.columns(
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
    "tub_prime_ml H "  # what filled empty tubes since the count began, and does not count as pumped
    "tub_from_ml H "  # what was in the tub when the count began
    "tub_gone_pm H "  # what really goes of what is counted, learned; 0 nothing counted yet
    "tub_air_ul_h H "  # what goes without pumps, learned
    "tub_s I "  # when the count began
    "tub_drawn_ul I "  # pumped since, by what the tub's height lets through
    "tub_today_ul I "  # pumped in the day being learned from
    "tub_day_ul I "  # pumped in a day of late
    "tub_total_ul I "  # all pots' water at the last wake
    "tub_next_s I "  # when an empty tub is tried next
    "tub_past_cl B "  # pumped since the mark that is believed was last seen
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


def heed(state, readings, settings, told_ul, looked):
    """Take in what extras say; returns what decides about water instead of water.decide, or None.

    state: a copy, whose extra still is bytes; told_ul: the tray's account before people were heard; looked: whether
    one pressed the button.
    """
    state.extra = unpack(state.extra)
    rig = state.rig
    decide = None
    if readings.tray_wet:
        from potreeve.logic import wet

        wet.observe(state, readings, settings, told_ul)
        if rig.hold in _WET:
            decide = wet.decide
    elif rig.hold in _WET:
        # The sensor was taken away.
        rig.hold = reasons.NONE
    if "tub" in settings:
        from potreeve.logic import tub_guard

        tub_guard.step(state, readings.tub_mark, looked, settings)
        if rig.hold == reasons.TUB_EMPTY:
            decide = tub_guard.decide
    elif rig.hold == reasons.TUB_EMPTY:
        rig.hold = reasons.NONE
    return decide


def level(what):
    """How loudly extras ask besides the rig's hold: signals.*; what: the Extra."""
    if not what.tub_note:
        return 0
    from potreeve.logic import tub_guard

    return tub_guard.level(what.tub_note, (what.tub_days or record.NO_TUB_DAYS + 1) - 1)


def in_record(line, readings, what):
    """A record's bytes with what extras said, as version record.EXTRA_VERSION, or SOIL_VERSION where the soil's
    temperature was read; what: the Extra.

    The byte of `usb` holds both sensors' words, that of `button` what the tub asks for, that of `alarm` both alarm and
    memory, and that of `memory` the tub's days. The soil's quarter of a degree stands in the upper bits of `rh_pm` and
    `soc_pm`.
    """
    made = bytearray(line[:-4])
    if what.tub_note:
        made[_BUTTON_AT] |= (what.tub_note - record.NOTES_FROM) << 4
    made[2] = record.EXTRA_VERSION
    made[_USB_AT] |= readings.tray_wet << 1 | readings.tub_mark << 4
    made[_ALARM_AT] |= made[_ALARM_AT + 1] << 4
    made[_ALARM_AT + 1] = (what.tub_days or record.NO_TUB_DAYS + 1) - 1
    if readings.soil_cdeg != record.NO_TEMP:
        made[2] = record.SOIL_VERSION
        quarter = (readings.soil_cdeg - record.SOIL_LOW_CDEG) // record.SOIL_STEP_CDEG + 1
        made[_RH_AT] = made[_RH_AT] & 15 | (quarter & 15) << 4
        made[_SOC_AT] |= quarter & 0xF0
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
