"""Deficits, pulses and proofs around one pot of 500 ml, and what rounds which way."""

from potreeve.logic import dosing

from vectors.made import CHANNEL, changed, make_state

P = CHANNEL
CALIBRATED = changed(P, {"pump_cal_mv": 3700})
# Allowed to dry so far that the refill point is well below the fill mark.
DEEP = {"depletion_pm": 600}
SLOW = changed(P, {"pump_ul_s": 3, "pump_spread_pm": 100})


def due(use_ul_mm, typical_um, channel):
    return dosing.due_pm(make_state({}, {"use_ul_mm": use_ul_mm}).pots[0], typical_um, changed(P, channel))


def spread_s(pot_ml):
    return dosing.spread_s(changed(P, {"pot_ml": pot_ml}))


VECTORS = (
    ("refill_point_pm", (P,), 700),
    ("refill_point_pm", (changed(P, {"wilting_pm": 333, "depletion_pm": 333}),), 778),
    ("refill_point_pm", (changed(P, {"wilting_pm": 248}),), 700),
    ("refill_point_pm", (changed(P, {"wilting_pm": 0, "depletion_pm": 800}),), 200),
    ("stress_point_pm", (P,), 475),
    ("draws_pm", (900, P), 1000),
    ("draws_pm", (475, P), 1000),
    ("draws_pm", (474, P), 995),
    ("draws_pm", (251, P), 4),
    ("draws_pm", (250, P), 0),
    ("draws_pm", (100, P), 0),
    # The refill point, 550 pm, and what a probe may err by: 82 thousandths of 1200 ml are 196 pm of 500 ml.
    ("due", (0, 0, DEEP), 746),
    ("due", (60000, 0, DEEP), 746),
    ("due", (0, 1500, DEEP), 746),
    ("due", (0, 0, changed(DEEP, {"holds_ml": 1000})), 648),
    # At most 50 pm below the fill mark.
    ("due", (0, 0, {}), 850),
    ("due", (0, 0, changed(DEEP, {"fill_pm": 796})), 746),
    ("due", (0, 0, changed(DEEP, {"fill_pm": 795})), 745),
    # What was learned counts twice: 2512 um a day from 112 cm2 are no more than FAO's 5 mm, 2513 lower p by one
    # thousandth. Less raises it by nothing.
    ("due", (10000, 1500, DEEP), 746),
    ("due", (28139, 1000, DEEP), 746),
    ("due", (28140, 1000, DEEP), 747),
    # Twice 4018 um: p = 0.6 - 0.121 = 0.479, and 479 of 750 pm are 359 from full.
    ("due", (30000, 1500, DEEP), 837),
    ("due", (60000, 1500, DEEP), 850),
    ("due", (60000, 1500, {}), 850),
    ("due", (200000, 1500, {"fill_pm": 1000}), 950),
    ("area_cm2", (100,), 21),
    ("area_cm2", (999,), 99),
    ("area_cm2", (1000,), 100),
    ("area_cm2", (1200,), 112),
    ("area_cm2", (8000,), 400),
    ("area_cm2", (30000,), 965),
    ("area_cm2", (1,), 1),
    # 60 s for each cm2 of its top, an hour at the least and six at the most.
    ("spread_s", (1200,), 6720),
    ("spread_s", (464,), 3600),
    ("spread_s", (500,), 3720),
    ("spread_s", (100,), 3600),
    ("spread_s", (6800,), 21480),
    ("spread_s", (30000,), 21600),
    ("water_ul", (100, P), 50000),
    ("water_ul", (-10, P), -5000),
    ("rise_pm", (50000, 1000, P), 100),
    ("rise_pm", (499, 1000, P), 0),
    ("rise_pm", (50000, 500, P), 50),
    ("rise_pm", (2000000, 2000, P), 8000),
    ("deficit_ul", (900, 1000, P), 0),
    ("deficit_ul", (901, 1000, P), 0),
    ("deficit_ul", (899, 1000, P), 500),
    ("deficit_ul", (700, 1000, P), 100000),
    # A probe that sees twice the rise is no reason for half the water.
    ("deficit_ul", (700, 2000, P), 100000),
    ("deficit_ul", (700, 1001, P), 100000),
    ("deficit_ul", (700, 999, P), 100100),
    ("deficit_ul", (700, 500, P), 150000),
    ("deficit_ul", (-500, 1000, P), 150000),
    ("pulse_ms", (25000, 0, P), 6250),
    ("pulse_ms", (25000, 1799, P), 6250),
    ("pulse_ms", (25000, 1800, P), 6750),
    # A tube that stays full for two days is filled again after them, and adds nothing to a day's pulses.
    ("pulse_ms", (25000, 172799, changed(P, {"tube_full_h": 48})), 6250),
    ("pulse_ms", (25000, 172800, changed(P, {"tube_full_h": 48})), 6750),
    ("likely_ul", (1000, 172799, changed(P, {"tube_full_h": 48})), 4000),
    ("likely_ul", (1000, 172800, changed(P, {"tube_full_h": 48})), 2000),
    ("drained", (1799, P), False),
    ("drained", (1800, P), True),
    ("drained", (3599, changed(P, {"tube_full_h": 1})), False),
    ("drained", (3600, changed(P, {"tube_full_h": 1})), True),
    ("drained", (dosing.NEVER_S, changed(P, {"tube_full_h": 720})), True),
    ("day_prime_ms", (P,), 500),
    ("day_prime_ms", (changed(P, {"tube_full_h": 23}),), 500),
    ("day_prime_ms", (changed(P, {"tube_full_h": 24}),), 0),
    ("pulse_ms", (1, 0, P), 1),
    ("pulse_ms", (0, 0, P), 0),
    ("pulse_ms", (0, 1073741823, P), 500),
    ("pulse_ms", (1000000, 0, P), 8000),
    ("most_ul", (1000, P), 4800),
    ("most_ul", (1, P), 5),
    ("most_ul", (0, P), 0),
    ("most_ul", (1000, CALIBRATED, 3700), 4800),
    ("most_ul", (1000, CALIBRATED, 0), 4800),
    ("most_ul", (1000, SLOW), 4),
    ("most_ul", (1000, CALIBRATED, 4070), 7032),
    ("most_ul", (1000, CALIBRATED, 3701), 4834),
    ("longest_ms", (7032, CALIBRATED, 4070), 1000),
    ("longest_ms", (7031, CALIBRATED, 4070), 999),
    ("longest_ms", (4800, P), 1000),
    ("longest_ms", (4799, P), 999),
    ("longest_ms", (0, P), 0),
    ("likely_ul", (1000, 0, P), 4000),
    ("likely_ul", (1000, 1800, P), 2000),
    ("likely_ul", (500, 1800, P), 0),
    ("likely_ul", (499, 1800, P), 0),
    ("likely_ul", (501, 1800, P), 4),
    ("likely_ul", (0, 0, P), 0),
    ("proof_pm", (50000, 1000, P), 12),
    ("proof_pm", (20000, 1000, P), 12),
    ("proof_pm", (64500, 1000, P), 12),
    ("proof_pm", (65000, 1000, P), 13),
    ("proof_pm", (0, 1000, P), 12),
    ("proof_pm", (499500, 1000, P), 99),
    ("flow_ul_s", (P, 3700), 4000),
    ("flow_ul_s", (CALIBRATED, 0), 4000),
    ("flow_ul_s", (CALIBRATED, -1), 4000),
    ("flow_ul_s", (CALIBRATED, 3700), 4000),
    ("flow_ul_s", (CALIBRATED, 4070), 4840),
    ("flow_ul_s", (CALIBRATED, 4440), 5760),
    ("flow_ul_s", (CALIBRATED, 12000), 5760),
    ("flow_ul_s", (CALIBRATED, 3330), 3240),
    ("flow_ul_s", (CALIBRATED, 2220), 1440),
    ("flow_ul_s", (CALIBRATED, 1), 1440),
    ("pulse_ms", (25000, 0, CALIBRATED, 4070), 5166),
    ("likely_ul", (5166, 0, CALIBRATED, 4070), 25003),
    # An empty tube takes longer to fill, too, where the battery has sunk, and less where it is fuller: at 2220 mV
    # 1440 of 4000 ul/s are left.
    ("pulse_ms", (1440, 1800, CALIBRATED, 2220), 1000 + 1389),
    ("likely_ul", (1389, 1800, CALIBRATED, 2220), 0),
    ("likely_ul", (2389, 1800, CALIBRATED, 2220), 1440),
    ("likely_ul", (2389, 1799, CALIBRATED, 2220), 3440),
    ("pulse_ms", (4840, 1800, CALIBRATED, 4070), 1000 + 414),
    ("likely_ul", (1414, 1800, CALIBRATED, 4070), 4840),
    ("leachate_ul", (100, 1000, (50000, 60000), P), 2500),
    ("leachate_ul", (85, 1000, (50000, 60000), P), 2500),
    ("leachate_ul", (84, 1000, (50000, 60000), P), 9600),
    ("leachate_ul", (0, 1000, (50000, 60000), P), 60000),
    # Water that filled a tube is no part of what a pot is short of; where nothing rose, a full tube brought it all.
    ("leachate_ul", (84, 1000, (50000, 62400), P), 9600),
    ("leachate_ul", (1, 1000, (50000, 62400), P), 62400),
    ("leachate_ul", (0, 1000, (50000, 62400), P), 62400),
    ("leachate_ul", (-10, 1000, (50000, 62400), P), 62400),
    ("leachate_ul", (1, 1000, (50000, 55000), P), 55000),
    ("leachate_ul", (-10, 1000, (50000, 60000), P), 60000),
    ("leachate_ul", (55, 500, (50000, 60000), P), 9240),
    ("leachate_ul", (56, 500, (50000, 60000), P), 2500),
    ("leachate_ul", (110, 1300, (50000, 60000), P), 9240),
    ("leachate_ul", (111, 1300, (50000, 60000), P), 2500),
    ("leachate_ul", (5, 1000, (499, 600), P), 600),
    ("leachate_ul", (0, 1000, (0, 0), P), 0),
    ("learn_gain", (1000, 100, 50000, P), 1000),
    ("learn_gain", (1001, 100, 50000, P), 1000),
    ("learn_gain", (1000, 0, 50000, P), 875),
    ("learn_gain", (1000, -50, 50000, P), 875),
    ("learn_gain", (1000, 300, 50000, P), 1250),
    ("learn_gain", (1000, 100, 499, P), 1000),
    ("learn_gain", (500, 0, 50000, P), 500),
    ("learn_gain", (2000, 999, 50000, P), 2000),
    ("learn_gain", (1997, 999, 50000, P), 1997),
)
