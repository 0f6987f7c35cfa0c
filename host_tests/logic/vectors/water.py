"""Who gets water, how much, and what bounds it."""

from potreeve.logic import water

from vectors.made import changed, fields, make_state, settings

DRY = {"pm": 600, "known": 1}
FINE = {"pm": 870, "known": 1}
LATE = {"up_s": 100000, "soc_pm": 800}
RATIONED = {"ladder": 1, "reason": 3, "pm": 600}
NO_RISE = {"ladder": 2, "reason": 20, "pm": 700, "known": 1, "unproven": 3}
UNDER_WAY = {"pm": 750, "known": 1, "dosing": 1, "start_pm": 700, "pulsed": 1, "pulse_s": 98800}
# Its tube is full; and one that took most of what the rig may give in a day.
READY = {"pm": 700, "known": 1, "pulsed": 1, "pulse_s": 98800}
SPENT = {"pm": 870, "known": 1, "spent": [3830] + [0] * 12}
BLIND_BY_NIGHT = {"pm": 760, "unproven": 3, "pulse_ul": 30000, "use_ul_mm": 20000}
HID = dict(READY, nights=1)
HIDES = {"lx": 100, "tray_ul": 1410001}
SEEN_BEFORE = {"pm": 850, "known": 1, "dosing": 1, "closing": 1, "start_pm": 800, "pulsed": 1, "pulse_s": 98800,
               "dose_ul": 50000, "pulse_ul": 20000, "unproven": 1}
DOSING = {"pm": 800, "known": 1, "dosing": 1, "dose_ul": 50000, "start_pm": 700}


# One whose tube is full still, though its last pulse spread.
TRIED_LATELY = {"pm": 600, "pulsed": 1, "pulse_s": 60000}
# One that fell from 900 pm, as its plant drinks.
FELL = {"pm": 600, "known": 1, "high_pm": 900, "low_pm": 600, "draw_um": 65535}


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
    water.decide(made, settings(1, {}, {}), [made.pots[0].ladder != 1])
    told = fields(("intent_ms", "pulse_ul", "pulse_most_ul", "pulse_s", "pulsed", "before_pm", "dose_ul", "judge",
                   "closing", "dosing", "dose_most_ul", "ration_s", "rationed", "model_pm", "total_ul", "proof_um"),
                  made.pots[0])
    told["spent"] = made.pots[0].spent[0]
    told["tray_ul"] = made.rig.tray_ul
    return told


def next_trials(pot, times_s, lx=0):
    """ms given to a held pot at each of these times, its pulses judged in vain; lx: what light there is."""
    made = make_state(changed(LATE, {"lx": lx}), pot)
    told = settings(1, {}, {"day_ml": 400})
    given = []
    for up_s in times_s:
        made.rig.up_s = up_s
        made.pots[0].judge = 0
        given.append(water.decide(made, told, [True])[0])
    return given


def left_out(pots, out):
    """ms per channel where some get none whatever they lack"""
    made = make_state(LATE, *pots)
    return water.decide(made, settings(len(pots), {}, {}), [True] * len(pots), out)


def tray_then(pot, in_tray):
    """The tray's account after the pulse of a pot that fell since its last water."""
    made = make_state(changed(LATE, {"tray_ul": 500000}), changed(FELL, pot))
    pulses = water.decide(made, settings(1, {"pots_in_tray": in_tray}, {}), [True])
    return pulses, made.rig.tray_ul


def tried(rig, *pots):
    """(pulses, sag to reckon with) of a battery that is refused for its sag, 300000 s after the memory began."""
    made = make_state(dict({"up_s": 300000}, **rig), *pots)
    pulses = water.decide(made, settings(len(pots), {}, {}), [True] * len(pots))
    return pulses, made.rig.sag_mv


def intent_closed(ran, under_mv):
    made = make_state({}, {"intent_ms": 5000, "judge": 1, "dosing": 1})
    water.close_intent(made.rig, made.pots[0], ran, under_mv)
    told = fields(("intent_ms", "judge", "dosing"), made.pots[0])
    told["sag_mv"] = made.rig.sag_mv
    return told


