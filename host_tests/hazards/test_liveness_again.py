"""L3 to L5, water that comes again or was never to come: each law is shown what breaks it, and what does not."""

import copy

import pytest
from judged import DAY_S, evidence
from potreeve.logic import reasons, signals
from potreeve_tools.mishaps import caps, deaths, liveness
from tampered import HOUR_S, SOUND, kill, kinds, stand, starve


def thirsty(ev, channel):
    """A plant that is a little short of water for as long as it lives: it asks for some, and is in no need yet."""
    starve(ev, channel, 0, ev.end_s, 0.9)


def test_l3_a_hold_outlasts_its_cause():
    ev = evidence("tube_clogged")  # until the 148th hour, twelve days
    thirsty(ev, 2)
    assert liveness.returns(ev) == []
    gone_s = 148 * HOUR_S
    stand(ev, 2, gone_s, gone_s + 3.5 * DAY_S, 2, reasons.NO_RISE, signals.CALL)
    assert liveness.returns(ev) == []
    stand(ev, 2, gone_s, gone_s + 5 * DAY_S, 2, reasons.NO_RISE, signals.CALL)
    (finding,) = liveness.returns(ev)
    assert (finding.law, finding.code, finding.pot) == ("L3", "waits_on", "cherry tomato")
    assert 110 < finding.figures["hours"] < 122


@pytest.mark.parametrize("ks, late", [(1.0, False), (0.999, False), (0.998, True)])
def test_l3_a_hold_on_a_plant_that_lacks_nothing_keeps_no_water_from_it(ks, late):
    ev = evidence("tube_clogged")
    gone_s = 148 * HOUR_S
    starve(ev, 2, gone_s, ev.end_s, ks)
    stand(ev, 2, gone_s, gone_s + 5 * DAY_S, 2, reasons.NO_RISE, signals.CALL)
    assert kinds(liveness.returns(ev)) == [("L3", "waits_on", "cherry tomato")] * late


@pytest.mark.parametrize(
    "thirst, late",
    [
        ([(1, 26)], False),  # a day and the longest sleep are granted
        ([(1, 30)], True),
        ([(1, 15), (16.5, 30)], True),  # an hour in which it drank up a drop is no end of it
        ([(1, 15), (18, 30)], False),
    ],
)
def test_l3_counts_the_time_in_which_the_plant_lacks_water(thirst, late):
    """thirst: in hours after the three days that a hold may take to end."""
    ev = evidence("tube_clogged")
    gone_s = 148 * HOUR_S
    starve(ev, 2, gone_s, ev.end_s, 1.0)
    for from_h, to_h in thirst:
        starve(ev, 2, gone_s + 3 * DAY_S + from_h * HOUR_S, gone_s + 3 * DAY_S + to_h * HOUR_S, 0.9)
    stand(ev, 2, gone_s, ev.end_s, 2, reasons.NO_RISE, signals.CALL)
    assert kinds(liveness.returns(ev)) == [("L3", "waits_on", "cherry tomato")] * late


def test_l3_a_tended_pot_stays_short_after_its_cause_went():
    ev = evidence("tube_clogged")
    from_s = 148 * HOUR_S + 3.2 * DAY_S
    starve(ev, 2, from_s, from_s + 0.8 * DAY_S)
    assert liveness.returns(ev) == []
    starve(ev, 2, from_s, from_s + 1.5 * DAY_S)
    assert kinds(liveness.returns(ev)) == [("L3", "short_on", "cherry tomato")]


def test_l3_waits_for_good_reason_while_the_tray_is_wet_or_the_next_trouble_has_begun():
    gone_s = 148 * HOUR_S
    ev = evidence("tube_clogged")
    thirsty(ev, 2)
    stand(ev, 2, gone_s, 12 * DAY_S, 2, reasons.TOO_WET, signals.CALL)
    assert liveness.returns(ev)
    for sample in ev.samples:
        if sample["t_s"] > gone_s:
            sample["tray_ml"] = 0.5 * sample["tray_capacity_ml"]
    assert liveness.returns(ev) == []
    ev = evidence("tube_clogged")
    thirsty(ev, 2)
    stand(ev, 2, gone_s, 12 * DAY_S, 2, reasons.NO_RISE, signals.CALL)
    assert liveness.returns(ev)
    for sample in ev.samples:
        if sample["t_s"] > gone_s + DAY_S:
            sample["reservoir_usable_ml"] = 0.0
    assert liveness.returns(ev) == []


