"""Selftest of the tub's sensor, where one is wired."""

from potreeve.logic import errors
from potreeve.logic.tub_marks import ODD, float_mark, marks, strip_mark

from potreeve_tools.words import sentences as words

NAME = "tub's sensor"
GOOD, NOTE, BAD = "good", "note", "bad"
MEASURE = "measure it: potreeve calibrate tub"


def check(told, facts, add):
    """told: what the board read; add(name, verdict, what, todo): as in selftest_run."""
    seen = told.get("tub")
    if seen is None:
        return
    if isinstance(seen, (list, tuple)):
        add(NAME, BAD, f"can't be read: {seen[1]}", words.ERRORS[errors.TUB_SENSOR][1])
        return
    table = (facts.settings or {}).get("tub")
    extras = facts.board["extras"]
    if extras["tub_kind"] == "strip":
        mark = strip_mark(seen, table)
        said = f"strip reads {seen}"
    else:
        count = len(extras["tub_pins"])
        mark = float_mark(seen, count)
        said = "floats, the lowest first: " + " ".join("up" if seen >> place & 1 else "down" for place in range(count))
        if table and len(marks(table)) != count:
            add(NAME, BAD, f"{said}; the settings know {len(marks(table))} of them", MEASURE)
            return
    if not table:
        add(NAME, NOTE, f"{said}; it was never measured, so the board does not use it", MEASURE)
    elif mark == ODD:
        add(NAME, BAD, f"{said}: that can't be", words.ERRORS[errors.TUB_SENSOR][1])
    else:
        add(NAME, GOOD, said)
