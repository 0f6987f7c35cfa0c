"""Readings believed and refused: each threshold and its neighbour."""

from potreeve.logic import dosing, watch

from vectors.made import CHANNEL, changed, fields, make_state

# A pot at 800 pm that was seen, and the raw count it reads at; 30 counts are 1 pm.
SEEN = {"known": 1, "pm": 800, "model_pm": 800, "fell_pm": 800, "raw": 28000, "filtered": 448000}


# Between its lowest and its highest since its own water spread.
SPAN = ("low_pm", "high_pm", "draw_um", "credit_pm")
TOLD = {"low_pm": 780, "high_pm": 820, "draw_um": 100, "credit_pm": 7}


def raw_at(pm):
    return 52000 - 30 * pm


def seen(pot, pm, elapsed_s=1800, um=0, spread=40, up_s=100000):
    """(reason, moisture, where the pot should be)"""
    made = make_state({}, changed(SEEN, pot))
    wrong = watch.observe(made.pots[0], CHANNEL, (raw_at(pm), spread, None), (up_s, elapsed_s, um))
    return wrong, made.pots[0].pm, made.pots[0].model_pm


def after(names, pot, pm, elapsed_s=1800, um=0, spread=40, up_s=100000):
    """(reason, some fields afterwards)"""
    made = make_state({}, changed(SEEN, pot))
    wrong = watch.observe(made.pots[0], CHANNEL, (raw_at(pm), spread, None), (up_s, elapsed_s, um))
    return wrong, fields(names, made.pots[0])


def at(names, pot, pm):
    """As `after`, of a pot that was there already."""
    there = {"pm": pm, "model_pm": pm, "fell_pm": pm, "filtered": 16 * raw_at(pm), "raw": raw_at(pm)}
    return after(names, changed(there, pot), pm)


def fed(pot, pm, foot_ul):
    """(reason, where the pot should be, kept full) of a pot that was there already, with water at its foot."""
    there = {"pm": pm, "model_pm": pm, "fell_pm": pm, "filtered": 16 * raw_at(pm), "raw": raw_at(pm)}
    made = make_state({}, changed(changed(SEEN, there), pot))
    wrong = watch.observe(made.pots[0], CHANNEL, (raw_at(pm), 40, None), (100000, 1800, 100), foot_ul)
    return wrong, made.pots[0].model_pm, watch.kept_full(made.pots[0], CHANNEL)


def quiet(pot):
    return watch.quiet(make_state({}, pot).pots[0], 100000)


def has_spread(pot, up_s, span_s):
    return watch.has_spread(make_state({}, pot).pots[0], up_s, span_s)


def drew(pot):
    return watch.drew_pm(make_state({}, pot).pots[0], CHANNEL)


def asked(pot):
    return watch.asked_pm(make_state({}, pot).pots[0], CHANNEL)


def asks_less(pot):
    return watch.asks_less(make_state({}, pot).pots[0])


def stays(pot):
    return watch.stays(make_state({}, pot).pots[0])


def kept_full(pot):
    return watch.kept_full(make_state({}, pot).pots[0], CHANNEL)


def over_capacity(pot, up_s):
    return watch.over_capacity(make_state({}, pot).pots[0], CHANNEL, up_s)


def sure(pot):
    return watch.sure_ul_mm(make_state({}, pot).pots[0], CHANNEL)


def thirst(pot):
    return watch.thirst_pm(make_state({}, pot).pots[0], CHANNEL)


def lifted(pot):
    return watch.lifted(make_state({}, pot).pots[0], CHANNEL)


def warm(temp_cdeg):
    made = make_state({}, {})
    channel = changed(CHANNEL, {"warmth_pm_10c": 60})
    watch.observe(made.pots[0], channel, (raw_at(800), 40, temp_cdeg), (100000, 1800, 0))
    return made.pots[0].pm


def drawn(pot, um, holds_ml):
    made = make_state({}, pot)
    return watch.draw_pm(made.pots[0], changed(CHANNEL, {"holds_ml": holds_ml}), um)


def used(pot):
    return watch.use_ul_mm(make_state({}, pot).pots[0], CHANNEL)


def drunk(pot, um):
    return watch.drunk_pm(make_state({}, pot).pots[0], CHANNEL, um)


def ran_on(rise_pm, pulse_ul, gain_pm=1000):
    made = make_state({}, {"pulse_ul": 1, "pulse_most_ul": pulse_ul, "gain_pm": gain_pm})
    return watch.ran_on(made.pots[0], rise_pm, CHANNEL)


