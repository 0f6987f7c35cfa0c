"""Rungs, doubt and trust, boots, people, rations: every threshold and the value before it."""

from potreeve.logic import ladder

from vectors.made import CHANNEL, changed, fields, make_state, settings


def answers_after(before, rung):
    """Only as long as a pot stays on its rung do its answers count."""
    made = make_state({}, {"ladder": before, "answers": 2})
    ladder.move(made.pots[0], rung, 3, 500)
    return made.pots[0].answers


def falls_after(before, rung):
    """A pot that is tended no more forgets how far it fell by day and by night."""
    made = make_state({}, {"ladder": before, "light_pm": 5, "light_s": 70, "dark_pm": 6, "dark_s": 80})
    ladder.move(made.pots[0], rung, 3, 500)
    return made.pots[0].light_pm, made.pots[0].light_s, made.pots[0].dark_pm, made.pots[0].dark_s


def moved(pot, rung, reason):
    made = make_state({}, pot)
    ladder.move(made.pots[0], rung, reason, 500)
    return fields(("ladder", "reason", "since_s", "dosing", "closing", "judge", "unproven"), made.pots[0])


def judged(pot, wrong):
    made = make_state({}, pot)
    ladder.judge_reading(made.pots[0], wrong, 500)
    return fields(("ladder", "reason", "doubt", "trust"), made.pots[0])


def anew(pot, wrong):
    """0 where the next reading is the first of a new past."""
    made = make_state({}, pot)
    ladder.judge_reading(made.pots[0], wrong, 500)
    return made.pots[0].known


def calibrated(pot, channel):
    made = make_state({}, pot)
    ready = ladder.check_calibration(made.pots[0], changed(CHANNEL, channel), 500)
    return ready, made.pots[0].ladder, made.pots[0].reason


def acknowledged(rig, pot):
    made = make_state(rig, pot)
    ladder.acknowledge(made)
    told = fields(("ladder", "reason", "known", "doubt", "wet_s", "unproven", "crossed", "rising"), made.pots[0])
    told["hold"] = made.rig.hold
    told["boots"] = made.rig.boots
    told["sag_mv"] = made.rig.sag_mv
    return told


def unseen(pot):
    """The demand that counts for a pot's last dose after somebody pressed; 65535 where nobody saw its water arrive."""
    made = make_state({}, changed({"dose_um": 7, "closing": 1}, pot))
    ladder.acknowledge(made)
    return made.pots[0].dose_um, made.pots[0].closing


def served(rig, pot):
    made = make_state(rig, pot)
    ladder.service(made)
    told = fields(("hold", "hold_s", "tray_ul", "tray_carry", "memory", "boots"), made.rig)
    told["dosing"] = made.pots[0].dosing
    told["ladder"] = made.pots[0].ladder
    return told


def booted(rig, unplanned):
    made = make_state(rig, {})
    ladder.count_boot(made.rig, unplanned)
    return fields(("hold", "boots", "boot_s"), made.rig)


def ration(rig, pot, channel, changes=None):
    made = make_state(rig, changed({"ladder": 1}, pot))
    return ladder.ration(made.rig, made.pots, made.pots[0], changed(CHANNEL, channel), settings(1, changes or {}, {}))


def ration_most(tray_ul, changes, rungs=(1,)):
    made = make_state({"tray_ul": tray_ul}, *[{"ladder": rung} for rung in rungs])
    return ladder.ration_most_ul(made.rig, made.pots, settings(len(rungs), changes, {}))


def well(*rungs):
    return ladder.any_well(make_state({}, *[{"ladder": rung} for rung in rungs]).pots)


def due(rig, pot, every_s=43200):
    made = make_state(rig, pot)
    return ladder.ration_due(made.rig, made.pots[0], every_s)


def _moved(rung, reason, since_s, dosing=0, closing=0, judge=0, unproven=0):
    return {"ladder": rung, "reason": reason, "since_s": since_s, "dosing": dosing, "closing": closing,
            "judge": judge, "unproven": unproven}


def _judged(rung, reason, doubt, trust):
    return {"ladder": rung, "reason": reason, "doubt": doubt, "trust": trust}


def freed(hold):
    """Why the rig is held after somebody pressed."""
    made = make_state({"hold": hold}, {})
    ladder.acknowledge(made)
    return made.rig.hold


def _booted(hold, boots, boot_s):
    return {"hold": hold, "boots": boots, "boot_s": boot_s}


LEARNED = {"use_ul_mm": 20000}

