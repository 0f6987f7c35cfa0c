"""What a board's memory says of its tub, as plain values and as a line of the screen; and its soil's temperature."""

from potreeve.logic import extra as memory
from potreeve.logic import record

from potreeve_tools.link import logs_export
from potreeve_tools.words import sentences as words


def seen(state):
    """{"mark", "left_d" or None, "note" or None, "why", "do"} of a tub with a sensor, else None."""
    if not state.extra:
        return None
    extra = memory.unpack(state.extra)
    if not extra.tub_mark:
        return None
    what, do = words.why(extra.tub_note) if extra.tub_note else (None, None)
    return {
        "mark": extra.tub_seen,
        "left_d": extra.tub_days - 1 if extra.tub_days else None,
        "note": logs_export.reason_word(extra.tub_note) or None,
        "why": what,
        "do": do,
    }


def lines(tub, soil_cdeg=None):
    """The same as lines of the screen, (text, colour name) pairs; none without a sensor. soil_cdeg: by the soil's."""
    found = []
    if tub:
        days = record.NO_TUB_DAYS if tub["left_d"] is None else tub["left_d"]
        found.append((f"Tub: {words.tub(days, tub['mark'])}.", "clay" if tub["note"] else ""))
    if soil_cdeg is not None:
        found.append((f"Soil: {soil_cdeg / 100:.1f} °C by its thermometer.", ""))
    return found
