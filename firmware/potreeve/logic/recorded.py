"""Takes a record apart: for display, radio and desktops. A board that tells nobody of its records is not sent this."""

import struct

from potreeve.logic import record
from potreeve.logic.state import CHANNELS, opened


def decode(data):
    """(head dict, list of channel dicts), or None where the bytes aren't a
    whole record of ours."""
    if len(data) != record.RECORD_BYTES:
        return None
    body = opened(data)
    if body is None:
        return None
    head = dict(zip(record.HEAD_NAMES, struct.unpack(record.HEAD_FORMAT, body[: record.HEAD_BYTES])))
    head["tray_wet"] = head["tub_mark"] = head["tub_note"] = 0
    head["tub_days"] = record.NO_TUB_DAYS
    head["soil_cdeg"] = record.NO_TEMP
    version = head["version"]
    if not record.VERSION <= version <= record.SOIL_VERSION:
        return None
    if version >= record.EXTRA_VERSION:
        _extras(head)
    if version == record.SOIL_VERSION:
        _soil(head)
    if head["magic"] != record.MAGIC:
        return None
    if not 1 <= head["channels"] <= CHANNELS:
        return None
    if head["lx"] == record.LX_NONE:
        head["lx"] = record.NO_LX
    pots = []
    at = record.HEAD_BYTES
    for _ in range(head["channels"]):
        values = struct.unpack(record.POT_FORMAT, body[at : at + record.POT_BYTES])
        pots.append(dict(zip(record.POT_NAMES, values)))
        at += record.POT_BYTES
    return head, pots


def _extras(head):
    """Take apart what extra.in_record put together."""
    head["tray_wet"] = head["usb"] >> 1 & 7
    head["tub_mark"] = head["usb"] >> 4
    head["usb"] &= 1
    note = head["button"] >> 4
    head["tub_note"] = note + record.NOTES_FROM if note else 0
    head["button"] &= 15
    head["tub_days"] = head["memory"]
    head["memory"] = head["alarm"] >> 4
    head["alarm"] &= 15


def _soil(head):
    """Take the soil's temperature out of the fields it was put in."""
    quarter = head["rh_pm"] >> 12 & 15 | head["soc_pm"] >> 8 & 0xF0
    head["soil_cdeg"] = record.SOIL_LOW_CDEG + (quarter - 1) * record.SOIL_STEP_CDEG
    head["soc_pm"] &= 0xFFF
    head["rh_pm"] &= 0xFFF
    if head["rh_pm"] == 0xFFF:
        head["rh_pm"] = record.NO_RH