def test_l3_a_tub_refilled_by_nobodys_mishap_is_a_cause_that_went():
    ev = evidence(SOUND)
    thirsty(ev, 0)
    for sample in ev.samples:
        if 2 * DAY_S < sample["t_s"] < 3 * DAY_S:
            sample["reservoir_usable_ml"] = 0.0
    stand(ev, 0, 2 * DAY_S, 9 * DAY_S, 2, reasons.NO_RISE, signals.CALL)
    assert kinds(liveness.returns(ev)) == [("L3", "waits_on", "mint")]


# ---- L4 -------------------------------------------------------------------------------------


def test_l4_a_healthy_pot_goes_short_beside_a_sick_one():
    ev = evidence("probe_out")  # the tomato's, from the 76th hour to the 220th
    assert liveness.neighbours(ev) == []
    starve(ev, 0, 5 * DAY_S, 5.9 * DAY_S)
    assert liveness.neighbours(ev) == []
    starve(ev, 0, 5 * DAY_S, 6.5 * DAY_S)
    assert kinds(liveness.neighbours(ev)) == [("L4", "short_beside_sick", "mint")]
    ev = evidence("probe_out")
    starve(ev, 2, 5 * DAY_S, 7 * DAY_S)  # the sick one itself is for other laws
    assert liveness.neighbours(ev) == []


def test_l4_a_pot_goes_short_while_the_others_have_their_turns():
    ev = evidence(SOUND)
    starve(ev, 0, 5 * DAY_S, 6.5 * DAY_S)
    assert kinds(liveness.neighbours(ev)) == [("L4", "short_beside_fed", "mint")]
    stand(ev, 0, 5 * DAY_S, 6 * DAY_S, 2, reasons.NO_RISE, signals.CALL)
    assert liveness.neighbours(ev) == []  # its own hold kept it short: that is for L1 and L3
    stand(ev, 0, 5 * DAY_S, 6 * DAY_S)
    assert liveness.neighbours(ev)
    for channel in (1, 2):
        starve(ev, channel, 5 * DAY_S, 6.5 * DAY_S)
    assert liveness.neighbours(ev) == []


def test_l4_a_dead_plant_s_pot_is_no_neighbour_that_has_enough():
    """No board can tell that it is dead; what its dry pot is tried with is nobody's share (caps_insisted, seed 2)."""
    ev = evidence(SOUND)
    starve(ev, 0, 5 * DAY_S, 6.5 * DAY_S)
    for sample in ev.samples:
        if sample["t_s"] > 5.5 * DAY_S:
            for channel in (1, 2):
                sample["pots"][channel]["alive"] = False
    assert liveness.neighbours(ev) == []
    for sample in ev.samples:
        sample["pots"][1]["alive"] = sample["t_s"] < 8 * DAY_S  # it dies only after that
    assert kinds(liveness.neighbours(ev)) == [("L4", "short_beside_fed", "mint")]


# ---- L5 -------------------------------------------------------------------------------------


def meagre(**settings):
    """A sound rig under changed settings whose mint is short of water for the last five days."""
    ev = evidence(SOUND)
    ev.settings = copy.deepcopy(ev.settings)
    ev.settings.update(settings)
    starve(ev, 0, 4 * DAY_S, 9 * DAY_S)
    return ev


def test_l5_caps_that_starve_are_said_or_broken():
    ev = meagre(rig_day_ml=60)
    assert kinds(liveness.enough(ev)) == [("L5", "starving_settings_unsaid", "mint")]
    stand(ev, 0, 4 * DAY_S, 9 * DAY_S, 0, reasons.DRY, signals.CALL)
    assert liveness.enough(ev) == []


def test_l5_settings_that_somebody_insists_on_are_told_of_in_every_record():
    ev = evidence(SOUND)
    ev.settings = {**ev.settings, "insist": True}
    assert "insisting_unsaid" in [one.code for one in liveness.enough(ev)]
    for _, head, _ in ev.rows:
        head["alarm"] = signals.NOTE
    assert liveness.enough(ev) == []


def test_l5_a_pot_that_is_short_within_ample_caps_is_for_other_laws():
    ev = meagre(rig_day_ml=5000)
    for channel in ev.settings["channels"]:
        channel["day_ml"] = 3000
    assert liveness.enough(ev) == [] and not caps.stood_in_the_way(ev, 0, (5 * DAY_S, 6 * DAY_S))


def test_settings_that_somebody_changed_are_not_the_products():
    ev = meagre(rig_day_ml=60)
    assert "short_in_sound_rig" in [one.code for one in liveness.sound_rig(ev)]
    ev.scenario = copy.copy(ev.scenario)
    object.__setattr__(ev.scenario, "settings", {"rig_day_ml": 60})
    assert liveness.sound_rig(ev) == []
    kill(ev, 0, 8 * DAY_S)
    assert liveness.sound_rig(ev) == [] and deaths.find(ev)[0].cause == "settings"
