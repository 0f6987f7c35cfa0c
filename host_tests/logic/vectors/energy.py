"""Charge, every part rounded up."""

E = {"active_ua": 30000, "sleep_ua": 1500, "boot_ms": 500, "boot_ua": 40000, "pump_ua": 150000, "probe_ua": 5000,
     "report_uah": 60}

VECTORS = (
    ("awake_uah", (0, E), 0),
    ("awake_uah", (1, E), 1),
    ("awake_uah", (1500, E), 15),
    ("awake_uah", (3600000, E), 35000),
    ("boot_uah", (E,), 6),
    ("sleep_uah", (0, E), 0),
    ("sleep_uah", (1, E), 1),
    ("sleep_uah", (1800, E), 750),
    ("sleep_uah", (1073741, E), 447393),
    ("pump_uah", (0, E), 0),
    ("pump_uah", (6250, E), 261),
    ("span_uah", ((0, 0, 0, 0), E), 0),
    ("span_uah", ((1800, 1500, 6250, 0), E), 1026),
    # Started anew: what followed the last reading, its pump included, was awake as well: 6890 ms.
    ("span_uah", ((1800, 1500, 0, 1), E), 777),
    ("span_uah", ((1800, 1500, 6250, 1), E), 1099),
)
