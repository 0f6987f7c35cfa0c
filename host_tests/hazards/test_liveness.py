"""L1 to L5: each law is shown what breaks it, and what does not."""

import copy

import pytest
from judged import DAY_S, evidence
from potreeve.logic import reasons, signals
from potreeve_tools.mishaps import calls, caps, deaths, fate, liveness, troubles, wording
from potreeve_tools.mishaps.evidence import joined, overlap_s, spells, without

SOUND = "daylight_saving"  # nine days in which nothing that matters goes wrong
HOUR_S = 3600


def kill(ev, channel, at_s):
    for sample in ev.samples:
        if sample["t_s"] >= at_s:
            sample["pots"][channel].update(alive=False, stress=0.0)


def starve(ev, channel, from_s, to_s, ks=0.3):
    for sample in ev.samples:
        if from_s <= sample["t_s"] < to_s:
            sample["pots"][channel]["stress"] = ks


def stand(ev, channel, from_s, to_s, ladder=0, reason=0, alarm=signals.CALM):
    for t_s, head, pots in ev.rows:
        if from_s <= t_s < to_s:
            pots[channel].update(ladder=ladder, reason=reason)
            head["alarm"] = alarm


def kinds(findings):
    return [(finding.law, finding.code, finding.pot) for finding in findings]


# ---- L1 -------------------------------------------------------------------------------------


def test_l1_a_sound_rig_in_which_nothing_is_wrong():
    assert liveness.judge(evidence(SOUND)) == []


def test_l1_a_plant_dies_in_a_sound_rig():
    ev = evidence(SOUND)
    kill(ev, 1, 7 * DAY_S)
    assert ("L1", "died_in_sound_rig", "strawberry") in kinds(liveness.judge(ev))
    (death,) = deaths.find(ev)
    assert (death.pot, death.cause, death.announced) == ("strawberry", "no mishap", False)


@pytest.mark.parametrize("ladder", [1, 2])
def test_l1_a_pot_waits_for_longer_than_a_day(ladder):
    ev = evidence(SOUND)
    stand(ev, 0, 4 * DAY_S, 4.9 * DAY_S, ladder, reasons.NO_RISE, signals.CALL)
    assert liveness.sound_rig(ev) == []
    stand(ev, 0, 4 * DAY_S, 5.3 * DAY_S, ladder, reasons.NO_RISE, signals.CALL)
    (finding,) = liveness.sound_rig(ev)
    assert finding.code == "waits_in_sound_rig" and 30 < finding.figures["hours"] < 33
    assert "doses without a rise" in wording.say(finding)


def test_l1_a_pot_goes_short():
    ev = evidence(SOUND)
    starve(ev, 2, 0, 1.5 * DAY_S)  # it was set up dry
    starve(ev, 2, 5 * DAY_S, 5 * DAY_S + 8 * HOUR_S)
    assert liveness.sound_rig(ev) == []
    starve(ev, 2, 5 * DAY_S, 5 * DAY_S + 15 * HOUR_S)
    assert kinds(liveness.sound_rig(ev)) == [("L1", "short_in_sound_rig", "cherry tomato")]


def test_l1_leaves_a_shortage_under_settings_that_somebody_insisted_on_to_l5():
    ev = evidence(SOUND)
    ev.settings = copy.deepcopy(ev.settings)
    ev.settings["rig_day_ml"] = 60
    starve(ev, 2, 5 * DAY_S, 9 * DAY_S)
    assert kinds(liveness.sound_rig(ev)) == [("L1", "short_in_sound_rig", "cherry tomato")]
    ev.settings["insist"] = True
    assert liveness.sound_rig(ev) == []
    assert ("L5", "starving_settings_unsaid", "cherry tomato") in kinds(liveness.judge(ev))


