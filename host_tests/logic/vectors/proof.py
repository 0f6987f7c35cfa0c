"""Did the water arrive? Pulses, doses and trials: each threshold and its neighbour.

This pot holds 500 ml: 25 ml are 50 pm. It is at its refill point at 700 pm, due at 850, stressed below 475, and water
spreads through it in 6720 s.
"""

from potreeve.logic import proof

from vectors.made import CHANNEL, changed, fields, make_state, settings

OTHER = {"known": 1, "mark_pm": 800}
# Its dose is older than the row of pulses that waits for proof.
PULSED = {"known": 1, "judge": 1, "pulse_s": 98800, "pulse_ul": 25000, "pulse_most_ul": 30000, "before_pm": 700,
          "pm": 700,
          "dose_ul": 250000}
# Three pulses of 70 ml in all, of which a tenth are 14 pm, judged when they have spread.
LAST = changed(PULSED, {"pulse_ul": 70000, "before_pm": 600, "unproven": 2, "pulse_s": 93280})
# The first pulse of a dose of 100 ml, 200 pm.
IN_DOSE = changed(PULSED, {"dosing": 1, "dose_ul": 100000})
# A dose of 40 ml, 80 pm, after another that came in vain: together they should have lifted the pot from 720 pm by 160.
ALONE = {"known": 1, "judge": 1, "pulse_s": 93280, "unproven": 1, "pulse_ul": 80000, "pulse_most_ul": 96000,
         "before_pm": 720,
         "dosing": 1, "dose_ul": 40000, "dose_most_ul": 48000, "start_pm": 600, "pm": 612}
# A pulse that lifted its pot by nothing, in a dose; its plant drank 15 pm meanwhile.
HIDDEN = {"pm": 697, "use_ul_mm": 10000, "proof_um": 1500, "start_pm": 690, "dose_um": 6, "dose_most_ul": 80000}
OF_DOSE = {"ladder": 0, "reason": 0, "since_s": 0, "unproven": 0, "closing": 0, "start_pm": 690, "dose_um": 6,
           "dose_most_ul": 50000}
ALL_HIDDEN = changed(OF_DOSE, {"dose_ul": 25000, "dose_most_ul": 80000, "dose_um": 65535})
HELD = {"ladder": 2, "reason": 20, "pm": 700, "pulse_ul": 60000}
WAITS = {"pulse_s": 98800, "pulse_ul": 25000, "pulse_most_ul": 30000, "before_pm": 700, "unproven": 1, "proof_um": 7,
         "dose_ul": 250000}
ANEW = {"pm": 600, "raw": 34000, "filtered": 544000, "proof_um": 5, "pulse_ul": 7, "pulse_most_ul": 8, "before_pm": 9}


def judged(pots, up_s=100000, in_tray=False):
    """(rung, reason, unproven, crossed, judge) per pot after the soak of the first, and the tray."""
    made = make_state({"up_s": up_s}, *pots)
    proof.judge(made, 0, settings(len(pots), {"pots_in_tray": in_tray}, {}))
    return [(pot.ladder, pot.reason, pot.unproven, pot.crossed, pot.judge) for pot in made.pots], made.rig.tray_ul


def judged_second(pots, in_tray=False):
    """As `judged`, of the second pot: the first may be the other one. And why the rig is held."""
    made = make_state({"up_s": 100000}, *pots)
    proof.judge(made, 1, settings(len(pots), {"pots_in_tray": in_tray}, {}))
    return [(pot.ladder, pot.reason, pot.unproven, pot.crossed, pot.judge) for pot in made.pots], made.rig.hold


def strayed(pot, other_pm, crossed, in_tray=False):
    """(why the rig is held, since when, rises of the other pot, tray, rungs) after a pulse that helped its own pot."""
    made = make_state({"up_s": 100000}, changed(PULSED, pot), changed(OTHER, {"pm": other_pm, "crossed": crossed}))
    proof.judge(made, 0, settings(2, {"pots_in_tray": in_tray}, {}))
    return made.rig.hold, made.rig.hold_s, made.pots[1].crossed, made.rig.tray_ul, [pot.ladder for pot in made.pots]


def tended_again(pot):
    """What the water of a trial that was seen leaves to be settled."""
    made = make_state({"up_s": 100000}, changed(PULSED, pot))
    proof.judge(made, 0, settings(1, {}, {}))
    return fields(("ladder", "reason", "since_s", "unproven", "closing", "start_pm", "dose_um", "dose_ul",
                   "dose_most_ul"),
                  made.pots[0])


def counted_on(pot):
    """(rung, whether a trial counts against a later one) after the soak of one that began at 700 pm"""
    made = make_state({"up_s": 100000}, changed(PULSED, changed({"ladder": 2, "reason": 20, "rationed": 1}, pot)))
    proof.judge(made, 0, settings(1, {}, {}))
    return made.pots[0].ladder, made.pots[0].rationed