def found_open(rig, unplanned, cells=1):
    """(intent, when it counts as given, sag to reckon with)"""
    made = make_state(dict({"up_s": 100000}, **rig), {"intent_ms": 5000, "pulse_s": 7})
    water.found_open(made.rig, made.pots[0], unplanned, settings(1, {"battery_cells": cells}, {}))
    return made.pots[0].intent_ms, made.pots[0].pulse_s, made.rig.sag_mv


VECTORS = (
    # A dose that was seen and has a pulse near the mark that was not is full: 50 pm below the mark, and no less.
    ("decided", ({}, [SEEN_BEFORE]), ([0], [0], [0], 0)),
    ("decided", ({}, [changed(SEEN_BEFORE, {"pm": 849})]), ([6250], [0], [0], 0)),
    ("decided", ({}, [changed(SEEN_BEFORE, {"pulse_ul": 50000})]), ([6250], [0], [0], 0)),
    ("decided", ({}, [changed(SEEN_BEFORE, {"pulse_ul": 49999})]), ([0], [0], [0], 0)),
    ("decided", ({}, [changed(SEEN_BEFORE, {"unproven": 0})]), ([6250], [0], [0], 0)),
    # One whose plant hid a dose waits by day (nights.py), until the tray takes two that show, three times 30 ml; not
    # with a dose that has begun.
    ("decided", (HIDES, [HID]), ([0], [0], [0], 0)),
    ("decided", (changed(HIDES, {"tray_ul": 1410000}), [HID]), ([6250], [0], [0], 0)),
    ("decided", (changed(HIDES, {"lx": 20}), [HID]), ([6250], [0], [0], 0)),
    ("decided", (HIDES, [changed(HID, {"nights": 0})]), ([6250], [0], [0], 0)),
    ("decided", (HIDES, [changed(HID, {"closing": 1})]), ([6250], [0], [0], 0)),
    ("decided", (HIDES, [HID, READY]), ([0, 6250], [0, 0], [0, 0], 0)),
    # By night it begins where 40 pm fit: one pulse of 25 ml, that counts for 30 where its tube is full, and not two.
    ("decided", ({"tray_ul": 1470000}, [HID]), ([6250], [0], [0], 0)),
    ("decided", ({"tray_ul": 1470001}, [HID]), ([0], [33], [0], 0)),
    ("decided", ({"tray_ul": 1470000}, [READY]), ([0], [33], [0], 0)),
    ("decided", ({"tray_ul": 1476000}, [HID], None, None, {"pulse_ml": 20}), ([5000], [0], [0], 0)),
    ("decided", ({"tray_ul": 1476000}, [HID], None, None, {"pulse_ml": 20, "holds_ml": 510}), ([0], [33], [0], 0)),
    # Nobody is due; 850 pm itself is due.
    ("decided", ({}, [FINE]), ([0], [0], [0], 0)),
    ("decided", ({}, [{"pm": 851}]), ([0], [0], [0], 0)),
    ("decided", ({}, [{"pm": 850}]), ([6750], [0], [0], 0)),
    ("decided", ({}, [DRY], None, [False]), ([0], [0], [0], 0)),
    ("decided", ({"hold": 50}, [DRY]), ([0], [0], [0], 0)),
    ("decided", ({}, [{"pm": 600, "ladder": 2, "reason": 20}]), ([0], [20], [2], 0)),
    # The thirstiest, by how much of its own way to wilting it has gone: 173 or 174 pm of 587 against 146 of 496, 294
    # thousandths.
    ("decided", ({}, [DRY, {"pm": 599}]), ([0, 6750], [0, 0], [0, 0], 0)),
    ("decided", ({"turn": 1}, [{"pm": 599}, DRY]), ([6750, 0], [0, 0], [0, 0], 1)),
    ("decided", ({"typical_um": 1500}, [DRY, {"pm": 664, "use_ul_mm": 30000}], None, None, {"depletion_pm": 600}),
     ([6750, 0], [0, 0], [0, 0], 1)),
    ("decided", ({"typical_um": 1500}, [DRY, {"pm": 663, "use_ul_mm": 30000}], None, None, {"depletion_pm": 600}),
     ([0, 6750], [0, 0], [0, 0], 0)),
    # Equals in turn, one at a time.
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
    ("decided", ({"soc_pm": 79}, [{"pm": 860, "dosing": 1, "dose_ul": 150000}]), ([0], [0], [0], 0)),
    ("decided", ({"soc_pm": 79}, [{"pm": 860, "dosing": 1, "dose_ul": 149999}]), ([0], [34], [0], 0)),
    # The last pulse brings what the dose still lacks; its tube is full from the one before.
    ("decided", ({}, [{"pm": 700, "dosing": 1, "dose_ul": 145000, "pulsed": 1, "pulse_s": 98800}]),
     ([1250], [0], [0], 0)),
    # What is wanting by the reading of now, however much of the dose was given: a tenth of 500 ml is a whole pulse.
    ("decided", ({}, [dict(UNDER_WAY, dose_ul=90000)]), ([6250], [0], [0], 0)),
    ("decided", ({}, [dict(UNDER_WAY, dose_ul=100001)]), ([6250], [0], [0], 0)),
    # Not before the last dose is settled; one that is not finished goes on, with its own accounts.
    ("decided", ({}, [{"pm": 600, "closing": 1, "dose_ul": 150000}]), ([0], [0], [0], 0)),
    ("decided", ({}, [{"pm": 600, "closing": 1, "dose_ul": 149000}]), ([750], [0], [0], 0)),
    ("decided", ({}, [{"pm": 851, "closing": 1, "dose_ul": 25000}]), ([0], [0], [0], 0)),
    ("decided", ({}, [{"pm": 600, "closing": 1, "judge": 1}]), ([0], [0], [0], 0)),
    ("decided", ({}, [{"pm": 600, "closing": 1}], None, [False]), ([0], [0], [0], 0)),
    ("decided", ({}, [FINE, {"pm": 599, "closing": 1, "dose_ul": 25000}]), ([0, 6750], [0, 0], [0, 0], 0)),
    # One that is held in this wake keeps no other from its water.
    ("decided", ({"lx": 21}, [{"pm": 600, "unproven": 3, "pulse_ul": 30000}, {"pm": 840, "known": 1}]),
     ([0, 6750], [20, 0], [2, 0], 0)),
    # Nor does a ration that its day's cap forbids.
    ("decided", ({}, [changed(RATIONED, {"spent": [2000] + [0] * 12}), RATIONED]), ([0, 4875], [3, 3], [1, 1], 0)),
    # Half of the tray is kept for the well where pots are on feet: then a trial asks for no more than most of the rest.
    ("decided", ({}, [changed(NO_RISE, TRIED_LATELY), FINE], {"tray_headroom_ml": 60}, [True, True],
                 {"tube_full_h": 48}), ([6250, 0], [20, 0], [2, 0], 1)),
    # A battery that can't pump is told of each pot that is due.
    ("decided", ({"soc_pm": 79}, [DRY, DRY]), ([0, 0], [34, 34], [0, 0], 0)),
    ("left_out", ([DOSING, DRY], [0]), [0, 0]),
    ("left_out", ([DOSING, DRY], [1]), [6750, 0]),
    # Who begins a dose, or a trial, tells of the tray first, where pots stand in it.
    ("tray_then", ({}, True), ([6750], 382400)),
    ("tray_then", ({}, False), ([6750], 532400)),
    ("tray_then", ({"ladder": 2, "reason": 20, "unproven": 3}, True), ([6750], 457400)),
    ("tray_then", ({"ladder": 2, "reason": 20, "unproven": 3}, False), ([6750], 532400)),
    ("decided", ({}, [{"pm": 599, "closing": 1, "dose_ul": 150000}, DRY]), ([0, 6750], [0, 0], [0, 0], 0)),
    ("decided", ({}, [{"pm": 599, "closing": 1, "dose_ul": 25000}, DRY]), ([6750, 0], [0, 0], [0, 0], 1)),
    ("charged", ({"tray_ul": 60000}, dict(DRY, closing=1, start_pm=560, dose_ul=50000, dose_most_ul=60000, pulse_ul=5,
                                          pulse_most_ul=6)),
     {"intent_ms": 6750, "pulse_ul": 25000, "pulse_most_ul": 32400, "pulse_s": 100000, "pulsed": 1, "before_pm": 600,
      "dose_ul": 75000, "judge": 1, "closing": 1, "dosing": 1, "dose_most_ul": 92400, "ration_s": 0, "rationed": 0,
      "model_pm": 0, "total_ul": 25000, "proof_um": 0, "spent": 324, "tray_ul": 92400}),
    ("decided", ({}, [{"pm": 600, "judge": 1}]), ([0], [0], [0], 0)),
    # Unproven pulses hold the pot: as many as may be, with 30 ml in all, once it is at its refill point, 700 pm. Above
    # it the pot may only be too full to show a rise: its dose ends, and it waits.
    ("decided", ({}, [{"pm": 600, "unproven": 2, "pulse_ul": 30000}]), ([6750], [0], [0], 0)),
    ("decided", ({}, [{"pm": 600, "unproven": 3, "pulse_ul": 29999}]), ([6750], [0], [0], 0)),
    ("decided", ({"lx": 21}, [{"pm": 700, "unproven": 3, "pulse_ul": 30000}]), ([0], [20], [2], 0)),
    # By night it is tried in the same wake: by the next the night may be over. A pot that is tended comes before that.
    ("decided", ({}, [{"pm": 700, "unproven": 3, "pulse_ul": 30000}]), ([6750], [20], [2], 0)),
    ("decided", ({}, [{"pm": 701, "unproven": 3, "pulse_ul": 30000}]), ([0], [0], [0], 0)),
    ("decided", ({}, [{"pm": 700, "unproven": 3, "pulse_ul": 30000, "dosing": 1}]), ([6750], [20], [2], 0)),
    ("decided", ({}, [{"pm": 701, "unproven": 3, "pulse_ul": 30000, "dosing": 1}]), ([0], [0], [0], 0)),
    # By night already where it is due by the next evening, if the tray has room for a trial: two pulses of 32.4 ml.
    ("decided", ({"typical_um": 1500, "tray_ul": 685200}, [BLIND_BY_NIGHT]), ([6750], [20], [2], 0)),
    ("decided", ({"typical_um": 1500, "tray_ul": 685201}, [BLIND_BY_NIGHT]), ([0], [33], [0], 0)),
    ("decided", ({"typical_um": 1500, "tray_ul": 1500000}, [dict(BLIND_BY_NIGHT, pm=701)]), ([0], [33], [0], 0)),
    ("decided", ({"typical_um": 1500, "tray_ul": 1500000}, [dict(BLIND_BY_NIGHT, pm=700)]), ([0], [20], [2], 0)),
    ("decided", ({"typical_um": 1500, "lx": 900}, [BLIND_BY_NIGHT]), ([0], [0], [0], 0)),
    ("decided", ({}, [{"pm": 701, "unproven": 2, "pulse_ul": 30000, "dosing": 1}]), ([6750], [0], [0], 0)),
    # One that is held that way keeps no other from its water: 190 pm of 450 against 250 of 600; with 173 it comes
    # later.
    ("decided", ({}, [{"pm": 510, "unproven": 3, "pulse_ul": 30000}, DRY]), ([0, 6750], [20, 0], [2, 0], 0)),
    ("decided", ({}, [{"pm": 527, "unproven": 3, "pulse_ul": 30000}, DRY]), ([0, 6750], [0, 0], [0, 0], 0)),
    # Held, it tries once a day while it is at its refill point; after those that are tended, and before rations.
    ("decided", ({}, [NO_RISE], None, [True]), ([6750], [20], [2], 0)),
    ("decided", ({}, [NO_RISE], None, [False]), ([0], [20], [2], 0)),
    ("decided", ({}, [dict(NO_RISE, pm=701)], None, [True]), ([0], [20], [2], 0)),
    ("decided", ({}, [dict(NO_RISE, reason=23)], None, [True]), ([0], [23], [2], 0)),
    ("decided", ({}, [NO_RISE, {"pm": 850}], None, [True, True]), ([0, 6750], [20, 0], [2, 0], 0)),
    ("decided", ({}, [NO_RISE, RATIONED], None, [True, False]), ([6750, 0], [20, 3], [2, 1], 1)),
    ("decided", ({"turn": 1}, [NO_RISE, RATIONED], None, [True, False]), ([0, 4875], [20, 3], [2, 1], 0)),
    # A trial is whole or waits, for a sip proves nothing: 32.4 ml of the day. Begun, one takes what its half of the
    # tray leaves beside a tended pot.
    ("decided", ({}, [dict(NO_RISE, spent=[1676] + [0] * 12)], None, [True]), ([6750], [20], [2], 0)),
    ("decided", ({}, [dict(NO_RISE, spent=[1677] + [0] * 12)], None, [True]), ([0], [20], [2], 0)),
    # Where the tray bounds it, it begins once there is room for all it takes to be seen, two pulses of 32.4 ml.
    ("decided", ({"tray_ul": 1435200}, [NO_RISE], None, [True]), ([6750], [20], [2], 0)),
    ("decided", ({"tray_ul": 1435201}, [NO_RISE], None, [True]), ([0], [20], [2], 0)),
    ("decided", ({"tray_ul": 1470000}, [dict(NO_RISE, rationed=1, ration_s=98800, since_s=90000, pulsed=1,
                                             pulse_s=98800, pulse_ul=25000)],
                 None, [True]), ([6250], [20], [2], 0)),
    ("decided", ({"tray_ul": 1470001}, [dict(NO_RISE, rationed=1, ration_s=98800, since_s=90000, pulsed=1,
                                             pulse_s=98800, pulse_ul=25000)],
                 None, [True]), ([0], [20], [2], 0)),
    ("decided", ({"tray_ul": 685200}, [NO_RISE, FINE], None, [True, True]), ([6750, 0], [20, 0], [2, 0], 1)),
    ("decided", ({"tray_ul": 685201}, [NO_RISE, FINE], None, [True, True]), ([0, 0], [20, 0], [2, 0], 0)),
    ("decided", ({"tray_ul": 685201}, [NO_RISE, FINE], {"pots_in_tray": True}, [True, True]),
     ([6750, 0], [20, 0], [2, 0], 1)),
    # No more than 120 pm of what the pot holds, 24 ml of 200.
    ("decided", ({}, [NO_RISE], None, [True], {"holds_ml": 200}), ([6500], [20], [2], 0)),
    # Begun, a trial goes on till it was enough to be seen, and the next begins a day after it began.
    ("next_trials", (NO_RISE, (100000, 101200, 102400, 103600, 186399, 186400, 187600)),
     [6750, 6250, 6250, 0, 0, 6750, 6250]),
    ("next_trials", (dict(NO_RISE, pulsed=1, pulse_s=90000, pulse_ul=25000, since_s=91200),
                     (100000, 111599, 111600, 112800, 114000, 197999, 198000)), [0, 0, 6750, 6250, 6250, 0, 6750]),
    # By daylight a trial waits for the night.
    ("next_trials", (NO_RISE, (100000, 101200), 20), [6750, 6250]),
    ("next_trials", (dict(NO_RISE, pulsed=1, pulse_s=20000), (100000, 101200), 21), [0, 0]),
    ("next_trials", (dict(NO_RISE, pulsed=1, pulse_s=20000), (100000, 129600), 21), [0, 6750]),
    # The battery.
    ("decided", ({"soc_pm": 79}, [DRY]), ([0], [34], [0], 0)),
    ("decided", ({"rest_mv": 0}, [DRY]), ([0], [34], [0], 0)),
    ("decided", ({"rest_mv": 3400, "sag_mv": 101}, [dict(DRY, pulsed=1, pulse_s=90000)]), ([0], [34], [0], 0)),
    ("decided", ({"rest_mv": 3400, "sag_mv": 100}, [DRY]), ([6750], [0], [0], 0)),
    # Refused for its sag alone, it is tried two days after the last pulse to any pot, if half of that sag would do.
    ("tried", ({"rest_mv": 3400, "sag_mv": 101}, dict(DRY, pulsed=1, pulse_s=127200)), ([6750], 100)),
    ("tried", ({"rest_mv": 3400, "sag_mv": 101}, dict(DRY, pulsed=1, pulse_s=127201)), ([0], 101)),
    ("tried", ({"rest_mv": 3400, "sag_mv": 101}, dict(FINE, pulsed=1, pulse_s=127201), dict(DRY, pulsed=1, pulse_s=9)),
     ([0, 0], 101)),
    ("tried", ({"rest_mv": 3400, "sag_mv": 101}, dict(DRY, pulsed=1, pulse_s=9), dict(FINE, pulsed=1, pulse_s=127201)),
     ([0, 0], 101)),
    ("tried", ({"rest_mv": 3400, "sag_mv": 201}, dict(DRY, pulsed=1, pulse_s=9)), ([6750], 100)),
    ("tried", ({"rest_mv": 3400, "sag_mv": 202}, dict(DRY, pulsed=1, pulse_s=9)), ([0], 202)),
    # And two days later, if a quarter would: a contact that was mended is not refused for good.
    ("tried", ({"rest_mv": 3400, "sag_mv": 202, "up_s": 345608}, dict(DRY, pulsed=1, pulse_s=9)), ([0], 202)),
    ("tried", ({"rest_mv": 3400, "sag_mv": 202, "up_s": 345609}, dict(DRY, pulsed=1, pulse_s=9)), ([6750], 100)),
    ("tried", ({"rest_mv": 3400, "sag_mv": 404, "up_s": 345609}, dict(DRY, pulsed=1, pulse_s=9)), ([0], 404)),
    ("tried", ({"rest_mv": 3400, "sag_mv": 12000, "up_s": 4000000}, dict(DRY, pulsed=1, pulse_s=9)), ([6750], 100)),
    ("tried", ({"rest_mv": 3400, "sag_mv": 60}, dict(DRY, pulsed=1, pulse_s=9)), ([6750], 60)),
    ("tried", ({"rest_mv": 3299, "sag_mv": 0}, dict(DRY, pulsed=1, pulse_s=9)), ([0], 0)),
    ("tried", ({"rest_mv": 0, "sag_mv": 150}, dict(DRY, pulsed=1, pulse_s=9)), ([0], 150)),
    ("tried", ({"soc_pm": 79, "sag_mv": 900}, dict(DRY, pulsed=1, pulse_s=9)), ([0], 900)),
    # The caps: pot, rig, tray; and a pulse cut to what is left.
    ("decided", ({}, [{"pm": 600, "spent": [1826] + [0] * 12}]), ([3625], [0], [0], 0)),
    ("decided", ({}, [{"pm": 600, "spent": [1827] + [0] * 12}]), ([0], [31], [0], 0)),
    ("decided", ({}, [{"pm": 600, "spent": [1990] + [0] * 12}]), ([0], [31], [0], 0)),
    ("decided", ({}, [DRY, {"pm": 870, "spent": [4000] + [0] * 12}]), ([0, 0], [32, 0], [0, 0], 0)),
    ("decided", ({"tray_ul": 1500000}, [DRY]), ([0], [33], [0], 0)),
    # A dose that begins waits until the tray takes what it takes to be seen, two pulses of 32.4 ml; one that goes on is
    # cut to half a pulse, no further: 15 of 30 ml.
    ("decided", ({"tray_ul": 1435200}, [DRY]), ([6750], [0], [0], 0)),
    ("decided", ({"tray_ul": 1435201}, [DRY]), ([0], [33], [0], 0)),
    ("decided", ({"tray_ul": 1470000}, [dict(UNDER_WAY, dose_ul=25000)]), ([6250], [0], [0], 0)),
    ("decided", ({"tray_ul": 1470001}, [dict(UNDER_WAY, dose_ul=25000)]), ([6249], [0], [0], 0)),
    ("decided", ({"tray_ul": 1485000}, [dict(UNDER_WAY, dose_ul=25000)]), ([3125], [0], [0], 0)),
    ("decided", ({"tray_ul": 1485001}, [dict(UNDER_WAY, dose_ul=25000)]), ([0], [33], [0], 0)),
    ("decided", ({"tray_ul": 1470000}, [dict(UNDER_WAY, dosing=0, closing=1, dose_ul=25000)]), ([6250], [0], [0], 0)),
    ("decided", ({"tray_ul": 1490000}, [DRY]), ([0], [33], [0], 0)),
    # A tray that never takes so much is waited for until it is seven eighths free: 52.5 of 60 ml.
    ("decided", ({"tray_ul": 7500}, [DRY], {"tray_headroom_ml": 60}), ([6750], [0], [0], 0)),
    ("decided", ({"tray_ul": 7501}, [DRY], {"tray_headroom_ml": 60}), ([0], [33], [0], 0)),
    ("decided", ({"tray_ul": 7500}, [NO_RISE], {"tray_headroom_ml": 60}, [True]), ([6750], [20], [2], 0)),
    ("decided", ({"tray_ul": 7501}, [NO_RISE], {"tray_headroom_ml": 60}, [True]), ([0], [20], [2], 0)),
    # The day's water is not waited for: a pulse is cut to half of it, no further.
    ("decided", ({"tray_ul": 1435201}, [dict(DRY, spent=[1676] + [0] * 12)]), ([6750], [0], [0], 0)),
    # One whose water goes elsewhere has half of the tray, and is waited for by half: 52.44 of 60 ml.
    ("decided", ({"tray_ul": 685200}, [dict(DRY, kept_pm=499), FINE]), ([6750, 0], [0, 0], [0, 0], 1)),
    ("decided", ({"tray_ul": 685201}, [dict(DRY, kept_pm=499), FINE]), ([0, 0], [33, 0], [0, 0], 0)),
    ("decided", ({"tray_ul": 685201}, [dict(DRY, kept_pm=500), FINE]), ([6750, 0], [0, 0], [0, 0], 1)),
    ("decided", ({"tray_ul": 7560}, [dict(DRY, kept_pm=499), FINE], {"tray_headroom_ml": 120}),
     ([6750, 0], [0, 0], [0, 0], 1)),
    ("decided", ({"tray_ul": 7561}, [dict(DRY, kept_pm=499), FINE], {"tray_headroom_ml": 120}),
     ([0, 0], [33, 0], [0, 0], 0)),
    ("decided", ({"tray_ul": 1490000}, [DRY, {"pm": 850, "closing": 1}]), ([0, 0], [0, 0], [0, 0], 0)),
    # What all share is saved for the thirstiest: 17 ml would do for another's full tube, not for half of a pulse
    # through an empty one. A ration runs all the same, 17 ml at 4.8 ml/s, and no more than one.
    ("decided", ({}, [DRY, READY, SPENT]), ([0, 0, 0], [32, 0, 0], [0, 0, 0], 0)),
    ("decided", ({}, [DRY, RATIONED, SPENT]), ([0, 3541, 0], [32, 3, 0], [0, 1, 0], 2)),
    ("decided", ({}, [DRY, RATIONED, RATIONED, SPENT]), ([0, 3541, 0, 0], [32, 3, 3, 0], [0, 1, 1, 0], 2)),
    ("decided", ({}, [DRY, READY, RATIONED, SPENT]), ([0, 0, 3541, 0], [32, 0, 3, 0], [0, 0, 1, 0], 3)),
    ("decided", ({}, [DRY, dict(NO_RISE, pulsed=1, pulse_s=9), SPENT], None, [True, True, True]),
     ([0, 0, 0], [32, 20, 0], [0, 2, 0], 0)),
    ("decided", ({"tray_ul": 1483000}, [DRY, RATIONED], {"pots_in_tray": True}), ([0, 3541], [33, 3], [0, 1], 0)),
    # But not for one that is dry for six hours in spite of water within the last day: it is sick, and another goes
    # first. Nor for one whose water goes elsewhere.
    ("decided", ({}, [dict(DRY, dry_s=21599, pulsed=1, pulse_s=13601), READY, SPENT]),
     ([0, 0, 0], [32, 0, 0], [0, 0, 0], 0)),
    ("decided", ({}, [dict(DRY, dry_s=21600, pulsed=1, pulse_s=13601), READY, SPENT]),
     ([0, 3541, 0], [32, 0, 0], [0, 0, 0], 2)),
    ("decided", ({}, [dict(DRY, dry_s=21600, pulsed=1, pulse_s=13600), READY, SPENT]),
     ([0, 0, 0], [32, 0, 0], [0, 0, 0], 0)),
    ("decided", ({}, [dict(DRY, kept_pm=500), READY, SPENT]), ([0, 0, 0], [32, 0, 0], [0, 0, 0], 0)),
    ("decided", ({}, [dict(DRY, kept_pm=499), READY, SPENT]), ([0, 3541, 0], [32, 0, 0], [0, 0, 0], 2)),
    # Unless it is short, and stands in the tray, where it draws up what ran through.
    ("decided", ({}, [dict(DRY, kept_pm=499, pm=700), READY, SPENT], {"pots_in_tray": True}),
     ([0, 0, 0], [32, 0, 0], [0, 0, 0], 0)),
    ("decided", ({}, [dict(DRY, kept_pm=499, pm=701), dict(READY, pm=740), SPENT], {"pots_in_tray": True}),
     ([0, 3541, 0], [32, 0, 0], [0, 0, 0], 2)),
    # A pump that a tired battery drives at a third of its flow still waters.
    ("decided", ({"rest_mv": 3300}, [DRY], None, None, {"pump_cal_mv": 5500}), ([8000], [0], [0], 0)),
    # Rations: 70 % of 25 ml once a day, for half of it would hardly be seen; with priming. In turn, too.
    ("decided", ({}, [RATIONED]), ([4875], [3], [1], 0)),
    ("decided", ({"up_s": 43199}, [RATIONED]), ([0], [3], [1], 0)),
    ("decided", ({"up_s": 43200}, [RATIONED]), ([4875], [3], [1], 0)),
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
      "model_pm": 0, "total_ul": 25000, "proof_um": 0, "spent": 324, "tray_ul": 32400}),
    ("charged", ({}, RATIONED),
     {"intent_ms": 4875, "pulse_ul": 17500, "pulse_most_ul": 23400, "pulse_s": 100000, "pulsed": 1, "before_pm": 600,
      "dose_ul": 17500, "judge": 0, "closing": 0, "dosing": 0, "dose_most_ul": 0, "ration_s": 100000, "rationed": 1,
      "model_pm": 35, "total_ul": 17500, "proof_um": 0, "spent": 234, "tray_ul": 23400}),
    # A trial waits for proof and belongs to no dose; its first pulse forgets what the pot was held for.
    ("charged", ({}, dict(NO_RISE, pulse_ul=40000, pulse_most_ul=50000, proof_um=900, before_pm=720)),
     {"intent_ms": 6750, "pulse_ul": 25000, "pulse_most_ul": 32400, "pulse_s": 100000, "pulsed": 1, "before_pm": 700,
      "dose_ul": 25000, "judge": 1, "closing": 0, "dosing": 0, "dose_most_ul": 0, "ration_s": 100000, "rationed": 1,
      "model_pm": 0, "total_ul": 25000, "proof_um": 0, "spent": 324, "tray_ul": 32400}),
    # Water that is unproven goes on being counted from its own beginning, while it may still show.
    ("charged", ({}, dict(DRY, unproven=1, pulse_s=90000, pulse_ul=20000, pulse_most_ul=24000, proof_um=900,
                          before_pm=620)),
     {"intent_ms": 6750, "pulse_ul": 45000, "pulse_most_ul": 56400, "pulse_s": 100000, "pulsed": 1, "before_pm": 620,
      "dose_ul": 25000, "judge": 1, "closing": 1, "dosing": 1, "dose_most_ul": 32400, "ration_s": 0, "rationed": 0,
      "model_pm": 0, "total_ul": 25000, "proof_um": 900, "spent": 324, "tray_ul": 32400}),
    # An intent found open counts in full; after a start nobody planned, the battery may have given way.
    ("found_open", ({}, False), (0, 100000, 0)),
    ("found_open", ({}, True), (0, 100000, 300)),
    ("found_open", ({"sag_mv": 300}, True), (0, 100000, 450)),
    ("found_open", ({"sag_mv": 450}, True), (0, 100000, 600)),
    ("found_open", ({"rest_mv": 0}, True), (0, 100000, 150)),
    ("found_open", ({"sag_mv": 11950}, True), (0, 100000, 12000)),
    # A pack of three cells rests higher by day by more than 150 mV.
    ("found_open", ({"sag_mv": 300}, True, 3), (0, 100000, 750)),
    ("intent_closed", (True, 3700), {"intent_ms": 0, "judge": 1, "dosing": 1, "sag_mv": 200}),
    ("intent_closed", (True, 0), {"intent_ms": 0, "judge": 1, "dosing": 1, "sag_mv": 0}),
    ("intent_closed", (False, 3700), {"intent_ms": 0, "judge": 0, "dosing": 0, "sag_mv": 0}),
)
