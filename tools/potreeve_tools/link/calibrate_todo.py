"""What of a calibration is done and what is still to do, from a board's settings and notes."""

from potreeve_tools.link import calibrate_notes

TO_DO = "to do"
STEPS = ("dry", "pump", "wet")
"""In this order: the pots drain for an hour, and meanwhile the pumps are measured."""


def air_of(notes, pot):
    """(raw, spread, drift) of a dry end that was measured and not used yet, else None. pot: its name."""
    for note in reversed(notes):
        if note.get("pot") == pot and note.get("kind") == "probe":
            return None
        if note.get("pot") == pot and note.get("kind") == "air" and len(note.get("air", ())) == 3:
            return tuple(note["air"])
    return None


def rows(settings, notes):
    """[{"name", "dry", "wet", "pump"}] per pot: a date, "from a file" where no note speaks for it, None: to do."""
    found = []
    for table in settings["channels"]:
        probe = _when(notes, ("probe", "point"), table) if table["curve"] else None
        dry = probe
        if dry is None and air_of(notes, table["name"]):
            dry = next(
                note["date"][:10]
                for note in reversed(notes)
                if note.get("kind") == "air" and note.get("pot") == table["name"]
            )
        pump = _when(notes, ("pump",), table) if table["pump_ul_s"] else None
        found.append({"name": table["name"], "dry": dry, "wet": probe, "pump": pump})
    return found


def _when(notes, kinds, table):
    note = calibrate_notes.last(notes, kinds, table)
    return note["date"][:10] if note else "from a file"


def next_step(found):
    """The first of STEPS that a pot still needs, None where all is done."""
    return next((step for step in STEPS if any(row[step] is None for row in found)), None)


def lines(found):
    """The rows as lines of text, one per pot under a head."""
    wide = max(len("pot"), *(len(row["name"]) for row in found))
    shown = [f"{'pot':<{wide}}  {'dry end':<12}{'wet end':<12}pump"]
    for row in found:
        cells = [row[step] or TO_DO for step in ("dry", "wet", "pump")]
        shown.append(f"{row['name']:<{wide}}  {cells[0]:<12}{cells[1]:<12}{cells[2]}")
    return shown