def late(pot, up_s=100000):
    """(rung, unproven, closing) 1200 s after a pulse that was judged in vain"""
    made = make_state({"up_s": up_s}, changed(WAITS, pot))
    proof.late(made.rig, made.pots[0], CHANNEL, 3600)
    return made.pots[0].ladder, made.pots[0].unproven, made.pots[0].closing


def blind(pulse_ul, unproven, more=0, gain_pm=1000):
    pot = make_state({}, {"pulse_ul": pulse_ul, "unproven": unproven, "gain_pm": gain_pm}).pots[0]
    return proof.blind(pot, CHANNEL, more)


def trial_due(pot, up_s=100000, rig=None, channel=None, by_day=False):
    made = make_state(changed({"up_s": up_s}, rig or {}), changed(HELD, pot))
    return proof.trial_due(made.rig, made.pots[0], changed(CHANNEL, channel or {}), by_day)


def by_day(pot, up_s=300000):
    return trial_due(pot, up_s, by_day=True)


def pulses_to_show(pot, pulse_ul, enough_pm=60):
    made = make_state({"up_s": 100000}, pot)
    return proof.pulses_to_show(made.rig, made.pots[0], CHANNEL, pulse_ul, enough_pm)


def trial_is_new(pot, up_s=100000):
    made = make_state({"up_s": up_s}, changed(HELD, pot))
    return proof.trial_is_new(made.rig, made.pots[0])


def trial_ul(rungs, in_tray=False):
    made = make_state({"tray_ul": 100000}, *[{"ladder": rung} for rung in rungs])
    return proof.trial_ul(made.rig, made.pots, CHANNEL, settings(len(rungs), {"pots_in_tray": in_tray}, {}))


def due_pm(rig, pot, channel=None, dark=False):
    made = make_state(rig, pot)
    return proof.due_pm(made.rig, made.pots[0], changed(CHANNEL, channel or {}), not dark)


def begins_pm(pot):
    return proof.begins_pm(make_state({}, changed(ANEW, pot)).pots[0], CHANNEL)


def waits_anew(pot, up_s=100000):
    made = make_state({}, changed(ANEW, pot))
    proof.wait_anew(made.pots[0], CHANNEL, up_s)
    return fields(("before_pm", "proof_um", "pulse_ul", "pulse_most_ul"), made.pots[0])


def _anew(before_pm, proof_um=0, pulse_ul=0, pulse_most_ul=0):
    return {"before_pm": before_pm, "proof_um": proof_um, "pulse_ul": pulse_ul, "pulse_most_ul": pulse_most_ul}


def _one(rung, reason, unproven, judge=0, tray_ul=0):
    return [(rung, reason, unproven, 0, judge)], tray_ul


