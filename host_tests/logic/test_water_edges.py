"""A pulse's accounts, one by one: what a new dose begins anew, what waits for proof together, who is blamed for a stray
rise."""

import kit
import pytest
from potreeve.logic import closing, dosing, proof, reasons, water
from potreeve.logic.state import HELD, RATIONED, TENDED

# What an earlier dose left behind, each value unlike any other.
STALE = {
    "dose_ul": 77,
    "dose_most_ul": 88,
    "dose_um": 99,
    "start_pm": 111,
    "before_pm": 122,
    "pulse_ul": 133,
    "pulse_most_ul": 144,
    "proof_um": 155,
}

# 25 ml at 4 ml/s take 6.25 s, and half a second more where the tube is empty; the pump may be a fifth faster.
PULSE_UL, PULSE_MOST_UL, PRIMED_MOST_UL = 25000, 30000, 32400


def rig_of(*pots):
    """A rig that may pump; each pot, seen and at 870 pm, not due, unless told otherwise, in its own dictionary of
    changes."""
    made = kit.make_state(len(pots), rest_mv=3900)
    for pot, changes in zip(made.pots, pots, strict=True):
        for name, value in {"known": 1, "pm": 870, **changes}.items():
            assert hasattr(pot, name), name
            setattr(pot, name, value)
    return made


def decide(made, pot=None, **changes):
    return water.decide(
        made, kit.make_settings(len(made.pots), pot, **changes), [one.ladder == TENDED for one in made.pots]
    )


def test_a_new_dose_begins_every_account_anew():
    made = rig_of({**STALE, "pm": 600})
    assert decide(made) == [6750]
    pot = made.pots[0]
    assert (pot.dosing, pot.start_pm, pot.before_pm, pot.dose_um, pot.proof_um) == (1, 600, 600, 0, 0)
    assert (pot.dose_ul, pot.pulse_ul) == (PULSE_UL, PULSE_UL)
    assert (pot.dose_most_ul, pot.pulse_most_ul) == (PRIMED_MOST_UL, PRIMED_MOST_UL)


@pytest.mark.parametrize("age_s, before_pm, proof_um", [(21599, 122, 155), (21600, 600, 0)])
def test_a_new_dose_begins_its_own_accounts_anew_while_what_was_unproven_still_waits(age_s, before_pm, proof_um):
    """Else a pot that gets nothing could be given dose after dose, each with a proof of its own. What can show no
    more counts on by its amount: half of a day's thirst would prove any pulse."""
    made = rig_of({**STALE, "pm": 600, "unproven": 1})
    made.pots[0].pulse_s = made.rig.up_s - age_s
    assert decide(made) == [6750]
    pot = made.pots[0]
    assert (pot.dosing, pot.start_pm, pot.dose_um, pot.dose_ul, pot.dose_most_ul) == (
        1,
        600,
        0,
        PULSE_UL,
        PRIMED_MOST_UL,
    )
    assert (pot.before_pm, pot.proof_um) == (before_pm, proof_um)
    assert (pot.pulse_ul, pot.pulse_most_ul) == (133 + PULSE_UL, 144 + PRIMED_MOST_UL)


@pytest.mark.parametrize(("raw_pm", "before_pm"), [(600, 600), (594, 600), (606, 606), (612, 612)])
def test_a_pulse_is_judged_from_the_reading_where_that_stands_above_the_average(raw_pm, before_pm):
    """What the average has yet to catch up with came before the pulse and is no rise of it."""
    made = rig_of({"pm": 600, "filtered": 16 * kit.raw_at(600), "raw": kit.raw_at(raw_pm)})
    assert decide(made) == [6750]
    assert made.pots[0].before_pm == before_pm


@pytest.mark.parametrize(("unproven", "before_pm", "times"), [(0, 700, 1), (1, 690, 2)])
def test_within_a_dose_only_pulses_without_a_rise_wait_for_proof_together(unproven, before_pm, times):
    made = rig_of(
        {
            "pm": 700,
            "dosing": 1,
            "start_pm": 650,
            "before_pm": 690,
            "dose_ul": PULSE_UL,
            "dose_most_ul": PULSE_MOST_UL,
            "pulse_ul": PULSE_UL,
            "pulse_most_ul": PULSE_MOST_UL,
            "dose_um": 5,
            "unproven": unproven,
            "pulsed": 1,
        }
    )
    pot = made.pots[0]
    pot.pulse_s = made.rig.up_s - 1200
    assert decide(made) == [6250]
    assert (pot.before_pm, pot.pulse_ul, pot.pulse_most_ul) == (before_pm, times * PULSE_UL, times * PULSE_MOST_UL)
    assert (pot.start_pm, pot.dose_um, pot.dose_ul, pot.dose_most_ul) == (650, 5, 2 * PULSE_UL, 2 * PULSE_MOST_UL)