VECTORS = (
    ("falls_after", (0, 0), (5, 70, 6, 80)),
    ("falls_after", (0, 1), (0, 0, 0, 0)),
    ("falls_after", (0, 2), (0, 0, 0, 0)),
    ("moved", ({}, 0, 0), _moved(0, 0, 0)),
    ("moved", ({}, 1, 3), _moved(1, 3, 500)),
    ("moved", ({"ladder": 1, "reason": 3, "since_s": 9}, 1, 3), _moved(1, 3, 9)),
    ("moved", ({"ladder": 1, "reason": 3, "since_s": 9}, 1, 4), _moved(1, 4, 500)),
    ("moved", ({"dosing": 1, "closing": 1, "judge": 1}, 2, 20), _moved(2, 20, 500, unproven=1)),
    ("moved", ({"dosing": 1, "closing": 1, "judge": 1}, 0, 40), _moved(0, 40, 500, 1, 1, 1)),
    ("answers_after", (1, 1), 2),
    ("answers_after", (1, 0), 0),
    ("answers_after", (2, 1), 0),
    ("judged", ({}, 0), _judged(0, 0, 0, 1)),
    ("judged", ({"trust": 250}, 0), _judged(0, 0, 0, 250)),
    ("judged", ({"trust": 9}, 3), _judged(0, 0, 2, 0)),
    ("judged", ({"doubt": 1}, 3), _judged(0, 0, 3, 0)),
    ("judged", ({"doubt": 2}, 3), _judged(1, 3, 4, 0)),
    ("judged", ({"doubt": 12}, 3), _judged(1, 3, 12, 0)),
    ("judged", ({"doubt": 3, "reason": 3}, 0), _judged(0, 0, 2, 1)),
    ("judged", ({"rising": 1}, 0), _judged(0, 40, 0, 1)),
    ("judged", ({"rising": 2}, 0), _judged(0, 40, 0, 1)),
    ("judged", ({"rising": 3}, 0), _judged(2, 21, 0, 1)),
    ("judged", ({"wet_s": 43199}, 0), _judged(0, 0, 0, 1)),
    ("judged", ({"wet_s": 43200}, 0), _judged(2, 23, 0, 1)),
    ("judged", ({"dosing": 1, "reason": 33}, 0), _judged(0, 33, 0, 1)),
    ("judged", ({"reason": 33}, 0), _judged(0, 0, 0, 1)),
    ("judged", ({"ladder": 1, "reason": 3, "trust": 4, "doubt": 9}, 0), _judged(1, 3, 8, 5)),
    ("judged", ({"ladder": 1, "reason": 3, "trust": 5, "doubt": 9}, 0), _judged(0, 0, 0, 6)),
    ("judged", ({"ladder": 1, "reason": 3, "trust": 5}, 5), _judged(1, 5, 2, 0)),
    ("judged", ({"ladder": 2, "reason": 23, "wet_s": 0}, 0), _judged(0, 0, 0, 1)),
    ("judged", ({"ladder": 2, "reason": 23, "wet_s": 1}, 0), _judged(2, 23, 0, 1)),
    ("judged", ({"ladder": 2, "reason": 23, "wet_s": 0}, 3), _judged(2, 23, 2, 0)),
    ("judged", ({"ladder": 2, "reason": 20}, 0), _judged(2, 20, 0, 1)),
    # Believed again, but its water is unproven: held, and tried.
    ("judged", ({"ladder": 1, "reason": 3, "trust": 5, "doubt": 9, "unproven": 1}, 0), _judged(2, 20, 0, 6)),
    ("judged", ({"ladder": 1, "reason": 3, "trust": 4, "doubt": 9, "unproven": 1}, 0), _judged(1, 3, 8, 5)),
    # Sound, not believed yet: counted, and nothing else.
    ("judged", ({"ladder": 1, "reason": 3, "trust": 5, "doubt": 9}, -1), _judged(1, 3, 9, 6)),
    ("judged", ({"ladder": 1, "reason": 3, "trust": 250, "doubt": 9}, -1), _judged(1, 3, 9, 250)),
    # No water leaves a pot that fast: what was wet was the reading.
    ("judged", ({"ladder": 2, "reason": 21, "doubt": 1}, 7), _judged(2, 21, 3, 0)),
    ("judged", ({"ladder": 2, "reason": 21, "doubt": 2}, 7), _judged(2, 21, 4, 0)),
    ("judged", ({"ladder": 2, "reason": 22, "doubt": 2}, 7), _judged(2, 22, 4, 0)),
    ("judged", ({"ladder": 2, "reason": 23, "doubt": 1, "wet_s": 50000}, 7), _judged(2, 23, 3, 0)),
    ("judged", ({"ladder": 2, "reason": 23, "doubt": 2, "wet_s": 50000}, 7), _judged(2, 20, 4, 0)),
    ("judged", ({"ladder": 2, "reason": 20, "doubt": 2}, 7), _judged(1, 7, 4, 0)),
    ("anew", ({"ladder": 2, "reason": 21, "known": 1, "doubt": 1}, 7), 1),
    ("anew", ({"ladder": 2, "reason": 21, "known": 1, "doubt": 2}, 7), 0),
    ("anew", ({"ladder": 2, "reason": 21, "known": 1, "doubt": 2}, 3), 1),
    ("anew", ({"ladder": 2, "reason": 22, "known": 1, "doubt": 2}, 7), 0),
    ("anew", ({"ladder": 2, "reason": 23, "known": 1, "doubt": 2}, 7), 0),
    ("anew", ({"ladder": 2, "reason": 20, "known": 1, "doubt": 2}, 7), 1),
    ("anew", ({"ladder": 0, "known": 1, "doubt": 2}, 7), 1),
    ("judged", ({"ladder": 2, "reason": 20, "doubt": 1}, 5), _judged(2, 20, 3, 0)),
    ("judged", ({"ladder": 2, "reason": 20, "doubt": 2}, 5), _judged(1, 5, 4, 0)),
    ("judged", ({"ladder": 2, "reason": 20, "doubt": 9}, 0), _judged(2, 20, 8, 1)),
    # So do all holds that rest on what the probe showed, and none that rests on what a pump or a person did.
    ("judged", ({"ladder": 2, "reason": 22, "doubt": 1}, 5), _judged(2, 22, 3, 0)),
    ("judged", ({"ladder": 2, "reason": 22, "doubt": 2}, 5), _judged(1, 5, 4, 0)),
    ("judged", ({"ladder": 2, "reason": 23, "doubt": 2, "wet_s": 50000}, 5), _judged(1, 5, 4, 0)),
    ("judged", ({"ladder": 2, "reason": 21, "doubt": 9}, 5), _judged(2, 21, 11, 0)),
    ("judged", ({"ladder": 2, "reason": 24, "doubt": 9}, 5), _judged(2, 24, 11, 0)),
    ("calibrated", ({}, {}), (True, 0, 0)),
    ("calibrated", ({}, {"curve": ()}), (False, 2, 24)),
    ("calibrated", ({}, {"pump_ul_s": 0}), (False, 2, 24)),
    ("calibrated", ({}, {"pump_ul_s": 1}), (True, 0, 0)),
    ("calibrated", ({"ladder": 2, "reason": 24}, {}), (True, 0, 0)),
    ("calibrated", ({"ladder": 2, "reason": 20}, {}), (True, 2, 20)),
    ("acknowledged", ({"sag_mv": 300}, {"ladder": 2, "reason": 20, "known": 1, "doubt": 3, "unproven": 3}),
     {"ladder": 0, "reason": 0, "known": 0, "doubt": 0, "wet_s": 0, "unproven": 0, "crossed": 0, "rising": 0,
      "hold": 0, "boots": 0, "sag_mv": 0}),
    ("acknowledged", ({"hold": 51, "boots": 9}, {"ladder": 2, "reason": 24, "known": 1, "crossed": 1, "rising": 2}),
     {"ladder": 2, "reason": 24, "known": 0, "doubt": 0, "wet_s": 0, "unproven": 0, "crossed": 0, "rising": 0,
      "hold": 0, "boots": 0, "sag_mv": 0}),
    ("acknowledged", ({}, {"ladder": 2, "reason": 23, "known": 1, "wet_s": 50000}),
     {"ladder": 0, "reason": 0, "known": 0, "doubt": 0, "wet_s": 0, "unproven": 0, "crossed": 0, "rising": 0,
      "hold": 0, "boots": 0, "sag_mv": 0}),
    # Whoever pressed did not see where water went that waits for its proof, or was judged in vain.
    ("unseen", ({},), (7, 1)),
    ("unseen", ({"unproven": 1},), (65535, 1)),
    ("unseen", ({"judge": 1},), (65535, 1)),
    ("unseen", ({"unproven": 3, "ladder": 2, "reason": 20, "closing": 0},), (65535, 0)),
    ("freed", (54,), 0),
    ("freed", (53,), 53),
    ("freed", (55,), 0),
    ("freed", (50,), 50),
    ("acknowledged", ({"hold": 50, "boots": 9}, {"known": 1, "doubt": 1}),
     {"ladder": 0, "reason": 0, "known": 0, "doubt": 1, "wet_s": 0, "unproven": 0, "crossed": 0, "rising": 0,
      "hold": 50, "boots": 9, "sag_mv": 0}),
    ("served", ({"up_s": 77, "tray_ul": 5}, {"dosing": 1, "ladder": 2, "reason": 20}),
     {"hold": 50, "hold_s": 77, "tray_ul": 5, "tray_carry": 0, "memory": 0, "boots": 0, "dosing": 0, "ladder": 2}),
    ("served", ({"hold": 50, "hold_s": 7, "tray_ul": 5, "tray_carry": 6, "memory": 1, "boots": 3},
                {"ladder": 2, "reason": 20}),
     {"hold": 0, "hold_s": 7, "tray_ul": 0, "tray_carry": 0, "memory": 0, "boots": 0, "dosing": 0, "ladder": 0}),
    ("booted", ({"up_s": 9}, False), _booted(0, 0, 9)),
    ("booted", ({"up_s": 9}, True), _booted(0, 1, 9)),
    ("booted", ({"up_s": 9, "boots": 4, "boot_s": 9}, True), _booted(0, 5, 9)),
    ("booted", ({"up_s": 9, "boots": 5, "boot_s": 9}, True), _booted(51, 6, 9)),
    ("booted", ({"up_s": 9, "boots": 7, "boot_s": 9, "hold": 51}, True), _booted(51, 8, 9)),
    ("booted", ({"up_s": 9, "boots": 8, "boot_s": 9, "hold": 51}, True), _booted(51, 8, 9)),
    ("booted", ({"up_s": 14399, "boots": 6, "hold": 51}, False), _booted(51, 6, 0)),
    ("booted", ({"up_s": 14400, "boots": 6, "hold": 51}, False), _booted(51, 5, 14400)),
    ("booted", ({"up_s": 43200, "boots": 6, "hold": 51}, False), _booted(51, 3, 43200)),
    ("booted", ({"up_s": 57600, "boots": 6, "hold": 51}, False), _booted(0, 2, 57600)),
    ("booted", ({"up_s": 1073741823, "boots": 6, "hold": 51}, False), _booted(0, 0, 1073741823)),
    ("booted", ({"up_s": 79199, "hold": 50}, False), _booted(50, 0, 79199)),
    ("booted", ({"up_s": 79200, "hold": 50}, False), _booted(0, 0, 79200)),
    ("booted", ({"up_s": 99999, "hold": 50, "hold_s": 20800}, False), _booted(50, 0, 99999)),
    ("booted", ({"up_s": 100000, "hold": 50, "hold_s": 20800}, False), _booted(0, 0, 100000)),
    ("booted", ({"up_s": 79199, "hold": 54}, False), _booted(54, 0, 79199)),
    ("booted", ({"up_s": 79200, "hold": 54}, False), _booted(0, 0, 79200)),
    ("booted", ({"up_s": 79199, "hold": 55}, False), _booted(55, 0, 79199)),
    ("booted", ({"up_s": 79200, "hold": 55}, False), _booted(0, 0, 79200)),
    ("booted", ({"up_s": 79200, "hold": 53}, False), _booted(53, 0, 79200)),
    # Half a day's where it should lift the pot by 24 pm, else the whole day's at once; what dries and a thirtieth of
    # the tray bound it.
    ("ration", ({}, {}, {}), (17500, 95000, 86400)),
    ("ration", ({"typical_um": 1500, "last_um": 1500}, LEARNED, {}), (21000, 95000, 86400)),
    ("ration", ({"typical_um": 1500, "last_um": 0}, LEARNED, {}), (10500, 95000, 86400)),
    ("ration", ({"typical_um": 1500, "last_um": 65535}, LEARNED, {}), (15750, 47500, 43200)),
    ("ration", ({"typical_um": 65535, "last_um": 65535}, LEARNED, {}), (25000, 47500, 43200)),
    ("ration", ({"typical_um": 0, "last_um": 3000}, LEARNED, {}), (17500, 95000, 86400)),
    ("ration", ({}, {}, {"ration_ml": 500}), (175000, 47500, 43200)),
    ("ration", ({}, {}, {"ration_ml": 1}), (1000, 95000, 86400)),
    ("ration", ({}, {}, {"ration_ml": 34}), (23800, 95000, 86400)),
    ("ration", ({}, {}, {"ration_ml": 35}), (12250, 47500, 43200)),
    # 16800 ul at 4.8 ml/s run for 3.5 s, of which half a second fills the tube: 12 ml, which lift this pot by 24 pm.
    ("ration", ({"tray_ul": 1500000}, {}, {"ration_ml": 500}, {"tray_area_cm2": 672}), (175000, 16800, 43200)),
    ("ration", ({"tray_ul": 1500000}, {}, {"ration_ml": 500}, {"tray_area_cm2": 671}), (350000, 33550, 86400)),
    ("ration", ({"tray_ul": 1498560}, {}, {"ration_ml": 500}, {"tray_area_cm2": 671}), (350000, 33598, 86400)),
    # A tube that takes longer leaves less of it; a fuller battery than at the calibration drives more into the same ms.
    ("ration", ({"tray_ul": 1500000}, {}, {"ration_ml": 500, "prime_ms": 501}, {"tray_area_cm2": 672}),
     (350000, 33600, 86400)),
    ("ration", ({"tray_ul": 1500000}, {}, {"ration_ml": 500, "prime_ms": 0}, {"tray_area_cm2": 576}),
     (175000, 14400, 43200)),
    ("ration", ({"tray_ul": 1500000}, {}, {"ration_ml": 500, "pump_cal_mv": 3700}, {"tray_area_cm2": 672}),
     (350000, 33600, 86400)),
    # By no less than 55 % of what the pot lately used, for what was learned sinks on the word of the reading in doubt.
    ("ration", ({"typical_um": 1500, "last_um": 1500}, {"use_ul_mm": 10000, "ref_ul_mm": 18000}, {}),
     (10500, 95000, 86400)),
    ("ration", ({"typical_um": 1500, "last_um": 1500}, {"use_ul_mm": 10000, "ref_ul_mm": 40000}, {}),
     (23100, 95000, 86400)),
    ("ration", ({"typical_um": 3000, "last_um": 3000}, LEARNED, {"ration_ml": 10}), (10000, 95000, 86400)),
    ("ration_most", (0, {}), 47500),
    ("ration_most", (1500000, {}), 22500),
    ("ration_most", (2000000, {"tray_dry_um_day": 0}), 0),
    # Beside a tended pot, half of the tray stays that one's: (750 / 30 + 45) / 2 ml. Pots in the tray make room
    # themselves.
    ("ration_most", (0, {}, (1, 0)), 35000),
    ("ration_most", (0, {}, (1, 2)), 47500),
    ("ration_most", (750000, {}, (1, 0)), 22500),
    ("ration_most", (0, {"pots_in_tray": True}, (1, 0)), 47500),
    ("well", (0,), True),
    ("well", (1,), False),
    ("well", (2,), False),
    ("well", (2, 1, 0), True),
    ("well", (1, 2, 1), False),
    # The first after half a pause, the others a pause after the last.
    ("due", ({"up_s": 43199}, {"ladder": 1, "reason": 3}, 86400), False),
    ("due", ({"up_s": 43200}, {"ladder": 1, "reason": 3}, 86400), True),
    ("due", ({"up_s": 43200}, {"ladder": 0}), False),
    ("due", ({"up_s": 43200}, {"ladder": 2}), False),
    ("due", ({"up_s": 21599}, {"ladder": 1, "reason": 3}), False),
    ("due", ({"up_s": 21600}, {"ladder": 1, "reason": 3}), True),
    ("due", ({"up_s": 43200}, {"ladder": 1, "reason": 8, "pm": 1060}), False),
    ("due", ({"up_s": 43200}, {"ladder": 1, "reason": 8, "pm": 1059}), True),
    ("due", ({"up_s": 43201}, {"ladder": 1, "reason": 3, "rationed": 1, "ration_s": 2}), False),
    ("due", ({"up_s": 43202}, {"ladder": 1, "reason": 3, "rationed": 1, "ration_s": 2}), True),
    ("due", ({"up_s": 21600}, {"ladder": 1, "reason": 3, "rationed": 0, "ration_s": 2}), True),
    ("due", ({"up_s": 43201}, {"ladder": 1, "reason": 3, "pulsed": 1, "pulse_s": 2}), False),
    ("due", ({"up_s": 71599}, {"ladder": 1, "reason": 3, "since_s": 50000, "pulsed": 1, "pulse_s": 2}), False),
    ("due", ({"up_s": 71600}, {"ladder": 1, "reason": 3, "since_s": 50000, "pulsed": 1, "pulse_s": 2}), True),
    ("due", ({"up_s": 71600}, {"ladder": 1, "reason": 3, "since_s": 50000, "pulsed": 1, "pulse_s": 28401}), False),
    ("due", ({"up_s": 1073720223}, {"ladder": 1, "reason": 3, "since_s": 1073698624}), False),
    ("due", ({"up_s": 1073720224}, {"ladder": 1, "reason": 3, "since_s": 1073698624}), True),
)
