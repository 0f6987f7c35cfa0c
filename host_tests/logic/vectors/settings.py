"""The check on the board: the same faults on every interpreter."""

from potreeve.logic import settings

from vectors.made import POT, RIG, SETTINGS, changed, faults  # noqa: F401  (a wrapper that vectors name)


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


def insisted(rig, pot):
    """Whether settings that are insisted on run, and what remains of insisting."""
    found, wrong = settings.check(changed(changed(RIG, rig), {"insist": True, "channels": [changed(POT, pot)]}))
    return found["insist"] if found else wrong


VECTORS = (
    ("checked", ({}, {}), [1, 1800, True, (), 200]),
    ("checked", ({"wake_s": 600, "beep": False, "schema": 1}, {"curve": [[52000, -240], [22000, 1000]]}),
     [1, 600, False, [(52000, -240), (22000, 1000)], 200]),
    ("again", (), (True, [])),
    ("check", (None,), (None, [(1, "", "settings", None)])),
    ("check", ([],), (None, [(1, "", "settings", [])])),
    ("check", (7,), (None, [(1, "", "settings", 7)])),
    ("faults", ({"wake_s": 599}, {}), [(6, "", "wake_s", 599)]),
    ("faults", ({"wake_s": 7201}, {}), [(6, "", "wake_s", 7201)]),
    ("faults", ({"wake_s": -1073741825}, {}), [(6, "", "wake_s", -1073741825)]),
    ("faults", ({"wake_s": True}, {}), [(6, "", "wake_s", True)]),
    ("faults", ({"battery_cells": 0}, {}), [(6, "", "battery_cells", 0)]),
    ("faults", ({"beep": 1}, {}), [(6, "", "beep", 1)]),
    ("faults", ({"battery_kind": "zinc"}, {}), [(6, "", "battery_kind", "zinc")]),
    ("faults", ({"name": ""}, {}), [(6, "", "name", "")]),
    ("faults", ({"colour": 5}, {}), [(9, "", "colour", 5)]),
    ("faults", ({"schema": -1}, {}), [(2, "", "schema", -1, 1)]),
    ("faults", ({"schema": 2}, {}), [(3, "", "schema", 2, 1)]),
    ("faults", ({"schema": 0}, {}), [(4, "", "schema", 0)]),
    ("faults", ({"channels": 5}, {}), [(5, "", "channels", 5)]),
    ("faults", ({"channels": [5]}, {}), [(1, "channels[0].", "", 5)]),
    ("faults", ({}, {}, ("tray_area_cm2",)), [(8, "", "tray_area_cm2", None)]),
    ("faults", ({}, {"curve": [[52000, 0], [52000, 1000]]}),
     [(7, "channels[0].", "curve", [[52000, 0], [52000, 1000]])]),
    ("faults", ({}, {"curve": [[52000, -1001], [22000, 1000]]}),
     [(6, "channels[0].", "curve", [[52000, -1001], [22000, 1000]])]),
    ("faults", ({}, {"curve": [[30999, 0], [30000, 1000]]}),
     [(16, "channels[0].", "curve", [(30999, 0), (30000, 1000)], 999, 100)]),
    ("faults", ({}, {"fill_pm": 749}), [(11, "channels[0].", "fill_pm", 749, 700)]),
    ("faults", ({}, {"fill_pm": 750}), []),
    ("faults", ({}, {"holds_ml": 1200, "day_ml": 216}), [(12, "channels[0].", "holds_ml", 1200, 1200)]),
    ("faults", ({}, {"dose_ml": 201}), [(13, "channels[0].", "dose_ml", 201, "day_ml", 200)]),
    # 25 ml at 4 ml/s with 500 ms of priming: 6750 ms
    ("faults", ({}, {"pump_ul_s": 4000, "pulse_max_ms": 6750}), []),
    ("faults", ({}, {"pump_ul_s": 4000, "pulse_max_ms": 6749}),
     [(14, "channels[0].", "pulse_ml", 25, 6750, 4000, 6749)]),
    # a fifth more than 4 ml/s for 10 s: 48 ml
    ("faults", ({"tray_headroom_ml": 48}, {"pump_ul_s": 4000, "pulse_max_ms": 10000, "ration_ml": 20}), []),
    ("faults", ({"tray_headroom_ml": 47}, {"pump_ul_s": 4000, "pulse_max_ms": 10000, "ration_ml": 20}),
     [(15, "channels[0].", "pulse_max_ms", 10000, 48, 47)]),
    # lithium is full at 4200 mV; so much is spared for the sag
    ("faults", ({"battery_stop_mv": 4101}, {}), [(10, "", "battery_stop_mv", 4101, 4200)]),
    ("faults", ({"tray_headroom_ml": 2400, "rig_day_ml": 3000},
                {"pump_spread_pm": 1000, "ration_ml": 501, "dose_ml": 600, "day_ml": 3000}),
     [(6, "channels[0].", "ration_ml", 501)]),
    ("faults", ({"pots_in_tray": 1}, {}), [(6, "", "pots_in_tray", 1)]),
    ("insisted", ({}, {}), False),
    ("insisted", ({}, {"depletion_pm": 601}), True),
    ("insisted", ({"tray_area_cm2": 41}, {}), True),
    ("insisted", ({"soak_s": 299}, {"depletion_pm": 601}), [(6, "", "soak_s", 299)]),
    ("insisted", ({}, {"fill_pm": 749}), [(11, "channels[0].", "fill_pm", 749, 700)]),
    ("moved", (0, 2), 1200),
    ("moved", (1, 2), 1100),
    ("moved", (2, 2), 1800),
    ("moved", (3, 2), [(3, "", "schema", 3, 2)]),
)
