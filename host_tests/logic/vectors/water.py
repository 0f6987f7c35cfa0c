"""Who gets water, how much, what bounds it, and whether the last pulse helped."""

from potreeve.logic import water

from vectors.made import fields, make_state, settings

DRY = {"pm": 600, "known": 1}
FINE = {"pm": 850, "known": 1}
LATE = {"up_s": 100000, "soc_pm": 800}
RATIONED = {"ladder": 1, "reason": 3, "pm": 600}
DOSING = {"pm": 800, "known": 1, "dosing": 1, "dose_ul": 50000, "start_pm": 700}


def decided(rig, pots, changes=None, believed=None, channel=None):
    """(ms per channel, reasons, rungs, whose turn is next)"""
    start = dict(LATE)
    start.update(rig)
    made = make_state(start, *pots)
    told = settings(len(pots), changes or {}, channel or {})
    if believed is None:
        believed = [pot.ladder == 0 for pot in made.pots]
    pulses = water.decide(made, told, believed)
    return pulses, [pot.reason for pot in made.pots], [pot.ladder for pot in made.pots], made.rig.turn


def charged(rig, pot):
    """Every account after the pulse of a dry pot."""
    start = dict(LATE)
    start.update(rig)
    made = make_state(start, pot)
    water.decide(made, settings(1, {}, {}), [made.pots[0].ladder == 0])
    told = fields(("intent_ms", "pulse_ul", "pulse_most_ul", "pulse_s", "pulsed", "before_pm", "dose_ul", "judge",
                   "closing", "dosing", "dose_most_ul", "ration_s", "rationed", "model_pm", "total_ul"), made.pots[0])
    told["spent"] = made.pots[0].spent[0]
    told["tray_ul"] = made.rig.tray_ul
    return told


def tried(rig, *pots):
    """(pulses, sag to reckon with) of a battery that is refused for its sag, 300000 s after the memory began."""
    made = make_state(dict({"up_s": 300000}, **rig), *pots)
    pulses = water.decide(made, settings(len(pots), {}, {}), [True] * len(pots))
    return pulses, made.rig.sag_mv


def judged(pots, channel=None, up_s=100000):
    """(rung, reason, unproven, crossed, judge) per pot after the soak of the first, and the tray."""
    made = make_state({"up_s": up_s}, *pots)
    water.judge(made, 0, settings(len(pots), {}, channel or {}))
    return [(pot.ladder, pot.reason, pot.unproven, pot.crossed, pot.judge) for pot in made.pots], made.rig.tray_ul


def closed(tray_ul, pot, up_s=100000):
    """(closing, tray, gain)"""
    made = make_state({"up_s": up_s, "tray_ul": tray_ul}, pot)
    water.close_dose(made.rig, made.pots[0], settings(1, {}, {})["channels"][0])
    return made.pots[0].closing, made.rig.tray_ul, made.pots[0].gain_pm


def intent_closed(ran, under_mv):
    made = make_state({}, {"intent_ms": 5000, "judge": 1, "dosing": 1})
    water.close_intent(made.rig, made.pots[0], ran, under_mv)
    told = fields(("intent_ms", "judge", "dosing"), made.pots[0])
    told["sag_mv"] = made.rig.sag_mv
    return told


def strayed(pm, other_pm, crossed):
    """(why the rig is held, since when, rises of the other pot, tray) after a pulse that helped its own pot."""
    made = make_state({"up_s": 100000}, dict(PULSED, pm=pm), dict(OTHER, pm=other_pm, crossed=crossed))
    water.judge(made, 0, settings(2, {}, {}))
    return made.rig.hold, made.rig.hold_s, made.pots[1].crossed, made.rig.tray_ul


def found_open(rig, unplanned):
    """(intent, when it counts as given, sag to reckon with)"""
    made = make_state(dict({"up_s": 100000}, **rig), {"intent_ms": 5000, "pulse_s": 7})
    water.found_open(made.rig, made.pots[0], unplanned, settings(1, {}, {}))
    return made.pots[0].intent_ms, made.pots[0].pulse_s, made.rig.sag_mv


