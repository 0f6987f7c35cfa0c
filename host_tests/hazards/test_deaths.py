"""Why a plant died, whether that was called for, and spans of time."""

import copy

import pytest
from judged import DAY_S, evidence
from potreeve.logic import reasons, signals
from potreeve_tools.mishaps import deaths, fate, troubles, wording
from potreeve_tools.mishaps.evidence import DROWNED, joined, overlap_s, spells, without
from tampered import HOUR_S, SOUND, dying, kill, stand


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


@pytest.mark.parametrize(
    ("kind", "by_itself", "cause"),
    [
        ("watering_can", False, "drowned by people"),
        ("tray_poured", False, "drowned by people"),
        ("adc_drift", False, "probe"),
        ("daylight_saving", False, "no mishap"),
        ("tray_weeping", False, "drowned by doses"),
        ("siphon", True, "water that ran by itself"),
        ("watering_can", True, "water that ran by itself"),
    ],
)
def test_who_drowned_it(monkeypatch, kind, by_itself, cause):
    ev = dying()
    monkeypatch.setattr(ev.world.channels[2].pot.plant, "reason", DROWNED)
    ev.mishaps = [copy.copy(ev.mishaps[0])]
    ev.mishaps[0].kind = kind
    ev.tubes = [(4 * DAY_S, 0, 0, 90.0, "siphon")] if by_itself else []
    assert deaths.find(ev)[0].cause == cause and cause in deaths.CAUSES
    assert (cause in deaths.OURS) is (cause in ("no mishap", "drowned by doses"))


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
    assert troubles.sound_until_s(evidence("probe_out")) == 76 * HOUR_S


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


@pytest.mark.parametrize("swapped_d, died", [(11, None), (12, 11)])
def test_a_dead_plant_that_changes_places_does_not_die_again(swapped_d, died):
    """Found by a drawn rig: its tomato had died, and nine days later somebody put it where the mint was."""
    ev = evidence("probe_out")
    kill(ev, 2, 10 * DAY_S)
    kill(ev, 0, 11 * DAY_S)
    ev.mishaps = [copy.copy(ev.mishaps[0])]
    ev.mishaps[0].kind, ev.mishaps[0].channel, ev.mishaps[0].params = "swapped", 0, {"other": 2}
    ev.mishaps[0].start_s = swapped_d * DAY_S - 60
    found = [ev.died_s(channel) for channel in (0, 2)]
    assert [died_s and int(died_s // DAY_S) for died_s in found] == [died, 10]
