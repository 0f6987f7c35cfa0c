"""The settings' table `tub`: what the tub holds at each float, as `calibrate tub` measured it.

Only boards whose file names floats or a strip are sent this; settings.check loads it where there is such a table.
All ml are what the pumps can reach: from their inlet up.
"""

from potreeve.logic.tub_marks import MARKS, marks

# Word as in settings.py, which imports this.
_INT = "int"

# A tub is no larger than this.
MOST_ML = 60000

# (key, kind, unit, low, high, default); None: must be given. Marks from below; 0: no such mark.
KEYS = (
    ("mark1_ml", _INT, "ml", 0, MOST_ML, None),
    ("mark2_ml", _INT, "ml", 0, MOST_ML, 0),
    ("mark3_ml", _INT, "ml", 0, MOST_ML, 0),
    ("mark4_ml", _INT, "ml", 0, MOST_ML, 0),
    ("full_ml", _INT, "ml", 100, MOST_ML, None),
    ("open_cm2", _INT, "cm2", 0, 5000, 0),
    ("dry_raw", _INT, "counts", 0, 65535, 0),
    ("mark1_raw", _INT, "counts", 0, 65535, 0),
    ("mark2_raw", _INT, "counts", 0, 65535, 0),
    ("mark3_raw", _INT, "counts", 0, 65535, 0),
    ("mark4_raw", _INT, "counts", 0, 65535, 0),
)

# Codes of faults: the first is settings'; from settings.STARVES up an owner may insist, so the others lie below all.
NO_TABLE = 1
NOT_RISING = -11
RAW_ORDER = -12

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
    missing = False
    for number in range(1, MARKS + 1):
        key = "mark%d_ml" % number
        ml = table[key]
        if number > 1 and not ml:
            missing = True
        elif missing or ml <= below or ml >= table["full_ml"]:
            faults.append((NOT_RISING, "tub.", key, ml, below if below > 0 else 0, table["full_ml"]))
        else:
            below = ml
    if table["mark1_raw"]:
        _raw_contradictions(table, len(marks(table)), faults)


def _raw_contradictions(table, count, faults):
    """A strip reads further and further from dry, mark by mark."""
    sign = 1 if table["mark1_raw"] > table["dry_raw"] else -1
    before = table["dry_raw"]
    for number in range(1, count + 1):
        key = "mark%d_raw" % number
        if not table[key] or sign * (table[key] - before) < _RAW_LEAST:
            faults.append((RAW_ORDER, "tub.", key, table[key], before))
        before = table[key]