OTHER = {"known": 1, "mark_pm": 800}
PULSED = {"known": 1, "judge": 1, "pulse_s": 98800, "pulse_ul": 25000, "pulse_most_ul": 30000, "before_pm": 700}
DOSED = {"closing": 1, "pulse_s": 92800, "dose_ul": 50000, "dose_most_ul": 60000, "start_pm": 700}

VECTORS = (
    # Nobody is due; the refill point itself is due.
    ("decided", ({}, [FINE]), ([0], [0], [0], 0)),
    ("decided", ({}, [{"pm": 701}]), ([0], [0], [0], 0)),
    ("decided", ({}, [{"pm": 700}]), ([6750], [0], [0], 0)),
    ("decided", ({}, [DRY], None, [False]), ([0], [0], [0], 0)),
    ("decided", ({"hold": 50}, [DRY]), ([0], [0], [0], 0)),
    ("decided", ({}, [{"pm": 600, "ladder": 2, "reason": 20}]), ([0], [20], [2], 0)),
    # In turn, one at a time.
    ("decided", ({}, [DRY, DRY]), ([6750, 0], [0, 0], [0, 0], 1)),
    ("decided", ({"turn": 1}, [DRY, DRY]), ([0, 6750], [0, 0], [0, 0], 0)),
    ("decided", ({"turn": 1}, [DRY, FINE]), ([6750, 0], [0, 0], [0, 0], 1)),
    ("decided", ({}, [FINE, DRY, DRY]), ([0, 6750, 0], [0, 0, 0], [0, 0, 0], 2)),
    # A dose under way goes on, waits, or ends and lets others begin.
    ("decided", ({}, [DRY, DOSING]), ([0, 6750], [0, 0], [0, 0], 0)),
    ("decided", ({}, [DRY, {"pm": 800, "dosing": 1, "judge": 1}]), ([0, 0], [0, 0], [0, 0], 0)),
    ("decided", ({}, [DRY, DOSING], None, [True, False]), ([0, 0], [0, 0], [0, 0], 0)),
    ("decided", ({}, [DRY, {"pm": 885, "dosing": 1}]), ([6750, 0], [0, 0], [0, 0], 1)),
    ("decided", ({}, [FINE, {"pm": 884, "dosing": 1}]), ([0, 2500], [0, 0], [0, 0], 0)),
    ("decided", ({}, [DRY, {"pm": 800, "dosing": 1, "dose_ul": 150000}]), ([6750, 0], [0, 0], [0, 0], 1)),
    # A whole dose needs no more, so no battery keeps it from that; one short of it does.
    ("decided", ({"soc_pm": 79}, [{"pm": 800, "dosing": 1, "dose_ul": 150000}]), ([0], [0], [0], 0)),
    ("decided", ({"soc_pm": 79}, [{"pm": 800, "dosing": 1, "dose_ul": 149999}]), ([0], [34], [0], 0)),
    # The last pulse brings what the dose still lacks; its tube is full from the one before.
    ("decided", ({}, [{"pm": 700, "dosing": 1, "dose_ul": 145000, "pulsed": 1, "pulse_s": 98800}]), ([1250], [0], [0], 0)),
    # Not before the last dose is settled.
    ("decided", ({}, [{"pm": 600, "closing": 1}]), ([0], [0], [0], 0)),
    ("decided", ({}, [{"pm": 600, "judge": 1}]), ([0], [0], [0], 0)),
    # Unproven pulses hold the pot.
    ("decided", ({}, [{"pm": 600, "unproven": 2}]), ([6750], [0], [0], 0)),
    ("decided", ({}, [{"pm": 600, "unproven": 3}]), ([0], [20], [2], 0)),
    # The battery.
    ("decided", ({"soc_pm": 79}, [DRY]), ([0], [34], [0], 0)),
    ("decided", ({"rest_mv": 0}, [DRY]), ([0], [34], [0], 0)),
    ("decided", ({"rest_mv": 3400, "sag_mv": 101}, [dict(DRY, pulsed=1, pulse_s=90000)]), ([0], [34], [0], 0)),
    ("decided", ({"rest_mv": 3400, "sag_mv": 100}, [DRY]), ([6750], [0], [0], 0)),
    # Refused for its sag alone, it is tried two days after the last pulse to any pot, if half of that sag would do.
    ("tried", ({"rest_mv": 3400, "sag_mv": 101}, dict(DRY, pulsed=1, pulse_s=127200)), ([6750], 100)),
    ("tried", ({"rest_mv": 3400, "sag_mv": 101}, dict(DRY, pulsed=1, pulse_s=127201)), ([0], 101)),
    ("tried", ({"rest_mv": 3400, "sag_mv": 101}, dict(DRY, pulsed=1, pulse_s=9), dict(FINE, pulsed=1, pulse_s=127201)),
     ([0, 0], 101)),
    ("tried", ({"rest_mv": 3400, "sag_mv": 201}, dict(DRY, pulsed=1, pulse_s=9)), ([6750], 100)),
    ("tried", ({"rest_mv": 3400, "sag_mv": 202}, dict(DRY, pulsed=1, pulse_s=9)), ([0], 202)),
    ("tried", ({"rest_mv": 3400, "sag_mv": 60}, dict(DRY, pulsed=1, pulse_s=9)), ([6750], 60)),
    ("tried", ({"rest_mv": 3299, "sag_mv": 0}, dict(DRY, pulsed=1, pulse_s=9)), ([0], 0)),
    ("tried", ({"rest_mv": 0, "sag_mv": 150}, dict(DRY, pulsed=1, pulse_s=9)), ([0], 150)),
    ("tried", ({"soc_pm": 79, "sag_mv": 900}, dict(DRY, pulsed=1, pulse_s=9)), ([0], 900)),
    # The caps: pot, rig, tray; and a pulse cut to what is left.
    ("decided", ({}, [{"pm": 600, "spent": [1826] + [0] * 12}]), ([3625], [0], [0], 0)),
    ("decided", ({}, [{"pm": 600, "spent": [1827] + [0] * 12}]), ([0], [31], [0], 0)),
    ("decided", ({}, [{"pm": 600, "spent": [1990] + [0] * 12}]), ([0], [31], [0], 0)),
    ("decided", ({}, [DRY, {"pm": 850, "spent": [4000] + [0] * 12}]), ([0, 0], [32, 0], [0, 0], 1)),
    ("decided", ({"tray_ul": 1500000}, [DRY]), ([0], [33], [0], 0)),
    ("decided", ({"tray_ul": 1482600}, [DRY]), ([3625], [0], [0], 0)),
    ("decided", ({"tray_ul": 1490000}, [DRY]), ([0], [33], [0], 0)),
    ("decided", ({"tray_ul": 1490000}, [DRY, {"pm": 850, "closing": 1}]), ([0, 0], [0, 0], [0, 0], 1)),
    # A pump that a tired battery drives at a third of its flow still waters.
    ("decided", ({"rest_mv": 3300}, [DRY], None, None, {"pump_cal_mv": 5500}), ([8000], [0], [0], 0)),
    # Rations: 70 % of 25 ml once a day, for half of it would hardly be seen; with priming. In turn, too.
    ("decided", ({}, [RATIONED]), ([4875], [3], [1], 0)),
    ("decided", ({"up_s": 86399}, [RATIONED]), ([0], [3], [1], 0)),
    ("decided", ({"up_s": 86400}, [RATIONED]), ([4875], [3], [1], 0)),
    ("decided", ({}, [FINE, RATIONED, RATIONED]), ([0, 4875, 0], [0, 3, 3], [0, 1, 1], 2)),
    # A ration's share of what the tray still takes and of what dries there.
    ("decided", ({"tray_ul": 1470000}, [RATIONED], {"tray_area_cm2": 100}), ([1250], [3], [1], 0)),
    ("decided", ({"up_s": 43199}, [RATIONED]), ([0], [3], [1], 0)),
    ("decided", ({}, [RATIONED, DRY]), ([0, 6750], [3, 0], [1, 0], 0)),
    ("decided", ({"tray_ul": 1500000}, [RATIONED]), ([0], [3], [1], 0)),
    # A pot that may not have more today does not keep another from its ration.
    ("decided", ({}, [{"pm": 600, "spent": [2000] + [0] * 12}, RATIONED]), ([0, 4875], [31, 3], [0, 1], 0)),
    # The smallest ration there is still reaches the plant.
    ("decided", ({}, [RATIONED], None, None, {"ration_ml": 1}), ([750], [3], [1], 0)),
    # What is too little to pump is the end of a dose, not a cap reached.
    ("decided", ({}, [{"pm": 800, "dosing": 1, "dose_ul": 149500}]), ([0], [0], [0], 0)),
    # Not even where the cap leaves just that: 125 ms at 4.8 ml/s are 600 ul.
    ("decided", ({"tray_ul": 1499400}, [{"pm": 800, "dosing": 1, "dose_ul": 149500, "pulsed": 1, "pulse_s": 98800}]),
     ([0], [0], [0], 0)),
    # The accounts.
    ("charged", ({}, DRY),
     {"intent_ms": 6750, "pulse_ul": 25000, "pulse_most_ul": 32400, "pulse_s": 100000, "pulsed": 1, "before_pm": 600,
      "dose_ul": 25000, "judge": 1, "closing": 1, "dosing": 1, "dose_most_ul": 32400, "ration_s": 0, "rationed": 0,
      "model_pm": 0, "total_ul": 25000, "spent": 324, "tray_ul": 32400}),
    ("charged", ({}, RATIONED),
     {"intent_ms": 4875, "pulse_ul": 17500, "pulse_most_ul": 23400, "pulse_s": 100000, "pulsed": 1, "before_pm": 600,
      "dose_ul": 17500, "judge": 0, "closing": 0, "dosing": 0, "dose_most_ul": 0, "ration_s": 100000, "rationed": 1,
      "model_pm": 35, "total_ul": 17500, "spent": 234, "tray_ul": 23400}),
    # Proof: 12 pm at the least, or a tenth of what is told; far too much; none. The last that may fail waits longer.
    ("judged", ([dict(PULSED, pm=711)],), ([(0, 0, 1, 0, 0)], 0)),
    ("judged", ([dict(PULSED, pm=712)],), ([(0, 0, 0, 0, 0)], 0)),
    ("judged", ([dict(PULSED, pm=712, unproven=1)], None, 99999), ([(0, 0, 1, 0, 1)], 0)),
    ("judged", ([dict(PULSED, pm=711, unproven=1)],), ([(0, 0, 2, 0, 0)], 0)),
    ("judged", ([dict(PULSED, pm=712, unproven=2)], None, 101199), ([(0, 0, 2, 0, 1)], 0)),
    ("judged", ([dict(PULSED, pm=712, unproven=2, crossed=1)], None, 101200), ([(0, 0, 0, 1, 0)], 0)),
    ("judged", ([dict(PULSED, pm=713, pulse_ul=70000, unproven=2)], None, 101200), ([(2, 20, 3, 0, 0)], 0)),
    ("judged", ([dict(PULSED, pm=714, pulse_ul=70000, unproven=2)], None, 101200), ([(0, 0, 0, 0, 0)], 0)),
    ("judged", ([dict(PULSED, pm=950)],), ([(0, 0, 0, 0, 0)], 0)),
    ("judged", ([dict(PULSED, pm=951)],), ([(2, 21, 0, 0, 0)], 125500)),
    ("judged", ([dict(PULSED, pm=700, unproven=2)], None, 101200), ([(2, 20, 3, 0, 0)], 0)),
    ("judged", ([dict(PULSED, pm=700)], None, 99999), ([(0, 0, 0, 0, 1)], 0)),
    # Crossed tubes.
    ("judged", ([dict(PULSED, pm=700), dict(OTHER, pm=825)],), ([(0, 0, 1, 0, 0), (0, 0, 0, 1, 0)], 0)),
    ("judged", ([dict(PULSED, pm=700), dict(OTHER, pm=825, crossed=1)],), ([(2, 22, 1, 0, 0), (2, 22, 0, 2, 0)], 0)),
    ("judged", ([dict(PULSED, pm=700), dict(OTHER, pm=824, crossed=1)],), ([(0, 0, 1, 0, 0), (0, 0, 0, 0, 0)], 0)),
    ("judged", ([dict(PULSED, pm=700), dict(OTHER, pm=949, mark_pm=930, crossed=1)],),
     ([(0, 0, 1, 0, 0), (0, 0, 0, 0, 0)], 0)),
    ("judged", ([dict(PULSED, pm=700), dict(OTHER, pm=950, mark_pm=930, crossed=1)],),
     ([(0, 0, 1, 0, 0), (0, 0, 0, 1, 0)], 0)),
    ("judged", ([dict(PULSED, pm=700), dict(OTHER, pm=900, known=0, crossed=1)],), ([(0, 0, 1, 0, 0), (0, 0, 0, 1, 0)], 0)),
    # Water of its own, less than two hours ago, explains a rise.
    ("judged", ([dict(PULSED, pm=700), dict(OTHER, pm=900, crossed=1, pulsed=1, pulse_s=92801)],),
     ([(0, 0, 1, 0, 0), (0, 0, 0, 1, 0)], 0)),
    ("judged", ([dict(PULSED, pm=700), dict(OTHER, pm=900, crossed=1, pulsed=1, pulse_s=92800)],),
     ([(2, 22, 1, 0, 0), (2, 22, 0, 2, 0)], 0)),
    # Both rise: a pump runs along. The rig is held, and what that pump brought counts as in the tray.
    ("strayed", (760, 825, 0), (0, 0, 1, 0)),
    ("strayed", (760, 825, 1), (54, 100000, 0, 60000)),
    ("strayed", (760, 824, 1), (0, 0, 0, 0)),
    # An intent found open counts in full; after a start nobody planned, the battery may have given way.
    ("found_open", ({}, False), (0, 100000, 0)),
    ("found_open", ({}, True), (0, 100000, 300)),
    ("found_open", ({"sag_mv": 300}, True), (0, 100000, 450)),
    ("found_open", ({"sag_mv": 450}, True), (0, 100000, 600)),
    ("found_open", ({"rest_mv": 0}, True), (0, 100000, 150)),
    ("found_open", ({"sag_mv": 11950}, True), (0, 100000, 12000)),
    # The tray gets back what the pot shows, less 5 %; and what it can't show stays.
    ("closed", (90000, dict(DOSED, pm=800)), (0, 32500, 1000)),
    ("closed", (90000, dict(DOSED, pm=785)), (0, 32500, 962)),
    ("closed", (90000, dict(DOSED, pm=784)), (0, 39600, 960)),
    ("closed", (90000, dict(DOSED, pm=700)), (0, 90000, 875)),
    ("closed", (10000, dict(DOSED, pm=800)), (0, 0, 1000)),
    # What the plant drank meanwhile, 30 pm here, counts where the pot rose at all.
    ("closed", (90000, dict(DOSED, pm=755, dose_um=1500, use_ul_mm=10000)), (0, 32500, 962)),
    ("closed", (90000, dict(DOSED, pm=712, dose_um=1500, use_ul_mm=10000)), (0, 64800, 875)),
    ("closed", (90000, dict(DOSED, pm=711, dose_um=1500, use_ul_mm=10000)), (0, 83400, 875)),
    ("closed", (90000, dict(DOSED, pm=800), 99999), (1, 90000, 1000)),
    ("closed", (90000, dict(DOSED, pm=800, dosing=1)), (1, 90000, 1000)),
    ("closed", (90000, dict(DOSED, pm=800, judge=1)), (1, 90000, 1000)),
    ("intent_closed", (True, 3700), {"intent_ms": 0, "judge": 1, "dosing": 1, "sag_mv": 200}),
    ("intent_closed", (True, 0), {"intent_ms": 0, "judge": 1, "dosing": 1, "sag_mv": 0}),
    ("intent_closed", (False, 3700), {"intent_ms": 0, "judge": 0, "dosing": 0, "sag_mv": 0}),
)
