"""The settings' table `tub`: what the tub holds at each float, as `calibrate tub` measured it.

Only boards that are wired for extras are sent this; settings.check loads it where there is such a table. All ml are
what the pumps can reach: from their inlet up.
"""

# Words as in settings.py, which imports this.
_INT = "int"

# Floats, or marks on a strip, at most.
MARKS = 4

# A tub is no larger than this.
MOST_ML = 60000

# (key, kind, unit, low, high, default); None: must be given. Marks from below; 0: no such mark. strip: a point for dry
# and one for each mark, (counts, number of the mark). share_...: what pumps take of what is counted, from a full tub
# and from one at its lowest mark: the lower the water, the higher they lift it and the less comes; 0: not measured.
KEYS = (
    ("mark1_ml", _INT, "ml", 0, MOST_ML, None),
    ("mark2_ml", _INT, "ml", 0, MOST_ML, 0),
    ("mark3_ml", _INT, "ml", 0, MOST_ML, 0),
    ("mark4_ml", _INT, "ml", 0, MOST_ML, 0),
    ("full_ml", _INT, "ml", 100, MOST_ML, None),
    ("open_cm2", _INT, "cm2", 0, 5000, 0),
    ("strip", "curve", "", 2, MARKS + 1, ()),
    ("share_full_pm", _INT, "pm", 100, 4000, 1000),
    ("share_low_pm", _INT, "pm", 0, 4000, 0),
)

# Codes of faults: the first is settings'; from settings.STARVES up an owner may insist, so the others lie below all.
NO_TABLE = 1
NOT_RISING = -11
STRIP_WRONG = -12

# A strip's marks lie at least so far apart: less is noise (common practice, no source).
_RAW_LEAST = 300


def check(data, clean, faults):
    """The table made whole; clean: settings._table. Appends to faults as settings.check."""
    if not isinstance(data, dict):
        faults.append((NO_TABLE, "tub.", "", data))
        return None
    before = len(faults)
    table = clean(data, KEYS, "tub.", faults)
    if len(faults) == before:
        _contradictions(table, faults)
    return table


def _contradictions(table, faults):
    """Append what is wrong with a table whose keys are each right by themselves."""
    below = -1
    count = 0
    for key, _, _, _, _, _ in KEYS[:MARKS]:
        ml = table[key]
        if key != "mark1_ml" and not ml:
            below = MOST_ML
        elif not below < ml < table["full_ml"]:
            faults.append((NOT_RISING, "tub.", key, ml, table["full_ml"]))
        else:
            below = ml
            count += 1
    last = 0
    for number, (raw, mark) in enumerate(table["strip"]):
        if mark != number or number and abs(raw - last) < _RAW_LEAST or len(table["strip"]) != count + 1:
            faults.append((STRIP_WRONG, "tub.", "strip", table["strip"], count, _RAW_LEAST))
            return
        last = raw
