"""What can't keep a plant alive: each threshold and its neighbour, as settings.check tells it."""

from vectors.made import CHANNEL, POT, changed, faults, settings  # noqa: F401  (a wrapper that vectors name)

LARGE = changed(POT, {"ration_ml": 30, "pot_ml": 8000})
SPARING = changed(POT, {"ration_ml": 10})
SMALL = changed(POT, {"ration_ml": 7})
WILTING = changed(SMALL, {"wilting_pm": 600, "pulse_ml": 100})
GREEDY = changed(POT, {"pump_spread_pm": 1000, "ration_ml": 500, "dose_ml": 500, "day_ml": 3000})
WIDE = {"tray_headroom_ml": 3000, "rig_day_ml": 3000}
TUB = {"pot_ml": 8000, "holds_ml": 2000, "pulse_ml": 60, "dose_ml": 120, "day_ml": 600, "ration_ml": 100}
THIRSTY = [changed(POT, {"ration_ml": 30}), changed(POT, {"ration_ml": 26})]


VECTORS = (
    # 25 ml take 6.25 s at 4 ml/s, and half a second for the tube: at 4.8 ml/s 32.4 ml
    ("counted_pm", (CHANNEL,), 1296),
    ("counted_pm", (changed(CHANNEL, {"tube_full_h": 24}),), 1200),
    ("counted_pm", (changed(CHANNEL, {"pump_ul_s": 0, "pump_spread_pm": 250}),), 1250),
    ("check", (settings(2, {}, {}),), []),
    ("check", (settings(2, {"soak_s": 899}, {"depletion_pm": 601}),),
     [(25, "channels[0].", "depletion_pm", 601, 600), (25, "channels[1].", "depletion_pm", 601, 600),
      (23, "", "soak_s", 899, 900)]),
    # 3 ml of 500 are 6 pm: five of them are 30, four 24, three 18; 24 pm of 500 ml in three are 4 ml
    ("faults", ({}, {"pulse_ml": 2}), [(20, "channels[0].", "pulse_ml", 2, 4, 3)]),
    ("faults", ({}, {"pulse_ml": 3, "unproven_max": 4}), []),
    ("faults", ({}, {"pulse_ml": 3}), [(21, "channels[0].", "unproven_max", 3, 6, 4)]),
    # 60 pm of 500 ml are 30 ml; a pump may be a fifth faster: 36 ml
    ("faults", ({}, {"dose_ml": 30}), []),
    ("faults", ({}, {"dose_ml": 29}), [(22, "channels[0].", "dose_ml", 29, 30)]),
    # 60 pm of 2,000 ml are 120 ml; 20 ul for each of the 400 and 527 cm2 of pots of 8 and 12 l are 8 and 10 ml
    ("faults", (WIDE, TUB), []),
    ("faults", (WIDE, changed(TUB, {"dose_ml": 119})), [(22, "channels[0].", "dose_ml", 119, 120)]),
    ("faults", (WIDE, changed(TUB, {"ration_ml": 8})), []),
    ("faults", (WIDE, changed(TUB, {"ration_ml": 7})), [(22, "channels[0].", "ration_ml", 7, 8)]),
    ("faults", (WIDE, changed(TUB, {"pot_ml": 12000, "ration_ml": 10})), []),
    ("faults", (WIDE, changed(TUB, {"pot_ml": 12000, "ration_ml": 9})), [(22, "channels[0].", "ration_ml", 9, 10)]),
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
    ("faults", ({"soak_s": 900}, {}), []),
    ("faults", ({"soak_s": 899}, {}), [(23, "", "soak_s", 899, 900)]),
    ("faults", ({}, {"wilting_pm": 100}), []),
    ("faults", ({}, {"wilting_pm": 99}), [(24, "channels[0].", "wilting_pm", 99, 100)]),
    ("faults", ({}, {"depletion_pm": 600}), []),
    ("faults", ({}, {"depletion_pm": 601}), [(25, "channels[0].", "depletion_pm", 601, 600)]),
)
