"""The check on the board: the same lines, letter for letter, on every interpreter."""

from potreeve.logic import settings

from vectors.made import SETTINGS, changed

RIG = {"tray_headroom_ml": 1500, "tray_area_cm2": 900}
POT = {"name": "mint", "pot_ml": 1200, "holds_ml": 500}


def faults(rig, pot, drop=()):
    data = changed(RIG, rig)
    if "channels" not in data:
        data["channels"] = [changed(POT, pot)]
    for key in drop:
        del data[key]
    return settings.check(data)[1]


def checked(rig, pot):
    """The checked values of some keys."""
    data = changed(changed(RIG, rig), {"channels": [changed(POT, pot)]})
    found = settings.check(data)[0]
    return [found["schema"], found["wake_s"], found["beep"], found["channels"][0]["curve"],
            found["channels"][0]["day_ml"]]


def again():
    """What was checked passes again, unchanged."""
    found, wrong = settings.check(SETTINGS)
    return found == settings.check(found)[0], wrong


def moved(schema, steps):
    """Settings brought up through steps that each add to wake_s."""
    def step(data):
        data["wake_s"] = data.get("wake_s", 1000) + 100
    data = changed(RIG, {"schema": schema, "channels": [POT]})
    found, wrong = settings.check(data, (step,) * steps)
    return found["wake_s"] if found else wrong


VECTORS = (
    ("checked", ({}, {}), [1, 1800, True, (), 200]),
    ("checked", ({"wake_s": 600, "beep": False, "schema": 1}, {"curve": [[52000, 0], [22000, 1000]]}),
     [1, 600, False, [(52000, 0), (22000, 1000)], 200]),
    ("again", (), (True, [])),
    ("check", (None,), (None, ["settings: give a table of keys, not nothing"])),
    ("check", ([],), (None, ["settings: give a table of keys, not a list of 0"])),
    ("check", (7,), (None, ["settings: give a table of keys, not a number"])),
    ("faults", ({"wake_s": 599}, {}), ["wake_s = 599: give a whole number 600..7200 s"]),
    ("faults", ({"wake_s": 7201}, {}), ["wake_s = 7201: give a whole number 600..7200 s"]),
    ("faults", ({"wake_s": -1073741825}, {}), ["wake_s = -1073741825: give a whole number 600..7200 s"]),
    ("faults", ({"wake_s": True}, {}), ["wake_s = True: give a whole number 600..7200 s"]),
    ("faults", ({"battery_cells": 0}, {}), ["battery_cells = 0: give a whole number 1..8"]),
    ("faults", ({"beep": 1}, {}), ["beep = 1: give true or false"]),
    ("faults", ({"battery_kind": "zinc"}, {}), ["battery_kind = 'zinc': give one of: lithium, alkaline, nimh"]),
    ("faults", ({"name": ""}, {}), ["name = '': give 1..24 characters of text"]),
    ("faults", ({"schema": 2}, {}), ["schema = 2: this firmware knows up to 1; flash a newer one"]),
    ("faults", ({"schema": 0}, {}), ["schema = 0: too old to bring up; start from a new file"]),
    ("faults", ({"channels": 5}, {}), ["channels = a number: give 1..4 channel tables"]),
    ("faults", ({"channels": [5]}, {}), ["channels[0] = a number: give a table"]),
    ("faults", ({}, {}, ("tray_area_cm2",)), ["tray_area_cm2 is missing: give a whole number 20..20000 cm2"]),
    ("faults", ({}, {"curve": [[52000, 0], [52000, 1000]]}),
     ["channels[0].curve = [[52000, 0], [52000, 1000]]: order the points by rising pm, raw all rising or all falling"]),
    ("faults", ({}, {"fill_pm": 749}),
     ["channels[0].fill_pm = 749: must be at least 50 above the refill point 700; raise it or allow more depletion"]),
    ("faults", ({}, {"holds_ml": 1200}),
     ["channels[0].holds_ml = 1200: a pot of 1200 ml can't hold that; give less"]),
    ("faults", ({}, {"dose_ml": 201}), ["channels[0].dose_ml = 201: must not exceed day_ml = 200; lower it"]),
    ("moved", (0, 2), 1200),
    ("moved", (1, 2), 1100),
    ("moved", (2, 2), 1800),
    ("moved", (3, 2), ["schema = 3: this firmware knows up to 2; flash a newer one"]),
)