VECTORS = (
    # 12 pm above an average of 600, and no less than that.
    ("begins_pm", ({},), 600),
    ("begins_pm", ({"raw": 33640},), 612),
    ("begins_pm", ({"raw": 34180},), 600),
    # From the reading of now where it stands above the average; a tended pot's unproven water keeps its own beginning.
    ("waits_anew", ({},), _anew(600)),
    ("waits_anew", ({"raw": 33640},), _anew(612)),
    ("waits_anew", ({"raw": 34180},), _anew(600)),
    # Unproven water counts on: from its own beginning while it may still show, after that by its amount alone.
    ("waits_anew", ({"unproven": 1, "pulse_s": 78401},), _anew(9, 5, 7, 8)),
    ("waits_anew", ({"unproven": 1, "pulse_s": 78400},), _anew(600, 0, 7, 8)),
    ("waits_anew", ({"unproven": 1, "ladder": 2},), _anew(600)),
    ("waits_anew", ({"unproven": 1, "ladder": 1},), _anew(600)),
    # Enough for any probe: 60 pm by the pot's volume, 30 ml, in three pulses. What gain it learned changes nothing.
    ("blind", (30000, 3), True),
    ("blind", (29999, 3), False),
    ("blind", (30000, 2), False),
    ("blind", (30000, 2, 1), True),
    ("blind", (29999, 9, 1), False),
    ("blind", (30000, 3, 0, 500), True),
    ("blind", (29999, 3, 0, 2000), False),
    # A trial: without a rise, at the refill point, for a fuller pot shows none; for crossed tubes and for far too much
    # water where a dose would be due; after the latter two days later at the earliest; not for every hold.
    ("trial_due", ({},), True),
    ("trial_due", ({"pm": 701},), False),
    ("trial_due", ({"reason": 22},), True),
    ("trial_due", ({"reason": 22, "pm": 850},), True),
    ("trial_due", ({"reason": 22, "pm": 851},), False),
    ("trial_due", ({"reason": 21, "since_s": 7}, 172806), False),
    ("trial_due", ({"reason": 21, "since_s": 7}, 172807), True),
    ("trial_due", ({"reason": 21, "pm": 850}, 172807), True),
    ("trial_due", ({"reason": 21, "pm": 851}, 172807), False),
    # By what it learned to use, 837 pm; without a rise that changes nothing.
    ("trial_due", ({"reason": 22, "pm": 837, "use_ul_mm": 30000}, 100000, {"typical_um": 1500},
                   {"depletion_pm": 600}), True),
    ("trial_due", ({"reason": 22, "pm": 838, "use_ul_mm": 30000}, 100000, {"typical_um": 1500},
                   {"depletion_pm": 600}), False),
    ("trial_due", ({"pm": 550, "use_ul_mm": 30000}, 100000, {"typical_um": 1500}, {"depletion_pm": 600}), True),
    ("trial_due", ({"pm": 640, "use_ul_mm": 30000}, 100000, {"typical_um": 1500}, {"depletion_pm": 600}), True),
    ("trial_due", ({"pm": 641, "use_ul_mm": 30000}, 100000, {"typical_um": 1500}, {"depletion_pm": 600}), False),
    ("trial_due", ({"reason": 23},), False),
    ("trial_due", ({"reason": 24},), False),
    ("trial_due", ({"judge": 1},), False),
    # Half a day after the last pulse, a day after the last trial began; one under way goes on to 60 ml, 120 pm.
    ("trial_due", ({"pulse_s": 78401},), False),
    ("trial_due", ({"pulse_s": 78400},), True),
    # By night it begins a typical day's drink above the refill point.
    ("trial_due", ({"pm": 750, "use_ul_mm": 16667}, 100000, {"typical_um": 1500}), True),
    ("trial_due", ({"pm": 751, "use_ul_mm": 16667}, 100000, {"typical_um": 1500}), False),
    ("trial_due", ({"pm": 701, "use_ul_mm": 16667}, 300000, {"typical_um": 1500}, {}, True), False),
    # By day a new one waits for the night, but not for long, nor one that is dry by now; one that goes on does not.
    ("by_day", ({"since_s": 170401},), False),
    ("by_day", ({"since_s": 170400},), True),
    ("by_day", ({"since_s": 290000, "dry_s": 1, "pulse_s": 213601},), False),
    ("by_day", ({"since_s": 290000, "dry_s": 1, "pulse_s": 213600},), True),
    ("by_day", ({"since_s": 290000, "dry_s": 0, "pulse_s": 213600},), False),
    ("by_day", ({"pulse_s": 0, "rationed": 1, "ration_s": 170401, "since_s": 10000},), False),
    ("by_day", ({"pulse_s": 0, "rationed": 1, "ration_s": 170400, "since_s": 10000},), True),
    ("by_day", ({"rationed": 1, "ration_s": 298000, "since_s": 298000, "pulse_s": 298000, "pulse_ul": 59999},), True),
    ("trial_due", ({"rationed": 1, "ration_s": 13601, "since_s": 10000},), False),
    ("trial_due", ({"rationed": 1, "ration_s": 13600, "since_s": 10000},), True),
    ("trial_due", ({"rationed": 1, "ration_s": 98000, "since_s": 98000, "pulse_s": 98000, "pulse_ul": 59999},), True),
    ("trial_due", ({"rationed": 1, "ration_s": 98000, "since_s": 98000, "pulse_s": 98000},), False),
    # One that has begun goes on for six hours, above what is due as well, as it is by day: but not beyond what it is.
    ("trial_due", ({"pm": 900, "rationed": 1, "ration_s": 78401, "since_s": 78000, "pulse_s": 98000,
                    "pulse_ul": 59999},), True),
    ("trial_due", ({"pm": 900, "rationed": 1, "ration_s": 78400, "since_s": 78000, "pulse_s": 98000,
                    "pulse_ul": 59999},), False),
    ("trial_due", ({"pm": 900, "rationed": 1, "ration_s": 78401, "since_s": 78402, "pulse_s": 98000,
                    "pulse_ul": 59999},), False),
    ("trial_due", ({"pm": 900, "rationed": 1, "ration_s": 98000, "since_s": 98000, "pulse_s": 98000},), False),
    # Water from before it was held, for this reason, is no trial under way.
    ("trial_due", ({"rationed": 1, "ration_s": 98000, "since_s": 98001, "pulse_s": 98000, "pulse_ul": 25000},), False),
    ("trial_due", ({"rationed": 0, "since_s": 98000, "pulse_s": 96800, "pulse_ul": 25000},), False),
    ("trial_is_new", ({},), True),
    ("trial_is_new", ({"pulse_s": 78400},), True),
    ("trial_is_new", ({"pulse_s": 78401},), False),
    ("trial_is_new", ({"rationed": 1, "ration_s": 13600},), True),
    ("trial_is_new", ({"rationed": 1, "ration_s": 13601},), False),
    # After a week in vain every other day.
    ("trial_is_new", ({"rationed": 1, "ration_s": 13600, "unproven": 14},), True),
    ("trial_is_new", ({"rationed": 1, "ration_s": 13600, "unproven": 15},), False),
    ("trial_is_new", ({"rationed": 1, "ration_s": 0, "unproven": 15}, 172800), True),
    ("trial_is_new", ({"rationed": 1, "ration_s": 0, "unproven": 15}, 172799), False),
    ("trial_is_new", ({"rationed": 0, "ration_s": 99999},), True),
    ("trial_is_new", ({"rationed": 1, "ration_s": 13600, "pulse_s": 78401},), False),
    # What a dose that begins takes to be seen, 60 pm or 30 ml; one that goes on takes its next pulse.
    ("pulses_to_show", ({}, 30000), 1),
    ("pulses_to_show", ({}, 29999), 2),
    ("pulses_to_show", ({}, 15000), 2),
    ("pulses_to_show", ({}, 14999), 3),
    ("pulses_to_show", ({}, 10000, 40), 2),
    ("pulses_to_show", ({}, 9999, 40), 3),
    ("pulses_to_show", ({}, 0), 30000),
    ("pulses_to_show", ({"dose_ul": 1}, 15000), 0),
    ("pulses_to_show", ({"ladder": 2, "reason": 20}, 15000), 2),
    ("pulses_to_show", ({"ladder": 2, "reason": 20, "dose_ul": 1}, 15000), 2),
    ("pulses_to_show", ({"ladder": 2, "reason": 20, "pulse_s": 56800}, 15000), 2),
    ("pulses_to_show", ({"ladder": 2, "reason": 20, "pulse_s": 78401}, 15000), 0),
    # 120 pm; half of the tray's 1500 ml stay for tended pots.
    ("trial_ul", ((2, 2),), (60000, 1400000)),
    ("trial_ul", ((2, 1),), (60000, 1400000)),
    ("trial_ul", ((2, 0),), (60000, 650000)),
    ("trial_ul", ((2, 0), True), (60000, 1400000)),
    ("due_pm", ({}, {}), 850),
    ("due_pm", ({"typical_um": 1500}, {"use_ul_mm": 30000}, {"depletion_pm": 600}), 837),
    ("due_pm", ({}, {"pulse_ul": 30000, "unproven": 2}), 850),
    ("due_pm", ({}, {"pulse_ul": 29999, "unproven": 3}), 850),
    ("due_pm", ({}, {"pulse_ul": 30000, "unproven": 3}), 700),
    # By night a typical day's drink earlier, once that was learned, as far as a trial may still show.
    ("due_pm", ({"typical_um": 1500}, {"pulse_ul": 30000, "unproven": 3}, {}, True), 700),
    ("due_pm", ({"typical_um": 1500}, {"pulse_ul": 30000, "unproven": 3, "use_ul_mm": 16667}, {}, True), 750),
    ("due_pm", ({"typical_um": 1500}, {"pulse_ul": 30000, "unproven": 3, "use_ul_mm": 16667}, {}, False), 700),
    ("due_pm", ({"typical_um": 1500}, {"pulse_ul": 30000, "unproven": 3, "use_ul_mm": 26667}, {}, True), 780),
    ("due_pm", ({"typical_um": 1500}, {"pulse_ul": 30000, "unproven": 3, "use_ul_mm": 30000}, {}, True), 780),
    ("due_pm", ({"typical_um": 1500}, {"pulse_ul": 30000, "unproven": 3, "use_ul_mm": 30000}, {"depletion_pm": 200},
                True), 850),
    ("due_pm", ({}, {}, {}, True), 850),
    # Proof: 12 pm at the least, or a tenth of what is told, once nine tenths of the soak are over.
    ("judged", ([changed(PULSED, {"pm": 711})],), _one(0, 0, 1)),
    ("judged", ([changed(PULSED, {"pm": 712})],), _one(0, 0, 0)),
    ("judged", ([changed(PULSED, {"pm": 712, "unproven": 1})], 99879), _one(0, 0, 1, 1)),
    ("judged", ([changed(PULSED, {"pm": 712, "unproven": 1})], 99880), _one(0, 0, 0)),
    ("judged", ([changed(PULSED, {"pm": 711, "unproven": 1})],), _one(0, 0, 2)),
    # Few pulses, or little water: none is condemned yet, however many there were.
    ("judged", ([changed(PULSED, {"pm": 600, "unproven": 250})],), _one(0, 0, 250)),
    ("judged", ([changed(PULSED, {"pm": 700, "unproven": 1, "pulse_ul": 70000})],), _one(0, 0, 2)),
    # The last that may fail waits until its water has spread, and holds a pot only at its refill point.
    ("judged", ([changed(LAST, {"pm": 614})], 99327), _one(0, 0, 2, 1)),
    ("judged", ([changed(LAST, {"pm": 614})], 99328), _one(0, 0, 0)),
    ("judged", ([changed(LAST, {"pm": 613})],), _one(2, 20, 3)),
    ("judged", ([changed(LAST, {"before_pm": 687, "pm": 700})],), _one(2, 20, 3)),
    ("judged", ([changed(LAST, {"before_pm": 688, "pm": 701})],), _one(0, 0, 3)),
    ("judged", ([changed(LAST, {"pm": 613, "pulse_ul": 29999})],), _one(0, 0, 0)),
    ("judged", ([changed(LAST, {"pm": 611, "pulse_ul": 29999})],), _one(0, 0, 3)),
    ("judged", ([changed(LAST, {"pm": 611, "pulse_ul": 30000})],), _one(2, 20, 3)),
    # Far too much: beyond twice of what is told and 150 pm. The rise counts as in the tray as well.
    ("judged", ([changed(PULSED, {"pm": 950})],), _one(0, 0, 0)),
    ("judged", ([changed(PULSED, {"pm": 971})],), _one(2, 21, 0, 0, 135500)),
    # Half of what the plant should have drunk is added back, 15 of 30 pm, and no more than was told.
    ("judged", ([changed(PULSED, {"pm": 697, "use_ul_mm": 10000, "proof_um": 1500})],), _one(0, 0, 0)),
    ("judged", ([changed(PULSED, {"pm": 696, "use_ul_mm": 10000, "proof_um": 1500})],), _one(0, 0, 1)),
    ("judged", ([changed(PULSED, {"pm": 662, "use_ul_mm": 100000, "proof_um": 1500})],), _one(0, 0, 0)),
    ("judged", ([changed(PULSED, {"pm": 661, "use_ul_mm": 100000, "proof_um": 1500})],), _one(0, 0, 1)),
    # Nothing was drunk away where hardly any of its water is seen to stay: use was learned of water that never came.
    ("judged", ([changed(PULSED, {"pm": 697, "use_ul_mm": 10000, "proof_um": 1500, "kept_pm": 250})],), _one(0, 0, 0)),
    ("judged", ([changed(PULSED, {"pm": 697, "use_ul_mm": 10000, "proof_um": 1500, "kept_pm": 249})],), _one(0, 0, 1)),
    ("judged", ([changed(PULSED, {"pm": 712, "use_ul_mm": 10000, "proof_um": 1500, "kept_pm": 249})],), _one(0, 0, 0)),
    ("judged", ([changed(PULSED, {"pm": 711, "use_ul_mm": 10000, "proof_um": 1500, "kept_pm": 249})],), _one(0, 0, 1)),
    # Less of that below the stress point, 475 pm: half of 29 pm one below it, of 10 at 325, of none for a plant that
    # wilted at 250. And only as far as the probe sees a draw.
    ("judged", ([changed(PULSED, {"pm": 475, "before_pm": 478, "use_ul_mm": 10000, "proof_um": 1500})],),
     _one(0, 0, 0)),
    ("judged", ([changed(PULSED, {"pm": 475, "before_pm": 479, "use_ul_mm": 10000, "proof_um": 1500})],),
     _one(0, 0, 1)),
    ("judged", ([changed(PULSED, {"pm": 474, "before_pm": 476, "use_ul_mm": 10000, "proof_um": 1500})],),
     _one(0, 0, 0)),
    ("judged", ([changed(PULSED, {"pm": 474, "before_pm": 477, "use_ul_mm": 10000, "proof_um": 1500})],),
     _one(0, 0, 1)),
    ("judged", ([changed(PULSED, {"pm": 325, "before_pm": 317, "use_ul_mm": 10000, "proof_um": 1500})],),
     _one(0, 0, 0)),
    ("judged", ([changed(PULSED, {"pm": 325, "before_pm": 318, "use_ul_mm": 10000, "proof_um": 1500})],),
     _one(0, 0, 1)),
    ("judged", ([changed(PULSED, {"pm": 250, "before_pm": 238, "use_ul_mm": 10000, "proof_um": 1500})],),
     _one(0, 0, 0)),
    ("judged", ([changed(PULSED, {"pm": 250, "before_pm": 239, "use_ul_mm": 10000, "proof_um": 1500})],),
     _one(0, 0, 1)),
    ("judged", ([changed(PULSED, {"pm": 200, "before_pm": 188, "use_ul_mm": 10000, "proof_um": 1500})],),
     _one(0, 0, 0)),
    ("judged", ([changed(PULSED, {"pm": 200, "before_pm": 189, "use_ul_mm": 10000, "proof_um": 1500})],),
     _one(0, 0, 1)),
    ("judged", ([changed(PULSED, {"pm": 705, "use_ul_mm": 10000, "proof_um": 1500, "gain_pm": 500})],), _one(0, 0, 0)),
    ("judged", ([changed(PULSED, {"pm": 704, "use_ul_mm": 10000, "proof_um": 1500, "gain_pm": 500})],), _one(0, 0, 1)),
    ("judged", ([changed(PULSED, {"pm": 697, "use_ul_mm": 10000, "proof_um": 1500, "gain_pm": 2000})],), _one(0, 0, 0)),
    ("judged", ([changed(PULSED, {"pm": 696, "use_ul_mm": 10000, "proof_um": 1500, "gain_pm": 2000})],), _one(0, 0, 1)),
    # A dose that is seen to lift its pot speaks for itself, whatever came in vain before it: 12 pm, or a tenth.
    ("judged", ([ALONE],), _one(0, 0, 0)),
    ("judged", ([changed(ALONE, {"pm": 611})],), _one(0, 0, 2)),
    ("judged", ([changed(ALONE, {"dose_ul": 1})],), _one(0, 0, 0)),
    ("judged", ([changed(ALONE, {"dose_ul": 0})],), _one(0, 0, 2)),
    ("judged", ([changed(ALONE, {"dose_ul": 70000, "pm": 614})],), _one(0, 0, 0)),
    ("judged", ([changed(ALONE, {"dose_ul": 70000, "pm": 613})],), _one(0, 0, 2)),
    # A plant that may have hidden the rise says nothing of a single dose.
    ("judged", ([changed(ALONE, {"pm": 611, "use_ul_mm": 10000, "dose_um": 1500, "proof_um": 1500})],), _one(0, 0, 2)),
    # Only where its row began before it, and in a tended pot: a held pot's trial is a row of its own.
    ("judged", ([changed(ALONE, {"pulse_ul": 40001})],), _one(0, 0, 0)),
    ("judged", ([changed(ALONE, {"pulse_ul": 40000})],), _one(0, 0, 2)),
    ("judged", ([changed(ALONE, {"ladder": 2, "reason": 22})],), _one(2, 22, 2)),
    # What the pulses before it did proves no pulse.
    ("judged", ([changed(IN_DOSE, {"start_pm": 600})],), _one(0, 0, 1)),
    # By its learned gain: 40 pm at 400 of 1000, 100 pm at 1000.
    ("judged", ([changed(PULSED, {"pm": 724, "pulse_ul": 250000, "gain_pm": 500})],), _one(0, 0, 1)),
    ("judged", ([changed(PULSED, {"pm": 725, "pulse_ul": 250000, "gain_pm": 500})],), _one(0, 0, 0)),
    # A held pot is tended again once its trial shows, and else stays what it was.
    ("judged", ([changed(PULSED, {"pm": 711, "ladder": 2, "reason": 21, "unproven": 5})],), _one(2, 21, 6)),
    ("judged", ([changed(LAST, {"pm": 613, "ladder": 2, "reason": 22, "unproven": 5})],), _one(2, 22, 6)),
    # A press made a held pot a tended one while its trial waited for its soak: no dose is charged with that water.
    ("tended_again", (changed(HIDDEN, {"dose_ul": 60011, "dose_most_ul": 0}),),
     changed(OF_DOSE, {"dose_ul": 60011, "dose_most_ul": 0, "dose_um": 65535})),
    ("tended_again", (changed(HIDDEN, {"dose_ul": 60011, "dose_most_ul": 30000}),),
     changed(OF_DOSE, {"dose_ul": 60011, "dose_most_ul": 30000, "dose_um": 65535})),
    ("tended_again", (changed(HIDDEN, {"dose_ul": 60011, "dose_most_ul": 30001}),),
     changed(OF_DOSE, {"dose_ul": 35011, "dose_most_ul": 1})),
    ("tended_again", ({"pm": 712, "ladder": 2, "reason": 20, "unproven": 3, "proof_um": 40, "start_pm": 5,
                       "dose_um": 6},),
     {"ladder": 0, "reason": 0, "since_s": 100000, "unproven": 0, "closing": 1, "start_pm": 700, "dose_um": 40,
      "dose_ul": 25000, "dose_most_ul": 30000}),
    ("tended_again", ({"pm": 712, "unproven": 2, "proof_um": 40, "start_pm": 5, "dose_um": 6},),
     {"ladder": 0, "reason": 0, "since_s": 0, "unproven": 0, "closing": 0, "start_pm": 5, "dose_um": 6,
      "dose_ul": 250000, "dose_most_ul": 0}),
    # What only its plant's thirst speaks for is left out of a larger dose, or makes the dose itself one that hid.
    ("tended_again", (changed(HIDDEN, {"dose_ul": 60000}),), changed(OF_DOSE, {"dose_ul": 35000})),
    ("tended_again", (changed(HIDDEN, {"dose_ul": 25001}),), changed(OF_DOSE, {"dose_ul": 1})),
    ("tended_again", (changed(HIDDEN, {"dose_ul": 25000}),), ALL_HIDDEN),
    # A trial that was seen counts against no later one; one that only its plant's thirst speaks for does.
    ("counted_on", ({"pm": 712},), (0, 0)),
    ("counted_on", ({"pm": 711, "proof_um": 1500},), (0, 1)),
    ("counted_on", ({"pm": 711},), (2, 1)),
    # Crossed tubes: another pot rose by 25 pm, twice in a row. A full one keeps its count.
    ("judged", ([PULSED, changed(OTHER, {"pm": 825})],), ([(0, 0, 1, 0, 0), (0, 0, 0, 1, 0)], 0)),
    ("judged", ([PULSED, changed(OTHER, {"pm": 825, "crossed": 1})],), ([(2, 22, 1, 0, 0), (2, 22, 0, 2, 0)], 0)),
    ("judged", ([PULSED, changed(OTHER, {"pm": 824, "crossed": 1})],), ([(0, 0, 1, 0, 0), (0, 0, 0, 0, 0)], 0)),
    ("judged", ([PULSED, changed(OTHER, {"pm": 949, "mark_pm": 930, "crossed": 1})],),
     ([(0, 0, 1, 0, 0), (0, 0, 0, 0, 0)], 0)),
    ("judged", ([PULSED, changed(OTHER, {"pm": 950, "mark_pm": 930, "crossed": 1})],),
     ([(0, 0, 1, 0, 0), (0, 0, 0, 1, 0)], 0)),
    ("judged", ([PULSED, changed(OTHER, {"pm": 900, "known": 0, "crossed": 1})],),
     ([(0, 0, 1, 0, 0), (0, 0, 0, 1, 0)], 0)),
    ("judged", ([changed(PULSED, {"ladder": 2, "reason": 20}), changed(OTHER, {"pm": 825, "crossed": 1})],),
     ([(2, 22, 1, 0, 0), (2, 22, 0, 2, 0)], 0)),
    ("judged_second", ([changed(OTHER, {"pm": 825, "crossed": 1}), PULSED],),
     ([(2, 22, 0, 2, 0), (2, 22, 1, 0, 0)], 0)),
    ("judged_second", ([changed(OTHER, {"pm": 825, "crossed": 1}), changed(PULSED, {"pm": 760})],),
     ([(0, 0, 0, 0, 0), (0, 0, 0, 0, 0)], 54)),
    # Water of its own that may still be spreading explains a rise.
    ("judged", ([PULSED, changed(OTHER, {"pm": 900, "crossed": 1, "pulsed": 1, "pulse_s": 93281})],),
     ([(0, 0, 1, 0, 0), (0, 0, 0, 1, 0)], 0)),
    ("judged", ([PULSED, changed(OTHER, {"pm": 900, "crossed": 1, "pulsed": 1, "pulse_s": 93280})],),
     ([(2, 22, 1, 0, 0), (2, 22, 0, 2, 0)], 0)),
    # Both rise: a pump runs along. The rig is held, and what that pump brought counts as in the tray.
    ("strayed", ({"pm": 760}, 825, 0), (0, 0, 1, 0, [0, 0])),
    ("strayed", ({"pm": 760}, 825, 1), (54, 100000, 0, 60000, [0, 0])),
    ("strayed", ({"pm": 760}, 824, 1), (0, 0, 0, 0, [0, 0])),
    ("strayed", ({"pm": 760, "ladder": 2, "reason": 20}, 825, 1), (54, 100000, 0, 60000, [0, 0])),
    # Where pots share a tray, one draws up what another lets through: three quarters of 50 pm kept are no such thing.
    ("strayed", ({"pm": 737}, 825, 1), (54, 100000, 0, 60000, [0, 0])),
    ("strayed", ({"pm": 737}, 825, 1, True), (0, 0, 2, 0, [0, 0])),
    ("strayed", ({"pm": 738}, 825, 1, True), (54, 100000, 0, 60000, [0, 0])),
    # Nor from one whose water mostly runs through.
    ("strayed", ({"pm": 760, "kept_pm": 500}, 825, 1, True), (54, 100000, 0, 60000, [0, 0])),
    ("strayed", ({"pm": 760, "kept_pm": 499}, 825, 1, True), (0, 0, 2, 0, [0, 0])),
    ("strayed", ({"pm": 760, "kept_pm": 499}, 825, 1), (54, 100000, 0, 60000, [0, 0])),
    ("strayed", ({"pm": 775, "gain_pm": 2000}, 825, 1, True), (54, 100000, 0, 60000, [0, 0])),
    ("strayed", ({"pm": 774, "gain_pm": 2000}, 825, 1, True), (0, 0, 2, 0, [0, 0])),
    # And above its refill point a pot may be full enough to let all of it through.
    ("judged", ([PULSED, changed(OTHER, {"pm": 825, "crossed": 1})], 100000, True),
     ([(2, 22, 1, 0, 0), (2, 22, 0, 2, 0)], 0)),
    ("judged", ([changed(PULSED, {"before_pm": 690, "pm": 701}), changed(OTHER, {"pm": 825, "crossed": 1})], 100000,
                True),
     ([(0, 0, 1, 0, 0), (0, 0, 0, 2, 0)], 0)),
    ("judged", ([changed(PULSED, {"before_pm": 690, "pm": 701}), changed(OTHER, {"pm": 825, "crossed": 1})],),
     ([(2, 22, 1, 0, 0), (2, 22, 0, 2, 0)], 0)),
    # Late: half of the 50 pm that were told, and 24 pm; until the water has spread for six hours.
    ("late", ({"pm": 725},), (0, 0, 0)),
    ("late", ({"pm": 724},), (0, 1, 0)),
    ("late", ({"pm": 724, "pulse_ul": 20000},), (0, 0, 0)),
    ("late", ({"pm": 723, "pulse_ul": 20000},), (0, 1, 0)),
    # At night the board looks once an hour: the first look after six hours still counts.
    ("late", ({"pm": 725, "pulse_s": 78400},), (0, 0, 0)),
    ("late", ({"pm": 725, "pulse_s": 74800},), (0, 0, 0)),
    ("late", ({"pm": 725, "pulse_s": 74799},), (0, 1, 0)),
    ("late", ({"pm": 725, "judge": 1},), (0, 1, 0)),
    ("late", ({"pm": 725, "ladder": 2, "reason": 20, "unproven": 3},), (0, 0, 1)),
    ("late", ({"pm": 725, "ladder": 2, "reason": 20, "unproven": 0},), (2, 0, 0)),
    ("late", ({"pm": 725, "ladder": 2, "reason": 22},), (2, 1, 0)),
    ("late", ({"pm": 725, "ladder": 2, "reason": 21},), (2, 1, 0)),
    ("late", ({"pm": 725, "ladder": 1, "reason": 7},), (1, 1, 0)),
    ("late", ({"pm": 710, "use_ul_mm": 10000, "proof_um": 1500},), (0, 0, 0)),
    ("late", ({"pm": 709, "use_ul_mm": 10000, "proof_um": 1500},), (0, 1, 0)),
    ("late", ({"pm": 675, "use_ul_mm": 100000, "proof_um": 1500},), (0, 0, 0)),
    ("late", ({"pm": 674, "use_ul_mm": 100000, "proof_um": 1500},), (0, 1, 0)),
    # Once the water has spread, the standard test counts as well: 12 pm, or a tenth of what is told.
    ("late", ({"pm": 712, "pulse_s": 93281},), (0, 1, 0)),
    ("late", ({"pm": 712, "pulse_s": 93280},), (0, 0, 0)),
    ("late", ({"pm": 711, "pulse_s": 93280},), (0, 1, 0)),
    ("late", ({"pm": 712, "pulse_s": 78400},), (0, 0, 0)),
    ("late", ({"pm": 712, "pulse_s": 74799},), (0, 1, 0)),
    ("late", ({"pm": 713, "pulse_s": 93280, "pulse_ul": 70000},), (0, 1, 0)),
    ("late", ({"pm": 714, "pulse_s": 93280, "pulse_ul": 70000},), (0, 0, 0)),
    ("late", ({"pm": 712, "pulse_s": 93280, "ladder": 2, "reason": 20, "unproven": 3},), (0, 0, 1)),
    ("late", ({"pm": 712, "pulse_s": 93280, "ladder": 2, "reason": 22},), (2, 1, 0)),
    ("late", ({"pm": 713, "gain_pm": 500},), (0, 1, 0)),
    ("late", ({"pm": 724, "gain_pm": 500},), (0, 0, 0)),
)
