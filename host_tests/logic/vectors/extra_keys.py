"""The tables of extras: made whole, or refused with every fault; and a board without them takes settings with them."""

from potreeve.logic import extra_keys, settings

LEAST = {"tray_headroom_ml": 1500, "tray_area_cm2": 900, "channels": [{"name": "mint", "pot_ml": 1200,
                                                                      "holds_ml": 500}]}


def check(name, data):
    """(values in order, faults)"""
    faults = []
    table = extra_keys.check(name, data, settings._table, faults)
    return None if table is None else [table.get(row[0]) for row in extra_keys.TABLES[name]], faults


def whole():
    """Within settings: there if given, not if not, and the same when read again."""
    bare = settings.check(dict(LEAST))[0]
    found, faults = settings.check(dict(LEAST, tray_sensor={"reach_ml": 80}))
    again = settings.check(dict(found))[0]
    return "tray_sensor" in bare, found["tray_sensor"]["reach_ml"], faults, again["tray_sensor"] == found["tray_sensor"]


VECTORS = (
    ("check", ("tray_sensor", {}), ([680, 200, 50], [])),
    ("check", ("tray_sensor", {"dry_pm": 700, "wet_pm": 640}), ([700, 640, 50], [])),
    ("check", ("tray_sensor", {"dry_pm": 700, "wet_pm": 641}),
     ([700, 641, 50], [(-1, "tray_sensor.", "wet_pm", 641, "dry_pm", 700)])),
    ("check", ("tray_sensor", {"dry_pm": 991, "wet_pm": -1}),
     ([991, -1, 50], [(6, "tray_sensor.", "dry_pm", 991), (6, "tray_sensor.", "wet_pm", -1)])),
    ("check", ("tray_sensor", {"reach_ml": True}), ([680, 200, True], [(6, "tray_sensor.", "reach_ml", True)])),
    ("check", ("tray_sensor", {"depth": 3}), ([680, 200, 50], [(9, "tray_sensor.", "depth", 3)])),
    ("check", ("tray_sensor", [3]), (None, [(1, "tray_sensor.", "", [3])])),
    ("check", ("tub", {"mark1_ml": 5, "full_ml": 100}), ([5, 0, 0, 0, 100, 0, (), 1000, 0], [])),
    ("check", ("tub", 5), (None, [(1, "tub.", "", 5)])),
    ("whole", (), (False, 80, [], True)),
)
