"""The check on the board: the same faults on every interpreter."""

from potreeve.logic import settings

from vectors.made import CHANNEL, SETTINGS, changed

RIG = {"tray_headroom_ml": 1500, "tray_area_cm2": 900}
POT = {"name": "mint", "pot_ml": 1200, "holds_ml": 500}

LARGE = changed(POT, {"ration_ml": 30, "pot_ml": 8000})
SPARING = changed(POT, {"ration_ml": 10})
SMALL = changed(POT, {"ration_ml": 7})
WILTING = changed(SMALL, {"wilting_pm": 600, "pulse_ml": 100})
GREEDY = changed(POT, {"pump_spread_pm": 1000, "ration_ml": 500, "dose_ml": 500, "day_ml": 3000})
THIRSTY = [changed(POT, {"ration_ml": 30}), changed(POT, {"ration_ml": 26})]


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


def insisted(rig, pot):
    """Whether settings that are insisted on run, and what remains of insisting."""
    found, wrong = settings.check(changed(changed(RIG, rig), {"insist": True, "channels": [changed(POT, pot)]}))
    return found["insist"] if found else wrong


VECTORS = (
    # 25 ml take 6.25 s at 4 ml/s, and half a second for the tube: at 4.8 ml/s 32.4 ml
    ("counted_pm", (CHANNEL,), 1296),
    ("counted_pm", (changed(CHANNEL, {"tube_full_h": 24}),), 1200),
    ("counted_pm", (changed(CHANNEL, {"pump_ul_s": 0, "pump_spread_pm": 250}),), 1250),
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
    # 3 ml of 500 are 6 pm: five of them are 30, four 24, three 18; 24 pm of 500 ml in three are 4 ml
    ("faults", ({}, {"pulse_ml": 2}), [(20, "channels[0].", "pulse_ml", 2, 4, 3)]),
    ("faults", ({}, {"pulse_ml": 3, "unproven_max": 4}), []),
    ("faults", ({}, {"pulse_ml": 3}), [(21, "channels[0].", "unproven_max", 3, 6, 4)]),
    # 60 pm of 500 ml are 30 ml; a pump may be a fifth faster: 36 ml
    ("faults", ({}, {"dose_ml": 30}), []),
    ("faults", ({}, {"dose_ml": 29}), [(22, "channels[0].", "dose_ml", 29, 30)]),
    # a fifth of what its plant can draw, 75 ml, counts as 90, whatever its ration
    ("faults", ({}, {"dose_ml": 30, "day_ml": 90, "ration_ml": 9}), []),
    ("faults", ({}, {"dose_ml": 30, "day_ml": 89, "ration_ml": 9}), [(22, "channels[0].", "day_ml", 89, 90)]),
    # a thirsty plant drinks three rations of 26 ml, which count as 93
    ("faults", ({}, {"dose_ml": 30, "day_ml": 93, "ration_ml": 26}), []),
    ("faults", ({}, {"dose_ml": 30, "day_ml": 92, "ration_ml": 26}), [(22, "channels[0].", "day_ml", 92, 93)]),
    ("faults", ({"tray_headroom_ml": 2400, "rig_day_ml": 3000},
                {"pump_spread_pm": 1000, "ration_ml": 500, "dose_ml": 500, "day_ml": 3000}), []),
    ("faults", ({"tray_headroom_ml": 2400, "rig_day_ml": 3000},
                {"pump_spread_pm": 1000, "ration_ml": 500, "dose_ml": 500, "day_ml": 2999}),
     [(22, "channels[0].", "day_ml", 2999, 3000)]),
    ("faults", ({"tray_headroom_ml": 2400, "rig_day_ml": 3000},
                {"pump_spread_pm": 1000, "ration_ml": 501, "dose_ml": 600, "day_ml": 3000}),
     [(6, "channels[0].", "ration_ml", 501)]),
    # of two pots: 36 ml proof, 6 x 30 ml of rations, 2 x 30 of pulses
    ("faults", ({"rig_day_ml": 180, "channels": [POT, POT]}, {}), []),
    ("faults", ({"rig_day_ml": 179, "channels": [POT, POT]}, {}), [(22, "", "rig_day_ml", 179, 180)]),
    ("faults", ({"rig_day_ml": 180, "channels": [SMALL, SMALL]}, {}), []),
    ("faults", ({"rig_day_ml": 179, "channels": [SMALL, SMALL]}, {}), [(22, "", "rig_day_ml", 179, 180)]),
    ("faults", ({"rig_day_ml": 240, "channels": [WILTING, WILTING]}, {}), []),
    ("faults", ({"rig_day_ml": 239, "channels": [WILTING, WILTING]}, {}), [(22, "", "rig_day_ml", 239, 240)]),
    ("faults", ({"tray_headroom_ml": 4800, "tray_dry_um_day": 0, "rig_day_ml": 5000, "channels": [GREEDY] * 3}, {}),
     []),
    ("faults", ({"tray_headroom_ml": 4800, "tray_dry_um_day": 0, "rig_day_ml": 4999, "channels": [GREEDY] * 3}, {}),
     [(22, "", "rig_day_ml", 4999, 5000)]),
    # a pot of 113 cm2 is not to live on less than 2 ml a day
    ("faults", ({}, {"ration_ml": 2}), []),
    ("faults", ({}, {"ration_ml": 1}), [(22, "channels[0].", "ration_ml", 1, 2)]),
    ("faults", ({"tray_headroom_ml": 36}, {"ration_ml": 18}), []),
    ("faults", ({"tray_headroom_ml": 35}, {"ration_ml": 18}), [(22, "", "tray_headroom_ml", 35, 36)]),
    # with a pump that is known, its priming counts: 6.75 s at 4.8 ml/s are 32.4 ml for 25, 38.88 for a proof
    ("faults", ({"tray_headroom_ml": 39}, {"pump_ul_s": 4000, "ration_ml": 17}), []),
    ("faults", ({"tray_headroom_ml": 38}, {"pump_ul_s": 4000, "ration_ml": 17}),
     [(22, "", "tray_headroom_ml", 38, 39)]),
    # 25 ml of rations charge 2083 ul a day, and 41 cm2 dry 2050 of them
    ("faults", ({"tray_area_cm2": 42}, {}), []),
    ("faults", ({"tray_area_cm2": 41}, {}), [(26, "", "tray_area_cm2", 41, 42)]),
    ("faults", ({"tray_area_cm2": 41, "pots_in_tray": True}, {}), []),
    ("faults", ({"tray_area_cm2": 41, "tray_dry_um_day": 0}, {}), []),
    ("faults", ({"tray_area_cm2": 41, "tray_dry_um_day": 509}, {}), []),
    ("faults", ({"tray_area_cm2": 41, "tray_dry_um_day": 508}, {}), [(26, "", "tray_area_cm2", 41, 42)]),
    ("faults", ({"rig_day_ml": 200, "tray_area_cm2": 83, "channels": [POT, POT]}, {}),
     [(26, "", "tray_area_cm2", 83, 84)]),
    ("insisted", ({"tray_area_cm2": 41}, {}), True),
    ("faults", ({}, {"pump_ul_s": 4000, "dose_ml": 30, "day_ml": 97, "ration_ml": 10}), []),
    ("faults", ({}, {"pump_ul_s": 4000, "dose_ml": 30, "day_ml": 96, "ration_ml": 9}),
     [(22, "channels[0].", "day_ml", 96, 97)]),
    ("faults", ({"rig_day_ml": 194, "channels": [changed(POT, {"pump_ul_s": 4000})] * 2}, {}), []),
    ("faults", ({"rig_day_ml": 193, "channels": [changed(POT, {"pump_ul_s": 4000})] * 2}, {}),
     [(22, "", "rig_day_ml", 193, 194)]),
    # the tray takes a day's drink, of all pots together
    ("faults", ({"tray_headroom_ml": 80}, {"ration_ml": 50}), []),
    ("faults", ({"tray_headroom_ml": 79}, {"ration_ml": 50}), [(22, "", "tray_headroom_ml", 79, 80)]),
    ("faults", ({"tray_headroom_ml": 90, "channels": THIRSTY}, {}), []),
    ("faults", ({"tray_headroom_ml": 89, "channels": THIRSTY}, {}), [(22, "", "tray_headroom_ml", 89, 90)]),
    # it takes a dose that shows beside what its plant drinks: 24 pm of 500 ml, and 2.6 times what it drinks by day in
    # the six hours that water spreads for in a large pot, 21 ml of 28 a day: 12 + 54 ml, by a pump a fifth faster 80
    ("faults", ({"tray_headroom_ml": 80}, {"ration_ml": 28, "pot_ml": 8000}), []),
    ("faults", ({"tray_headroom_ml": 79}, {"ration_ml": 28, "pot_ml": 8000}), [(22, "", "tray_headroom_ml", 79, 80)]),
    # 26 ml a day hide 19 ml, 27 hide 20: 12 + 49 and 12 + 52
    ("faults", ({"tray_headroom_ml": 74}, {"ration_ml": 26, "pot_ml": 8000}), []),
    ("faults", ({"tray_headroom_ml": 74}, {"ration_ml": 27, "pot_ml": 8000}), [(22, "", "tray_headroom_ml", 74, 77)]),
    # with a pump that is known, its priming counts: 1.296 of 66 ml; not where the tube stays full for a day
    ("faults", ({"tray_headroom_ml": 86}, {"ration_ml": 28, "pot_ml": 8000, "pump_ul_s": 4000}), []),
    ("faults", ({"tray_headroom_ml": 85}, {"ration_ml": 28, "pot_ml": 8000, "pump_ul_s": 4000}),
     [(22, "", "tray_headroom_ml", 85, 86)]),
    ("faults", ({"tray_headroom_ml": 80}, {"ration_ml": 28, "pot_ml": 8000, "pump_ul_s": 4000, "tube_full_h": 24}), []),
    ("faults", ({"tray_headroom_ml": 80}, {"ration_ml": 28, "pot_ml": 8000, "pump_ul_s": 4000, "tube_full_h": 23}),
     [(22, "", "tray_headroom_ml", 80, 86)]),
    # by the pot that asks for most, whichever it is
    ("faults", ({"tray_headroom_ml": 83, "channels": [LARGE, SPARING]}, {}), []),
    ("faults", ({"tray_headroom_ml": 82, "channels": [LARGE, SPARING]}, {}),
     [(22, "", "tray_headroom_ml", 82, 83)]),
    ("faults", ({"tray_headroom_ml": 82, "channels": [SPARING, LARGE]}, {}),
     [(22, "", "tray_headroom_ml", 82, 83)]),
    ("faults", ({"pots_in_tray": 1}, {}), [(6, "", "pots_in_tray", 1)]),
    ("faults", ({"soak_s": 900}, {}), []),
    ("faults", ({"soak_s": 899}, {}), [(23, "", "soak_s", 899, 900)]),
    ("faults", ({}, {"wilting_pm": 100}), []),
    ("faults", ({}, {"wilting_pm": 99}), [(24, "channels[0].", "wilting_pm", 99, 100)]),
    ("faults", ({}, {"depletion_pm": 600}), []),
    ("faults", ({}, {"depletion_pm": 601}), [(25, "channels[0].", "depletion_pm", 601, 600)]),
    ("insisted", ({}, {}), False),
    ("insisted", ({}, {"depletion_pm": 601}), True),
    ("insisted", ({"soak_s": 299}, {"depletion_pm": 601}), [(6, "", "soak_s", 299)]),
    ("insisted", ({}, {"fill_pm": 749}), [(11, "channels[0].", "fill_pm", 749, 700)]),
    ("moved", (0, 2), 1200),
    ("moved", (1, 2), 1100),
    ("moved", (2, 2), 1800),
    ("moved", (3, 2), [(3, "", "schema", 3, 2)]),
)