def test_l1_ends_where_the_first_mishap_the_empty_tub_or_the_flat_battery_begins():
    ev = evidence("probe_out")  # from the 76th hour
    kill(ev, 0, 80 * HOUR_S)
    assert liveness.sound_rig(ev) == []
    kill(ev, 0, 70 * HOUR_S)
    assert kinds(liveness.sound_rig(ev)) == [("L1", "died_in_sound_rig", "mint")]
    for change in ({"reservoir_usable_ml": 0.0}, {"battery_soc": 0.05}):
        ev = evidence(SOUND)
        kill(ev, 0, 7 * DAY_S)
        assert liveness.sound_rig(ev)
        for sample in ev.samples:
            if sample["t_s"] > 6 * DAY_S:
                sample.update(change)
        assert liveness.sound_rig(ev) == []


def test_l1_no_plant_is_dead_anyway():
    """The same rig without the mishap, by the product's own settings, loses it too: that is no excuse but a fault."""
    ev = evidence("probe_out")
    kill(ev, 2, 10 * DAY_S)
    told, found = fate.plants(ev, deaths.find(ev))
    assert told["cherry tomato"] == "dead" and [one.code for one in found] == ["died"]
    assert kinds(liveness.sound_rig(ev, {2: 6 * DAY_S})) == [("L1", "died_without_mishap", "cherry tomato")]
    baseline = evidence(SOUND)
    kill(baseline, 2, 6 * DAY_S)
    assert list(deaths.of_baseline(baseline)) == [2]


# ---- L2 -------------------------------------------------------------------------------------


def dying(**call):
    """A tomato that dies on the eleventh day, after a call as given."""
    ev = evidence("probe_out")
    for _, head, pots in ev.rows:
        head["alarm"] = signals.CALM
        for pot in pots:
            pot.update(ladder=0, reason=0)
    kill(ev, 2, 10 * DAY_S)
    if call:
        stand(ev, **{"channel": 2, "alarm": signals.CALL, "reason": reasons.DRY, **call})
    return ev


def test_l2_nothing_is_called():
    assert kinds(liveness.announced(dying())) == [("L2", "died_unannounced", "cherry tomato")]
    assert "it never called" in wording.say(liveness.announced(dying())[0])


@pytest.mark.parametrize(
    "call",
    [
        {"from_s": 6.8 * DAY_S, "to_s": 13 * DAY_S},
        {"from_s": 6.8 * DAY_S, "to_s": 13 * DAY_S, "reason": reasons.NO_RISE, "ladder": 2},
        {"from_s": 6.8 * DAY_S, "to_s": 13 * DAY_S, "reason": reasons.OUT_OF_SOIL, "ladder": 1},
        {"from_s": 6.8 * DAY_S, "to_s": 9.3 * DAY_S},
    ],
)
def test_l2_a_call_that_counts(call):
    ev = dying(**call)
    assert liveness.announced(ev) == []
    (death,) = deaths.find(ev)
    assert death.announced and abs(death.called_s - 6.8 * DAY_S) < 2 * HOUR_S


@pytest.mark.parametrize(
    "call",
    [
        {"from_s": 7.2 * DAY_S, "to_s": 13 * DAY_S},  # too late
        {"from_s": 6.8 * DAY_S, "to_s": 6.8 * DAY_S + 3 * HOUR_S},  # a flash
        {"from_s": 4 * DAY_S, "to_s": 8.8 * DAY_S},  # over more than a day before
        {"from_s": 6 * DAY_S, "to_s": 13 * DAY_S, "alarm": signals.NOTE},
        {"from_s": 6 * DAY_S, "to_s": 13 * DAY_S, "reason": reasons.RIG_DAY},
        {"from_s": 6 * DAY_S, "to_s": 13 * DAY_S, "channel": 0},  # names another pot
    ],
)
def test_l2_a_call_that_does_not_count(call):
    assert [one.code for one in liveness.announced(dying(**call))] == ["died_unannounced"]


def test_l2_the_whole_rig_calls():
    ev = dying()
    for t_s, head, _ in ev.rows:
        if t_s > 6.5 * DAY_S:
            head.update(alarm=signals.CALL, hold=reasons.REBOOTS)
    assert liveness.announced(ev) == []