@pytest.mark.parametrize("unproven", [0, 1])
def test_a_ration_waits_for_its_own_answer_alone(unproven):
    """Its rise is compared with what it brought itself, and the drinking is counted from then on."""
    made = rig_of({**STALE, "pm": 600, "ladder": RATIONED, "reason": reasons.FELL, "unproven": unproven})
    assert decide(made) == [4875]
    pot = made.pots[0]
    # 70 % of 25 ml; 4.875 s at 4.8 ml/s.
    assert (pot.before_pm, pot.pulse_ul, pot.pulse_most_ul, pot.dose_um) == (600, 17500, 23400, 0)


@pytest.mark.parametrize(("rung", "likely_ul"), [(TENDED, PULSE_UL), (RATIONED, 17500)])
def test_a_pulse_is_the_days_water_ends_the_thirst_and_marks_where_every_pot_stands(rung, likely_ul):
    made = rig_of(
        {"pm": 600, "ladder": rung, "reason": 0, "day_ul": 1000, "thirst_um": 900, "fell_pm": 700, "mark_pm": 1},
        {"pm": 890, "mark_pm": 1},
        {"pm": -7, "known": 0, "ladder": HELD, "mark_pm": 1},
    )
    decide(made)
    pot = made.pots[0]
    assert pot.intent_ms > 0
    assert (pot.day_ul, pot.thirst_um, pot.fell_pm) == (1000 + likely_ul, 0, 600)
    assert [one.mark_pm for one in made.pots] == [600, 890, -7]


def test_a_ration_too_small_for_its_pot_to_show_leaves_the_model_where_it_is():
    made = rig_of({"pm": 600, "ladder": RATIONED, "reason": reasons.FELL, "model_pm": 0})
    # 17.5 ml in a pot that holds 20 l are less than 1 pm; such a rig runs only where it is insisted on.
    assert decide(made, {"pot_ml": 30000, "holds_ml": 20000}, insist=True) == [4875]
    assert made.pots[0].model_pm == 0


@pytest.mark.parametrize("ends", [{"pm": 885}, {"pm": 860, "dose_ul": 150000}])
def test_a_dose_that_is_full_or_close_enough_ends_without_another_pulse(ends):
    made = rig_of({"dosing": 1, "start_pm": 650, **ends})
    assert decide(made) == [0]
    assert made.pots[0].dosing == 0


def after_soak(pm, other):
    """A rig of two whose second pot had a pulse before its soak, and now reads `pm`."""
    made = rig_of(
        {"mark_pm": 800, **other},
        {
            "pm": pm,
            "before_pm": 700,
            "judge": 1,
            "pulsed": 1,
            "pulse_ul": PULSE_UL,
            "pulse_most_ul": PULSE_MOST_UL,
            "dose_ul": PULSE_UL,
        },
    )
    told = kit.make_settings(2)
    made.pots[1].pulse_s = made.rig.up_s - told["soak_s"]
    proof.judge(made, 1, told)
    return made


def test_the_first_pot_can_be_the_one_whose_tube_was_swapped():
    made = after_soak(700, {"pm": 825, "crossed": 1})
    assert [(pot.ladder, pot.reason) for pot in made.pots] == [(HELD, reasons.CROSSED)] * 2


def test_the_first_pot_can_be_the_one_whose_pump_runs_along():
    made = after_soak(760, {"pm": 825, "crossed": 1})
    assert (made.rig.hold, made.rig.hold_s) == (reasons.STRAYS, made.rig.up_s)
    assert [pot.ladder for pot in made.pots] == [TENDED, TENDED]
    assert made.pots[0].crossed == 0
    # Two pulses in a row lifted it: two of the most that ran along with them.
    assert made.rig.tray_ul == 2 * PULSE_MOST_UL


def test_a_rise_of_the_watered_pot_itself_accuses_no_other():
    made = after_soak(760, {"pm": 800, "crossed": 1})
    assert (made.rig.hold, made.rig.tray_ul, made.pots[0].crossed, made.pots[1].crossed) == (reasons.NONE, 0, 0, 0)


def test_the_tube_counts_as_empty_until_a_pump_has_run_and_after_half_an_hour():
    for pulsed, ago_s, ms in ((0, 0, 6750), (1, dosing.TUBE_DRAINS_S, 6750), (1, dosing.TUBE_DRAINS_S - 1, 6250)):
        made = rig_of({"pm": 600, "pulsed": pulsed})
        made.pots[0].pulse_s = made.rig.up_s - ago_s
        assert decide(made) == [ms]