def refused(pot, pm):
    """(reason, lowest since) for a pot distrusted since it fell, or for another reason."""
    made = make_state({}, changed(SEEN, changed({"ladder": 1, "reason": 7, "pm": pm, "filtered": 16 * raw_at(pm)},
                                                pot)))
    wrong = watch.observe(made.pots[0], CHANNEL, (raw_at(pm), 40, None), (100000, 1800, 0))
    return wrong, made.pots[0].start_pm


def answered(pot, pm, up_s=100000):
    """(reason, what became of the question) for a pot distrusted since it fell, its last ration six hours old."""
    start = changed(SEEN, {"ladder": 1, "reason": 7, "rationed": 1, "ration_s": 78400, "pulsed": 1, "pulse_s": 78400,
                           "pulse_ul": 25000, "before_pm": 600, "start_pm": 600, "filtered": 16 * raw_at(pm)})
    made = make_state({}, changed(start, pot))
    wrong = watch.observe(made.pots[0], CHANNEL, (raw_at(pm), 40, None), (up_s, 1800, 0))
    return wrong, fields(("answers", "pulse_ul"), made.pots[0])


VECTORS = (
    # Averaged within 40 pm of the last reading, taken at once beyond.
    ("seen", ({}, 800), (0, 800, 800)),
    ("seen", ({}, 770), (0, 790, 790)),
    ("seen", ({}, 760), (0, 787, 787)),
    ("seen", ({}, 759), (0, 759, 759)),
    ("seen", ({}, 840), (0, 813, 813)),
    ("seen", ({}, 841), (0, 841, 841)),
    ("seen", ({"dosing": 1}, 770), (0, 770, 770)),
    ("seen", ({"judge": 1}, 770), (0, 770, 770)),
    # Dry as air; and no air yet.
    ("seen", ({"known": 0}, 100), (0, 100, 100)),
    ("seen", ({"known": 0}, 99), (6, 99, 800)),
    # Falls: 70 pm for nothing, 4 times the expected fall on top.
    ("seen", ({}, 730), (0, 730, 730)),
    ("seen", ({}, 729), (7, 729, 800)),
    ("seen", ({"use_ul_mm": 5000}, 690, 1800, 1000), (0, 690, 690)),
    ("seen", ({"use_ul_mm": 5000}, 689, 1800, 1000), (7, 689, 790)),
    # After a pulse the probe may give back what it rose.
    ("seen", ({"pulsed": 1, "pulse_s": 90000, "start_pm": 700}, 630), (0, 630, 630)),
    ("seen", ({"pulsed": 1, "pulse_s": 90000, "start_pm": 700}, 629), (7, 629, 800)),
    ("seen", ({"pulsed": 1, "pulse_s": 90000, "start_pm": 850}, 729), (7, 729, 800)),
    ("seen", ({"pulsed": 1, "pulse_s": 78401, "start_pm": 700}, 630), (0, 630, 630)),
    ("seen", ({"pulsed": 1, "pulse_s": 78400, "start_pm": 700}, 630), (7, 630, 800)),
    # Rationed: believed again within 150 pm of the model.
    ("seen", ({"ladder": 1, "reason": 7, "pm": 500, "start_pm": 500}, 650), (0, 650, 650)),
    ("seen", ({"ladder": 1, "reason": 7, "pm": 500, "start_pm": 500}, 649), (-1, 649, 800)),
    ("seen", ({"ladder": 1, "reason": 7, "pm": 650, "start_pm": 650}, 950), (0, 950, 950)),
    ("seen", ({"ladder": 1, "reason": 7, "pm": 650, "start_pm": 650}, 951), (-1, 951, 800)),
    # One that came back from far is believed half as far from its model as it rose, 300 pm at the most.
    ("seen", ({"ladder": 1, "reason": 7, "pm": 300, "start_pm": 300}, 633), (-1, 633, 800)),
    ("seen", ({"ladder": 1, "reason": 7, "pm": 300, "start_pm": 300}, 634), (0, 634, 634)),
    ("seen", ({"ladder": 1, "reason": 7, "pm": 150, "start_pm": -140, "model_pm": 860}, 560), (0, 560, 560)),
    ("seen", ({"ladder": 1, "reason": 7, "pm": 150, "start_pm": -140, "model_pm": 861}, 560), (-1, 560, 861)),
    # A model above the fill mark, 900 pm, is taken as at it; a reading above it is not.
    ("seen", ({"ladder": 1, "reason": 3, "pm": 400, "start_pm": 400, "model_pm": 1060}, 750), (0, 750, 750)),
    ("seen", ({"ladder": 1, "reason": 3, "pm": 400, "start_pm": 400, "model_pm": 1060}, 749), (-1, 749, 1060)),
    ("seen", ({"ladder": 1, "reason": 3, "pm": 600, "start_pm": 400, "model_pm": 890}, 1040), (0, 1040, 1040)),
    ("seen", ({"ladder": 1, "reason": 3, "pm": 600, "start_pm": 400, "model_pm": 889}, 1040), (-1, 1040, 889)),
    ("seen", ({"ladder": 1, "reason": 3, "pm": 300, "start_pm": 300}, 634), (-1, 634, 800)),
    ("seen", ({"ladder": 1, "reason": 6, "pm": 50, "filtered": 808000}, 80), (6, 60, 800)),
    # Wires.
    ("seen", ({}, 1712), (2, 800, 800)),
    ("seen", ({}, -450), (1, 800, 800)),
    ("seen", ({}, 800, 1800, 0, 641), (3, 800, 800)),
    # The very same count with no spread, for the twelfth time.
    ("after", (("still",), {"still": 10}, 800, 1800, 0, 0), (0, {"still": 11})),
    ("after", (("still",), {"still": 11}, 800, 1800, 0, 0), (5, {"still": 12})),
    ("after", (("still",), {"still": 250}, 800, 1800, 0, 0), (5, {"still": 250})),
    ("after", (("still",), {"still": 11}, 800, 1800, 0, 1), (0, {"still": 0})),
    ("after", (("still",), {"still": 11}, 801, 1800, 0, 0), (0, {"still": 0})),
    ("after", (("raw",), {}, 790), (0, {"raw": 28300})),
    ("after", (("raw",), {}, 1712), (2, {"raw": 640})),
    # Rises with nothing given.
    ("after", (("rising",), {}, 859), (0, {"rising": 0})),
    ("after", (("rising",), {}, 860), (0, {"rising": 1})),
    ("after", (("rising",), {"rising": 250}, 860), (0, {"rising": 250})),
    ("after", (("rising",), {"rising": 2, "pulsed": 1, "pulse_s": 92801}, 860), (0, {"rising": 0})),
    ("after", (("rising",), {"rising": 2, "pulsed": 1, "pulse_s": 92800}, 860), (0, {"rising": 3})),
    ("after", (("rising",), {"known": 0}, 900), (0, {"rising": 0})),
    ("after", (("known",), {"known": 0}, 800), (0, {"known": 1})),
    # Too wet.
    ("after", (("wet_s",), {"wet_s": 1800, "pm": 1000, "model_pm": 1000}, 1060), (0, {"wet_s": 3600})),
    ("after", (("wet_s",), {"wet_s": 1800, "pm": 1000, "model_pm": 1000}, 1059), (0, {"wet_s": 0})),
    # Wet through thirst: 350 pm of expected fall without 60 of it.
    ("after", (("thirst_um",), {"use_ul_mm": 1000, "thirst_um": 65535}, 800, 1800, 9), (0, {"thirst_um": 65535})),
    ("after", (("thirst_um",), {"use_ul_mm": 10000, "thirst_um": 17549}, 800), (0, {"thirst_um": 17549})),
    ("after", (("thirst_um",), {"use_ul_mm": 10000, "thirst_um": 17550}, 800), (8, {"thirst_um": 17550})),
    ("after", (("model_pm",), {"use_ul_mm": 10000, "thirst_um": 17550}, 800, 1800, 100), (8, {"model_pm": 798})),
    ("after", (("thirst_um",), {"thirst_um": 50}, 800, 1800, 10), (0, {"thirst_um": 60})),
    ("after", (("thirst_um",), {}, 800), (0, {"thirst_um": 0})),
    ("after", (("thirst_um", "fell_pm"), {"thirst_um": 50, "fell_pm": 860}, 800),
     (0, {"thirst_um": 0, "fell_pm": 800})),
    ("after", (("thirst_um", "fell_pm"), {"thirst_um": 50, "fell_pm": 859}, 800),
     (0, {"thirst_um": 50, "fell_pm": 859})),
    # A rise that creeps proves no water; one at once does, the first time.
    ("after", (("thirst_um", "fell_pm"), {"thirst_um": 50, "fell_pm": 741}, 800),
     (0, {"thirst_um": 50, "fell_pm": 800})),
    ("after", (("thirst_um", "fell_pm"), {"thirst_um": 50}, 859), (0, {"thirst_um": 50, "fell_pm": 859})),
    ("after", (("thirst_um", "fell_pm"), {"thirst_um": 50}, 860), (0, {"thirst_um": 0, "fell_pm": 860})),
    ("after", (("thirst_um", "fell_pm"), {"thirst_um": 50, "rising": 1}, 860), (0, {"thirst_um": 50, "fell_pm": 860})),
    # 351 pm told and nothing fallen, but the pot is below its stress point, 475: a dry pot falls no more.
    ("at", (("dry_s",), {"use_ul_mm": 10000, "thirst_um": 17550}, 475), (8, {"dry_s": 0})),
    ("at", (("dry_s",), {"use_ul_mm": 10000, "thirst_um": 17550}, 474), (0, {"dry_s": 1800})),
    ("at", (("dry_s",), {"dry_s": 5400}, 474), (0, {"dry_s": 7200})),
    ("at", (("dry_s",), {"dry_s": 5400}, 475), (0, {"dry_s": 0})),
    # Lowest and highest since its own water spread; the highest two hours after the last pulse, and demand since then.
    ("after", (SPAN, TOLD, 800, 1800, 10), (0, {"low_pm": 780, "high_pm": 820, "draw_um": 110, "credit_pm": 7})),
    ("after", (SPAN, TOLD, 759, 1800, 10), (0, {"low_pm": 759, "high_pm": 820, "draw_um": 110, "credit_pm": 7})),
    ("after", (SPAN, changed(TOLD, {"high_pm": 800}), 800, 1800, 10),
     (0, {"low_pm": 780, "high_pm": 800, "draw_um": 110, "credit_pm": 7})),
    ("after", (SPAN, changed(TOLD, {"high_pm": 799}), 800, 1800, 10),
     (0, {"low_pm": 780, "high_pm": 800, "draw_um": 0, "credit_pm": 0})),
    ("after", (SPAN, changed(TOLD, {"pulsed": 1, "pulse_s": 92800}), 800, 1800, 10),
     (0, {"low_pm": 800, "high_pm": 820, "draw_um": 110, "credit_pm": 7})),
    # The lowest waits for six hours, in which a large pot may creep up by its own water; one never watered has none.
    ("after", (SPAN, changed(TOLD, {"pulsed": 1, "pulse_s": 78401}), 800, 1800, 10),
     (0, {"low_pm": 800, "high_pm": 820, "draw_um": 110, "credit_pm": 7})),
    ("after", (SPAN, changed(TOLD, {"pulsed": 1, "pulse_s": 78400}), 800, 1800, 10),
     (0, {"low_pm": 780, "high_pm": 820, "draw_um": 110, "credit_pm": 7})),
    ("after", (SPAN, TOLD, 800, 1800, 10, 40, 1800), (0, {"low_pm": 780, "high_pm": 820, "draw_um": 110,
                                                          "credit_pm": 7})),
    ("after", (SPAN, changed(TOLD, {"pulsed": 1, "pulse_s": 92801}), 800, 1800, 10),
     (0, {"low_pm": 800, "high_pm": 800, "draw_um": 0, "credit_pm": 0})),
    ("after", (SPAN, changed(TOLD, {"known": 0}), 800, 1800, 10),
     (0, {"low_pm": 800, "high_pm": 800, "draw_um": 0, "credit_pm": 0})),
    # A held pot's trial is no new beginning unless it shows.
    ("after", (SPAN, changed(TOLD, {"pulsed": 1, "pulse_s": 92801, "ladder": 2}), 800, 1800, 10),
     (0, {"low_pm": 800, "high_pm": 820, "draw_um": 110, "credit_pm": 7})),
    ("after", (SPAN, changed(TOLD, {"ladder": 2, "high_pm": 799}), 800, 1800, 10),
     (0, {"low_pm": 780, "high_pm": 800, "draw_um": 0, "credit_pm": 0})),
    ("after", (("draw_um",), {"draw_um": 65530, "high_pm": 820}, 800, 1800, 10), (0, {"draw_um": 65535})),
    ("after", (SPAN, changed(TOLD, {"draw_um": 0}), 800), (0, changed(TOLD, {"draw_um": 0}))),
    ("after", (("proof_um",), {}, 800), (0, {"proof_um": 0})),
    ("after", (("trust",), {"ladder": 1, "reason": 8, "trust": 5}, 600), (-1, {"trust": 5})),
    ("after", (("trust",), {"ladder": 1, "reason": 8, "trust": 5}, 599), (-1, {"trust": 0})),
    # No reading that is refused.
    ("after", (SPAN, TOLD, 729, 1800, 0), (7, {"low_pm": 780, "high_pm": 820, "draw_um": 100, "credit_pm": 7})),
    ("has_spread", ({"pulsed": 0, "pulse_s": 100}, 101, 60), True),
    ("has_spread", ({"pulsed": 1, "pulse_s": 100}, 160, 60), True),
    ("has_spread", ({"pulsed": 1, "pulse_s": 100}, 159, 60), False),
    ("quiet", ({"pulsed": 0, "pulse_s": 99999},), True),
    ("quiet", ({"pulsed": 1, "pulse_s": 92801},), False),
    ("quiet", ({"pulsed": 1, "pulse_s": 92800},), True),
    # Nor while a pulse waits for its proof, however long ago: a large pot's water may spread for longer.
    ("quiet", ({"pulsed": 1, "pulse_s": 92800, "judge": 1},), False),
    ("quiet", ({"pulsed": 1, "pulse_s": 0, "judge": 1},), False),
    ("after", (("rising",), {"rising": 2, "pulsed": 1, "pulse_s": 92800, "judge": 1}, 860), (0, {"rising": 0})),
    # What a pot drew: by its gain, no more than its plant can have used, 49 pm in 1500 um.
    ("drew", ({"high_pm": 900, "pm": 800, "draw_um": 65535},), 100),
    ("drew", ({"high_pm": 900, "pm": 800, "draw_um": 65535, "gain_pm": 2000},), 50),
    ("drew", ({"high_pm": 900, "pm": 800, "draw_um": 65535, "gain_pm": 500},), 200),
    ("drew", ({"high_pm": 1000, "pm": 0, "draw_um": 65535},), 1000),
    ("drew", ({"high_pm": 900, "pm": 800, "draw_um": 1500},), 49),
    ("drew", ({"high_pm": 900, "pm": 852, "draw_um": 1500},), 48),
    ("drew", ({"high_pm": 800, "pm": 900, "draw_um": 1500},), 0),
    ("asked", ({"draw_um": 1500},), 49),
    # Lifted: 40 pm above its lowest, or still there after 90 pm of thirst; and within 50 of the fill mark, 900.
    ("lifted", ({"low_pm": 810, "pm": 850},), True),
    ("lifted", ({"low_pm": 811, "pm": 850, "use_ul_mm": 10000},), False),
    # Thirst says nothing before use was learned.
    ("lifted", ({"low_pm": 850, "pm": 850, "thirst_um": 65535},), False),
    ("lifted", ({"low_pm": 810, "pm": 850, "thirst_um": 65535},), True),
    ("lifted", ({"low_pm": 700, "pm": 849},), False),
    ("lifted", ({"low_pm": 850, "pm": 850, "use_ul_mm": 10000, "thirst_um": 4500},), True),
    ("lifted", ({"low_pm": 850, "pm": 850, "use_ul_mm": 10000, "thirst_um": 4499},), False),
    # One that is held because water ran by itself counts while it is full, risen or not.
    ("lifted", ({"low_pm": 850, "pm": 850, "reason": 21},), True),
    ("lifted", ({"low_pm": 700, "pm": 849, "reason": 21},), False),
    ("lifted", ({"low_pm": 849, "pm": 849, "use_ul_mm": 10000, "thirst_um": 4500},), False),
    ("sure", ({},), 16666),
    ("sure", ({"use_ul_mm": 10000, "ref_ul_mm": 18181},), 10000),
    ("sure", ({"use_ul_mm": 10000, "ref_ul_mm": 18182},), 10000),
    ("sure", ({"use_ul_mm": 10000, "ref_ul_mm": 18184},), 10001),
    ("sure", ({"ref_ul_mm": 40000},), 22000),
    # Thirst by the use that was learned or implied, and by no less than 55 % of what it lately was.
    ("thirst", ({"thirst_um": 500},), 16),
    ("thirst", ({"thirst_um": 500, "use_ul_mm": 10000},), 10),
    ("thirst", ({"thirst_um": 500, "use_ul_mm": 10000, "ref_ul_mm": 18000},), 10),
    ("thirst", ({"thirst_um": 500, "use_ul_mm": 10000, "ref_ul_mm": 20000},), 11),
    ("after", (("thirst_um",), {"use_ul_mm": 1000, "ref_ul_mm": 20000, "thirst_um": 15954}, 800),
     (0, {"thirst_um": 15954})),
    ("after", (("thirst_um",), {"use_ul_mm": 1000, "ref_ul_mm": 20000, "thirst_um": 15955}, 800),
     (8, {"thirst_um": 15955})),
    # Asks for less than 55 % of what it lately used, after fourteen days that were learned from.
    ("asks_less", ({"learned": 6, "use_ul_mm": 549, "ref_ul_mm": 1000},), True),
    ("asks_less", ({"learned": 6, "use_ul_mm": 550, "ref_ul_mm": 1000},), False),
    ("asks_less", ({"learned": 6, "use_ul_mm": 10000, "ref_ul_mm": 18182},), True),
    ("asks_less", ({"learned": 5, "use_ul_mm": 549, "ref_ul_mm": 1000},), False),
    ("asks_less", ({"learned": 250},), False),
    # Higher than three quarters of the expected fall of 10 pm explain: four times what it stands above 790, less 10.
    ("after", (("surplus",), {"use_ul_mm": 5000, "surplus": 100}, 800, 1800, 1000), (0, {"surplus": 130})),
    ("after", (("surplus",), {"use_ul_mm": 5000, "surplus": 100}, 775, 1800, 1000), (0, {"surplus": 98})),
    ("after", (("surplus",), {"use_ul_mm": 5000, "surplus": 1}, 775, 1800, 1000), (0, {"surplus": 0})),
    ("after", (("surplus",), {"use_ul_mm": 5000, "surplus": 65510}, 800, 1800, 1000), (0, {"surplus": 65535})),
    # Its own water still spreads; or somebody poured.
    ("after", (("surplus",), {"surplus": 100, "pulsed": 1, "pulse_s": 78401}, 800), (0, {"surplus": 0})),
    ("after", (("surplus",), {"surplus": 100, "pulsed": 1, "pulse_s": 78400}, 800), (0, {"surplus": 100})),
    ("after", (("surplus", "rising"), {"surplus": 100}, 859), (0, {"surplus": 336, "rising": 0})),
    ("after", (("surplus", "rising"), {"surplus": 100}, 860), (0, {"surplus": 0, "rising": 1})),
    # Full, and by 100 pm.
    ("kept_full", ({"pm": 850, "surplus": 400},), True),
    # Half of its water stays, by the volume; a gain counts as no more than that and as no less than 650.
    ("stays", ({"kept_pm": 500, "gain_pm": 1000},), True),
    ("stays", ({"kept_pm": 499, "gain_pm": 2000},), False),
    ("stays", ({"kept_pm": 770, "gain_pm": 500},), True),
    ("stays", ({"kept_pm": 769, "gain_pm": 650},), False),
    ("stays", ({"kept_pm": 768, "gain_pm": 652},), True),
    ("kept_full", ({"pm": 850, "surplus": 399},), False),
    ("kept_full", ({"pm": 849, "surplus": 400},), False),
    # More than a pot can keep, once its own water has spread.
    ("over_capacity", ({"pm": 1000}, 0), True),
    ("over_capacity", ({"pm": 999}, 0), False),
    ("over_capacity", ({"pm": 1000, "pulsed": 1, "pulse_s": 100}, 100 + dosing.spread_s(CHANNEL)), True),
    ("over_capacity", ({"pm": 1000, "pulsed": 1, "pulse_s": 100}, 99 + dosing.spread_s(CHANNEL)), False),
    # The model keeps within 0..1100 and carries what is too small to count.
    ("after", (("model_pm", "model_carry"), {"use_ul_mm": 5000}, 1712, 1800, 150),
     (2, {"model_pm": 799, "model_carry": 250000})),
    ("after", (("model_pm",), {"model_pm": 3}, 1712, 1800, 36000), (2, {"model_pm": 0})),
    ("after", (("model_pm",), {"pm": 1150, "model_pm": 1100, "filtered": 280000}, 1150), (0, {"model_pm": 1100})),
    ("warm", (2000,), 800),
    ("warm", (3000,), 740),
    ("warm", (1000,), 860),
    ("warm", (None,), 800),
    ("drawn", ({}, 0, 500), (0, 0)),
    ("drawn", ({}, 1500, 500), (49, 499000)),
    ("drawn", ({"use_ul_mm": 5000}, 100, 500), (1, 0)),
    ("drawn", ({"use_ul_mm": 5000}, 99, 500), (0, 495000)),
    ("drawn", ({"use_ul_mm": 5000, "model_carry": 495000}, 1, 500), (1, 0)),
    ("drawn", ({"use_ul_mm": 3000000000}, 36000, 30), (3600000000, 0)),
    ("implied_ul_mm", (CHANNEL,), 16666),
    ("implied_ul_mm", (changed(CHANNEL, {"ration_ml": 1}),), 666),
    ("implied_ul_mm", (changed(CHANNEL, {"ration_ml": 3}),), 2000),
    ("used", ({},), 16666),
    ("used", ({"use_ul_mm": 5},), 5),
    ("drunk", ({}, 1500), 49),
    ("drunk", ({"use_ul_mm": 5000}, 99), 0),
    ("drunk", ({"use_ul_mm": 5000}, 100), 1),
    ("drunk", ({"use_ul_mm": 3000000000}, 65535), 393210000),
    # Demand since the dose began, as far as sixteen bits go.
    ("after", (("dose_um",), {"dose_um": 100}, 800, 1800, 50), (0, {"dose_um": 150})),
    ("after", (("dose_um",), {}, 800), (0, {"dose_um": 0})),
    ("after", (("dose_um",), {"dose_um": 65500}, 800, 1800, 50), (0, {"dose_um": 65535})),
    ("after", (("proof_um",), {"proof_um": 100}, 800, 1800, 50), (0, {"proof_um": 150})),
    ("after", (("proof_um",), {"proof_um": 100}, 1712, 1800, 50), (2, {"proof_um": 150})),
    ("after", (("proof_um",), {"proof_um": 65500}, 800, 1800, 50), (0, {"proof_um": 65535})),
    # Twice what a pulse should do, and 150 pm.
    ("ran_on", (250, 25000), False),
    ("ran_on", (251, 25000), True),
    ("ran_on", (349, 49999), True),
    # A probe that is known to see more may; one that sees less may be next to the drip for once.
    ("ran_on", (350, 25000, 2000), False),
    ("ran_on", (351, 25000, 2000), True),
    ("ran_on", (250, 25000, 500), False),
    ("ran_on", (251, 25000, 500), True),
    ("ran_on", (150, 0), False),
    ("ran_on", (151, 0), True),
    # A distrusted probe far from the model, 800 pm, has to see three rations in a row: 50 pm are told, 35 to 125 will
    # do.
    ("answered", ({"pm": 635}, 635), (-1, {"answers": 1, "pulse_ul": 0})),
    ("answered", ({"pm": 634}, 634), (-1, {"answers": 0, "pulse_ul": 0})),
    ("answered", ({"pm": 725, "model_pm": 300}, 725), (-1, {"answers": 1, "pulse_ul": 0})),
    ("answered", ({"pm": 726, "model_pm": 300}, 726), (-1, {"answers": 0, "pulse_ul": 0})),
    # Of 103 pm told, 72.1 are the least; of 501 pm, 1252.5 the most.
    ("answered", ({"pm": 673, "model_pm": 300, "pulse_ul": 51500}, 673), (-1, {"answers": 1, "pulse_ul": 0})),
    ("answered", ({"pm": 672, "model_pm": 300, "pulse_ul": 51500}, 672), (-1, {"answers": 0, "pulse_ul": 0})),
    ("answered", ({"pm": 1252, "model_pm": 300, "pulse_ul": 250500, "before_pm": 0}, 1252),
     (-1, {"answers": 1, "pulse_ul": 0})),
    ("answered", ({"pm": 1253, "model_pm": 300, "pulse_ul": 250500, "before_pm": 0}, 1253),
     (-1, {"answers": 0, "pulse_ul": 0})),
    ("answered", ({"pm": 625, "dose_um": 2000, "use_ul_mm": 5000}, 625), (-1, {"answers": 1, "pulse_ul": 0})),
    ("answered", ({"pm": 624, "dose_um": 2000, "use_ul_mm": 5000}, 624), (-1, {"answers": 0, "pulse_ul": 0})),
    ("answered", ({"pm": 635, "unproven": 2}, 635), (-1, {"answers": 1, "pulse_ul": 0})),
    # One that fell has to rise by 100 pm from its lowest; others only to agree within 150 with 800 less what was drunk.
    ("refused", ({"start_pm": 560}, 660), (0, 560)),
    ("refused", ({"start_pm": 561}, 660), (-1, 561)),
    # A fall no deeper than the model errs by, seen within hours of it.
    ("refused", ({"start_pm": 700, "since_s": 78401}, 650), (0, 650)),
    ("refused", ({"start_pm": 700, "since_s": 78400}, 650), (-1, 650)),
    ("refused", ({"start_pm": 700, "since_s": 78401}, 649), (-1, 649)),
    ("refused", ({"start_pm": 561, "reason": 1}, 660), (0, 561)),
    ("refused", ({"start_pm": 400, "reason": 1}, 650), (0, 400)),
    ("refused", ({"start_pm": 400, "reason": 1}, 649), (-1, 400)),
    ("refused", ({"start_pm": 400, "reason": 1}, 950), (0, 400)),
    ("refused", ({"start_pm": 400, "reason": 1}, 951), (-1, 400)),
    ("refused", ({"start_pm": 700}, 640), (-1, 640)),
    # A fault of the wire that went: believed after a day and more of sound readings, whatever the model says.
    ("refused", ({"start_pm": 400, "reason": 1, "trust": 35}, 500), (-1, 400)),
    ("refused", ({"start_pm": 400, "reason": 1, "trust": 36}, 500), (0, 400)),
    ("refused", ({"start_pm": 400, "reason": 2, "trust": 36}, 500), (0, 400)),
    # But not by one that fell by more than 200 pm in a wake: it begins a new row.
    ("refused", ({"start_pm": 400, "reason": 2, "trust": 36, "pm": 700}, 500), (0, 400)),
    ("refused", ({"start_pm": 400, "reason": 2, "trust": 36, "pm": 701}, 500), (-1, 400)),
    ("refused", ({"start_pm": 400, "reason": 3, "trust": 36}, 500), (0, 400)),
    ("refused", ({"start_pm": 400, "reason": 4, "trust": 36}, 500), (0, 400)),
    ("refused", ({"start_pm": 400, "reason": 5, "trust": 36}, 500), (0, 400)),
    ("refused", ({"start_pm": 400, "reason": 6, "trust": 36}, 500), (0, 400)),
    ("refused", ({"start_pm": 400, "reason": 7, "trust": 36}, 480), (-1, 400)),
    # It may have drunk from its foot: half of the 351 pm that it should have fallen by, 175.5 ml in a pot of 500.
    ("fed", ({"use_ul_mm": 10000, "thirst_um": 17450}, 800, 87750), (0, 800, True)),
    ("fed", ({"use_ul_mm": 10000, "thirst_um": 17450}, 800, 87749), (8, 798, True)),
    ("fed", ({"use_ul_mm": 10000, "thirst_um": 17449}, 800, 87749), (0, 800, False)),
    ("fed", ({"use_ul_mm": 10000, "thirst_um": 17450}, 474, 87749), (0, 474, False)),
    # One that was wet through thirst is believed where by now it says that the pot is due: below 700 pm.
    ("refused", ({"start_pm": 400, "reason": 8, "trust": 36}, 500), (0, 400)),
    ("refused", ({"start_pm": 400, "reason": 8, "trust": 35}, 500), (-1, 400)),
    ("refused", ({"start_pm": 400, "reason": 8, "trust": 36, "model_pm": 300}, 700), (0, 400)),
    ("refused", ({"start_pm": 400, "reason": 8, "trust": 36, "model_pm": 300}, 701), (-1, 400)),
    ("refused", ({"start_pm": 400, "reason": 6, "trust": 36}, 99), (6, 400)),
    ("answered", ({"pm": 635, "answers": 1}, 635), (-1, {"answers": 2, "pulse_ul": 0})),
    ("answered", ({"pm": 635, "answers": 2}, 635), (0, {"answers": 3, "pulse_ul": 0})),
    ("answered", ({"pm": 635, "answers": 3}, 635), (0, {"answers": 3, "pulse_ul": 0})),
    ("answered", ({"pm": 634, "answers": 3}, 634), (-1, {"answers": 0, "pulse_ul": 0})),
    ("answered", ({"pm": 635, "answers": 3, "pulse_ul": 0}, 635), (0, {"answers": 3, "pulse_ul": 0})),
    ("answered", ({"pm": 635, "rationed": 0}, 635), (-1, {"answers": 0, "pulse_ul": 25000})),
    ("answered", ({"pm": 635, "ration_s": 78399}, 635), (-1, {"answers": 0, "pulse_ul": 25000})),
    ("answered", ({"pm": 635}, 635, 99999), (-1, {"answers": 0, "pulse_ul": 25000})),
    ("answered", ({"pm": 635, "ladder": 0}, 635), (7, {"answers": 0, "pulse_ul": 25000})),
    ("answered", ({"pm": 90, "before_pm": 40, "answers": 2}, 90), (6, {"answers": 3, "pulse_ul": 0})),
)