@pytest.mark.parametrize("days_left, announced", [(5, True), (30, False)])
def test_l2_a_board_without_power_calls_only_if_its_battery_was_called_for(days_left, announced):
    ev = dying()
    ev.rows = [row for row in ev.rows if row[0] < 6.5 * DAY_S]
    ev.row_s = [row[0] for row in ev.rows]
    ev.panels = [one for one in ev.panels if one[0] < 6.5 * DAY_S]
    ev.session = copy.copy(ev.session)
    ev.session.dead_s = [6.5 * DAY_S + HOUR_S * n for n in range(100)]
    for t_s, head, _ in ev.rows:
        if t_s > 6 * DAY_S:
            head.update(alarm=signals.CALL if days_left <= 7 else signals.CALM, days_left=days_left)
    assert (liveness.announced(ev) == []) == announced
    (death,) = deaths.find(ev)
    assert death.announced == announced


@pytest.mark.parametrize("stood_h, announced", [(80, True), (60, False)])
def test_l2_power_that_goes_takes_no_call_back_that_stood_for_three_days(stood_h, announced):
    ev = dying()
    dark_s = 7.5 * DAY_S
    ev.rows = [row for row in ev.rows if row[0] < dark_s]
    ev.row_s = [row[0] for row in ev.rows]
    ev.panels = [one for one in ev.panels if one[0] < dark_s]
    ev.session = copy.copy(ev.session)
    ev.session.dead_s = [dark_s + HOUR_S * n for n in range(100)]
    stand(ev, 2, dark_s - stood_h * HOUR_S, dark_s, ladder=2, reason=reasons.NO_RISE, alarm=signals.CALL)
    assert (liveness.announced(ev) == []) == announced


def test_l2_a_board_that_keeps_no_record_calls_by_its_panel():
    ev = dying()
    ev.rows = [row for row in ev.rows if row[0] < 6 * DAY_S]
    ev.row_s = [row[0] for row in ev.rows]
    ev.panels = [(t_s, calls.WARNED if t_s >= 6 * DAY_S else shown) for t_s, shown in ev.panels]
    assert liveness.announced(ev) == []
    ev.panels = [(t_s, calls.WARNED | calls.OK_LIT if t_s >= 6 * DAY_S else shown) for t_s, shown in ev.panels]
    assert liveness.announced(ev) != []


def test_l2_what_strikes_down_at_once_needs_a_call_before_the_end():
    ev = dying(from_s=9 * DAY_S, to_s=13 * DAY_S)
    assert liveness.announced(ev)
    ev.mishaps = [copy.copy(ev.mishaps[0])]
    ev.mishaps[0].kind, ev.mishaps[0].start_s = "tipped_over", 8 * DAY_S
    assert liveness.announced(ev) == []
    ev.mishaps[0].start_s = 4 * DAY_S
    assert liveness.announced(ev)


def test_l2_a_plant_set_up_as_good_as_lost_needs_a_call_before_the_end():
    ev = evidence(SOUND)
    kill(ev, 0, 4 * DAY_S)
    assert liveness.announced(ev)
    stand(ev, 0, 3 * DAY_S, 4 * DAY_S, 2, reasons.NO_RISE, signals.CALL)
    assert liveness.announced(ev) == []


# ---- L3 -------------------------------------------------------------------------------------


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


# ---- deaths, calls, spans -------------------------------------------------------------------


@pytest.mark.parametrize(
    "kind, cause",
    [
        ("tube_clogged", "tube or pump"),
        ("pump_wearing", "tube or pump"),
        ("probe_coating", "probe"),
        ("pot_removed", "pot moved or changed"),
        ("flash_worn", "electronics or storage"),
    ],
)
def test_each_death_has_one_cause(kind, cause):
    ev = dying()
    ev.mishaps = [copy.copy(ev.mishaps[0])]
    ev.mishaps[0].kind = kind
    assert deaths.find(ev)[0].cause == cause and cause in deaths.CAUSES