@pytest.mark.parametrize("rise, kept", [(11, False), (12, True)])
def test_a_plant_that_may_have_hidden_a_rise_clears_its_pot_but_not_the_tray(rise, kept):
    """10 ml should lift half a litre by 20 pm, its plant may drink as much: believed, but what was not seen is no
    credit."""
    one = {
        "pm": 700 + rise,
        "before_pm": 700,
        "start_pm": 700,
        "judge": 1,
        "closing": 1,
        "pulsed": 1,
        "use_ul_mm": 20000,
    }
    one.update({"pulse_ul": 10000, "dose_ul": 10000, "dose_most_ul": 13000, "proof_um": 500, "dose_um": 500})
    made = rig_of(one)
    pot, told = made.pots[0], kit.make_settings(1, {"pot_ml": 1000, "holds_ml": 500, "depletion_pm": 200})
    made.rig.tray_ul = 13000
    pot.pulse_s = made.rig.up_s - told["soak_s"]
    proof.judge(made, 0, told)
    assert (pot.judge, pot.unproven) == (0, 0)
    pot.pulse_s = 0
    closing.close_dose(made, 0, told)
    assert pot.closing == 0
    # All but a small share of it, or no more than the 11 pm of half a litre that were seen, with the spread.
    assert made.rig.tray_ul <= 1500 if kept else made.rig.tray_ul > 5000


@pytest.mark.parametrize("tray_ul", [685201, 717600])
def test_a_trial_beside_a_tended_pot_begins_once_its_half_of_the_tray_takes_all_of_it(tray_ul):
    """Two pulses of 32.4 ml of the 750 that are left for sick pots; one pulse alone may not be seen."""
    made = rig_of({"pm": 700, "ladder": HELD, "reason": reasons.NO_RISE, "unproven": 3}, {})
    made.rig.tray_ul = tray_ul
    assert water.decide(made, kit.make_settings(2), [True, True]) == [0, 0]


def test_a_trial_beside_a_tended_pot_begins_with_room_for_two_pulses():
    made = rig_of({"pm": 700, "ladder": HELD, "reason": reasons.NO_RISE, "unproven": 3}, {})
    made.rig.tray_ul = 685200
    assert water.decide(made, kit.make_settings(2), [True, True]) == [6750, 0]


LAGS_PM, REAL_PM = 713, 739  # what an average makes of a reading of 739 pm after many of 700


def judged_flat(unproven):
    """Pulses without proof after one of 30 ml in a pot whose reading stays what it was, above its average."""
    made = rig_of(
        {
            "pm": LAGS_PM,
            "filtered": 16 * kit.raw_at(LAGS_PM),
            "raw": kit.raw_at(REAL_PM),
            "unproven": unproven,
            "pulse_ul": 40000,
            "before_pm": 760,
        }
    )
    told = kit.make_settings(1, {"pulse_ml": 30})
    assert water.decide(made, told, [True]) == [8000]
    pot = made.pots[0]
    pot.pm = REAL_PM
    made.rig.up_s += dosing.spread_s(told["channels"][0])
    proof.judge(made, 0, told)
    return pot.unproven


def test_an_average_that_catches_up_proves_no_pulse():
    assert judged_flat(0) == 1


def test_an_average_that_catches_up_proves_no_dose_by_itself_either():
    assert judged_flat(1) == 2


def test_a_dose_that_has_not_begun_proves_nothing():
    """Water came in vain three hours ago; the next dose waits for its tray; a warm hour lifts the reading by 12 pm."""
    made = rig_of({"pm": 700, "unproven": 1, "pulse_ul": 60000, "before_pm": 740, "pulsed": 1})
    pot, told = made.pots[0], kit.make_settings(1)
    pot.pulse_s = made.rig.up_s - 10800
    made.rig.tray_ul = 1500000
    assert decide(made) == [0]
    assert (pot.dose_ul, pot.unproven, pot.reason) == (0, 1, reasons.TRAY)
    pot.pm = 712
    proof.late(made.rig, pot, told["channels"][0], told["night_wake_s"])
    assert pot.unproven == 1


def test_a_trial_that_showed_counts_against_no_later_one():
    """Its water arrives; a pot held again the same day, for a dose that no probe could see, may show it at once."""
    made = rig_of(
        {
            "ladder": HELD,
            "reason": reasons.NO_RISE,
            "pm": 640,
            "before_pm": 600,
            "unproven": 3,
            "judge": 1,
            "pulsed": 1,
            "pulse_s": 100000,
            "pulse_ul": 60000,
            "pulse_most_ul": 72000,
            "rationed": 1,
            "ration_s": 100000,
        }
    )
    made.rig.up_s = 100000 + dosing.SPREADS_S
    settings = kit.make_settings(1)
    proof.judge(made, 0, settings)
    pot = made.pots[0]
    assert (pot.ladder, pot.unproven, pot.rationed) == (TENDED, 0, 0)
    pot.ladder, pot.reason, pot.closing = HELD, reasons.NO_RISE, 0
    assert proof.trial_due(made.rig, pot, settings["channels"][0], False)
