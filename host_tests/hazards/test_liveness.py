"""L1 and L2: each is shown what breaks it, and what does not."""

import copy
from types import SimpleNamespace

import pytest
from judged import DAY_S, evidence
from potreeve.logic import reasons, signals
from potreeve_tools.mishaps import calls, deaths, fate, liveness, wording
from potreeve_tools.mishaps.evidence import DROWNED
from tampered import HOUR_S, SOUND, dying, kill, kinds, stand, starve

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


def silent(until_s, **battery):
    """A plant that dies, of a board that does not wake after until_s, where a battery is emptied in an instant."""
    ev = dying()
    ev.session = copy.copy(ev.session)
    ev.rows = [row for row in ev.rows if row[0] <= until_s]
    ev.row_s = [row[0] for row in ev.rows]
    ev.panels = [panel for panel in ev.panels if panel[0] <= until_s]
    battery = {"kind": "battery_low", **battery}
    taken = SimpleNamespace(channel=-1, end_s=20 * DAY_S, params={}, bit=0, **battery)
    ev.mishaps = [*ev.mishaps, taken]
    return ev


def test_l2_a_board_that_is_struck_dumb_can_call_nobody():
    ev = silent(3 * DAY_S, start_s=3 * DAY_S + HOUR_S)
    assert liveness.announced(ev) == []
    (death,) = deaths.find(ev)
    assert death.cause == deaths.DUMB and not death.announced


@pytest.mark.parametrize(
    "until_d, start_d, kind",
    [
        (3, 2, "battery_low"),
        (9.99, 3, "battery_low"),
        (3, 3.1, "battery_old"),
        (3, 3.1, "battery_sagging"),
        (3, 3.1, "battery_cold"),
    ],
)
def test_l2_a_board_that_woke_after_the_stroke_or_grew_weak_has_to_call(until_d, start_d, kind):
    ev = silent(until_d * DAY_S, start_s=start_d * DAY_S, kind=kind)
    assert [one.code for one in liveness.announced(ev)] == ["died_unannounced"]
    assert deaths.find(ev)[0].cause != deaths.DUMB


@pytest.mark.parametrize("kind", ["battery_sagging", "battery_cold"])
def test_l2_a_board_that_never_starts_again_can_call_nobody(kind):
    """Fifty times the resistance (swarm 86416), or 60 degrees colder (swarm 91201): without power at every start. One
    that starts once more has to call."""
    ev = silent(3 * DAY_S, start_s=3 * DAY_S + HOUR_S, kind=kind)
    ev.session.dead_s = [3 * DAY_S + 2 * HOUR_S]
    assert liveness.announced(ev) == [] and deaths.find(ev)[0].cause == deaths.DUMB
    ev = silent(3 * DAY_S + 5 * HOUR_S, start_s=3 * DAY_S + HOUR_S, kind=kind)
    ev.session.dead_s = [3 * DAY_S + 2 * HOUR_S]
    assert [one.code for one in liveness.announced(ev)] == ["died_unannounced"]
    ev = silent(3 * DAY_S, start_s=3 * DAY_S + HOUR_S, kind=kind)
    ev.session.dead_s = [3 * DAY_S + 5 * HOUR_S]
    assert [one.code for one in liveness.announced(ev)] == ["died_unannounced"]


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


def test_l2_water_that_ran_by_itself_drowns_every_pot_in_the_tray_within_days(monkeypatch):
    """Swarm 90316 and 90387: 76 hours after a neighbour's tube began to siphon."""
    ev = dying(from_s=9 * DAY_S, to_s=13 * DAY_S)
    ev.tubes = [(7 * DAY_S, 0, 0, 900.0, "siphon"), (9 * DAY_S, 0, 0, 50.0, "siphon")]
    assert liveness.announced(ev)  # it dried out
    monkeypatch.setattr(ev.world.channels[2].pot.plant, "reason", DROWNED)
    assert liveness.announced(ev) == []
    ev.tubes = [(4 * DAY_S, 0, 0, 900.0, "siphon"), *ev.tubes]
    assert liveness.announced(ev)  # there was time enough to call
    ev.tubes = [(7 * DAY_S, 0, 0, 900.0, "pulse")]
    assert liveness.announced(ev)


def test_l2_a_plant_set_up_as_good_as_lost_needs_a_call_before_the_end():
    ev = evidence(SOUND)
    kill(ev, 0, 4 * DAY_S)
    assert liveness.announced(ev)
    stand(ev, 0, 3 * DAY_S, 4 * DAY_S, 2, reasons.NO_RISE, signals.CALL)
    assert liveness.announced(ev) == []
