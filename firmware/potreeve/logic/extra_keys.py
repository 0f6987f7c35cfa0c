"""The settings' tables of extras: what a person measured of the sensors in tray and tub. Keys, units, ranges, defaults.

Only boards that are wired for such parts are sent this; settings.check loads it where there is such a table.
"""

# Words as in settings.py, which imports this.
_INT = "int"

# (key, kind, unit, low, high, default) per table.
TABLES = {
    "tray_sensor": (
        ("dry_pm", _INT, "pm", 300, 990, 680),
        ("wet_pm", _INT, "pm", 0, 900, 200),
        ("reach_ml", _INT, "ml", 0, 20000, 50),
    ),
    "tub": (),
}

# Codes of faults: the first is settings', the others follow radio_keys'. Below zero: 20 and more would be "starves".
NO_TABLE = 1
TOO_NEAR = -1

# Dry and wet must lie so far apart to be told from each other (common practice, no source).
APART_PM = 60


def check(name, data, clean, faults):
    """One of TABLES made whole; clean: settings._table. Appends to faults as settings.check."""
    where = name + "."
    if not isinstance(data, dict):
        faults.append((NO_TABLE, where, "", data))
        return None
    before = len(faults)
    table = clean(data, TABLES[name], where, faults)
    if name == "tray_sensor" and len(faults) == before and table["wet_pm"] > table["dry_pm"] - APART_PM:
        faults.append((TOO_NEAR, where, "wet_pm", table["wet_pm"], "dry_pm", table["dry_pm"]))
    return table