def test_a_flat_battery_an_empty_tub_and_a_pot_that_waited():
    for change, cause in (({"battery_soc": 0.02}, "flat battery"), ({"reservoir_usable_ml": 0.0}, "empty tub")):
        ev = dying()
        for sample in ev.samples:
            if sample["t_s"] > 4 * DAY_S:
                sample.update(change)
        assert deaths.find(ev)[0].cause == cause
    ev = evidence("tube_clogged")
    kill(ev, 2, 11.5 * DAY_S)
    for fault in ev.mishaps:
        assert fault.end_s == 148 * HOUR_S
    stand(ev, 2, 100 * HOUR_S, 12 * DAY_S, 2, reasons.NO_RISE, signals.CALL)
    ev.mishaps = [copy.copy(ev.mishaps[0])]
    ev.mishaps[0].end_s = 100 * HOUR_S
    assert deaths.find(ev)[0].cause == "waited for hands"


def test_a_decline_that_began_before_the_mishap_is_not_put_down_to_it():
    ev = evidence("probe_out")
    stand(ev, 2, 2 * DAY_S, 13 * DAY_S, 2, reasons.NO_RISE, signals.CALL)
    kill(ev, 2, 10 * DAY_S)
    assert deaths.find(ev)[0].cause == "no mishap"


def test_a_scenario_may_ask_for_a_call_within_hours():
    ev = evidence("probe_out")
    ev.scenario = copy.copy(ev.scenario)
    object.__setattr__(ev.scenario, "expects", {**ev.scenario.expects, "called_h": 48.0})
    assert fate.called(ev) == []
    for _, head, _ in ev.rows:
        head["alarm"] = signals.CALM
    assert [one.code for one in fate.called(ev)] == ["called_late"]


def test_troubles_are_what_matters_to_a_plant():
    assert troubles.begin_s(evidence("probe_out")) == 76 * HOUR_S
    assert troubles.begin_s(evidence(SOUND)) == float("inf")


@pytest.mark.parametrize("short_ml, empty", [(0.1, True), (0.0, False)])
def test_a_tub_is_empty_where_no_pump_reaches_water_worth_a_pulse(short_ml, empty):
    ev = evidence(SOUND)
    least_ml = min(channel["pulse_ml"] for channel in ev.settings["channels"])
    for sample in ev.samples:
        sample["reservoir_usable_ml"] = least_ml - short_ml if sample["t_s"] > 6 * DAY_S else 500.0
    found = troubles.empty_tub(ev)
    assert [trouble.kind for trouble in found] == ["empty tub"] * empty
    assert (troubles.sound_until_s(ev) < 6.2 * DAY_S) is empty


@pytest.mark.parametrize("over_mv, weak", [(149.0, True), (151.0, False)])
def test_a_battery_is_no_sound_one_once_a_starting_pump_pulls_it_near_the_stop(over_mv, weak):
    """Three small alkaline cells stop a strong pump at half of their charge; that is for W6, and for whoever changes
    them."""
    ev = evidence(SOUND)
    for sample in ev.samples:
        assert sample["pump_start_mv"] < sample["battery_mv"]
        if sample["t_s"] > 6 * DAY_S:
            sample["pump_start_mv"] = ev.settings["battery_stop_mv"] + over_mv
    assert [trouble.kind for trouble in troubles.flat_battery(ev)] == ["flat battery"] * weak


def test_every_code_has_a_sentence_of_its_own():
    assert len(set(wording.SENTENCES.values())) == len(wording.SENTENCES)


def test_spans_of_time():
    assert spells([0, 1, 2, 3], [0, 1, 1, 0], 9) == [(1, 3)]
    assert spells([0, 1, 2], [1, 0, 1], 9) == [(0, 1), (2, 9)]
    assert joined([(5, 6), (0, 2), (2, 3)]) == [(0, 3), (5, 6)]
    assert joined([(0, 1), (3, 4)], 2) == [(0, 4)]
    assert without((0, 10), [(2, 3), (5, 12)]) == [(0, 2), (3, 5)]
    assert without((0, 10), [(-5, 1), (20, 30)]) == [(1, 10)]
    assert without((0, 10), [(-5, 30)]) == []
    assert overlap_s((0, 10), [(-5, 2), (8, 9)]) == 3
