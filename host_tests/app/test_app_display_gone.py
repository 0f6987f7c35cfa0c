"""A display that fails, or is not there, changes nothing; its charge is in the books; and what it may delay."""

import pytest
from display_kit import UA, at, presses, standing, turning
from fake_rig import records, wake
from potreeve import app, owed
from potreeve.logic import debounce, errors, state
from rig import Part
from ticks import PERIOD as TICKS


def without(held):
    """What the same press comes to on a board without a display: its pots' rungs, and the pulses."""
    rig = standing(held=held, pms=[500, 960], wired=False)
    presses(rig, (0, 300))
    session, _ = wake(rig)
    return [pot.ladder for pot in session.state.pots], rig.pulses()


@pytest.mark.parametrize("keeps_ram", [0, 1])
@pytest.mark.parametrize("held", [False, True])
@pytest.mark.parametrize("strokes", [0, 1, 7, 60])
def test_gone_in_mid_write_of_its_first_page_a_press_counts_as_without(strokes, held, keeps_ram):
    rig = standing(strokes=strokes, held=held, keeps_ram=keeps_ram, pms=[500, 960])
    presses(rig, (0, 300))
    session, seconds = wake(rig)
    session.sleep(seconds)
    assert not [event for event in rig.events if event[0] == "sleep"]
    shown = len([event for event in rig.events if event[0] == "show"])
    session.wake()
    # Not tried again for the same press: a display that fails must not keep the board awake.
    assert len([event for event in rig.events if event[0] == "show"]) == shown == 1
    rungs, pulses = without(held)
    assert [pot.ladder for pot in session.state.pots] == rungs
    assert [(channel, ms) for _, channel, ms, _ in rig.pulses()] == [(channel, ms) for _, channel, ms, _ in pulses]
    assert [head["button"] for head, _ in records(rig)] == [debounce.NONE, debounce.SHORT]
    assert records(rig)[1][0]["errors"] & errors.PANEL
    session.sleep(1800)
    assert [event for event in rig.events if event[0] == "sleep"]


def test_gone_at_a_later_page_nothing_more_is_said_for_the_person():
    # The first page is whole, the second is not.
    rig = standing(held=True, strokes=150)
    session = app.Session(rig)
    turning(rig, session, 3)
    assert rig.display.pages and session.told == debounce.NONE
    assert session.state.pots[0].ladder == state.HELD


@pytest.mark.parametrize("held", [False, True])
def test_one_that_does_not_answer_changes_nothing_but_an_error_bit(held):
    rig = standing(answers=False, held=held, pms=[500, 960])
    presses(rig, (0, 300))
    session, seconds = wake(rig)
    rungs, pulses = without(held)
    assert [pot.ladder for pot in session.state.pots] == rungs and rig.pulses() == pulses
    head, _ = records(rig)[-1]
    assert head["button"] == debounce.SHORT and head["errors"] == errors.PANEL
    assert seconds == session.state.rig.planned_s


def test_one_that_hangs_until_the_power_goes_costs_no_water():
    rig = standing(pms=[500, 960])

    def hangs(strokes):
        raise SystemExit

    rig.display.show = hangs
    presses(rig, (0, 300))
    session = app.Session(rig)
    with pytest.raises(SystemExit):
        session.wake()
    # The pulse ran, is closed on flash, and its record is there.
    assert rig.pulses() and rig.open_intent() == [0, 0] and len(records(rig)) == 1


@pytest.mark.parametrize("keeps_ram", [0, 1])
def test_its_charge_is_in_the_next_record_and_only_once(keeps_ram):
    rig = standing(keeps_ram=keeps_ram)
    session = app.Session(rig)
    began_ms = rig.now_ms
    turning(rig, session, 3)
    lit_ms = (rig.now_ms - began_ms) % TICKS
    rig.level = lambda now_ms: 0
    spent = owed.take(rig.store)[0]
    owed.add(rig.store, spent)
    energy = rig.board["energy"]
    share = UA / (energy["active_ua"] + energy["probe_ua"])
    assert lit_ms * (1 + share) - 9000 < spent < lit_ms * (1 + share) + 20
    session.sleep(1800)
    session.wake()
    session.sleep(1800)
    session.wake()
    told = [head["awake_ms"] for head, _ in records(rig)]
    assert told[1] >= spent > 30_000 and told[2] < 10_000


def test_more_than_a_record_can_hold_waits_for_the_next():
    rig = standing()
    owed.add(rig.store, 130_000)
    owed.add(rig.store, 1_000, 2)
    assert [owed.take(rig.store) for _ in range(4)] == [(50_000, 2), (50_000, 0), (31_000, 0), (0, 0)]


def test_a_board_that_forgets_lets_go_of_what_decided_and_loads_it_anew():
    rig = standing(keeps_ram=0, held=True)
    forgotten = []
    rig.forget = lambda package, name: forgotten.append((package, name))
    session = app.Session(rig)
    seconds = turning(rig, session, 6)
    assert ("potreeve.logic", "cycle") in forgotten and ("potreeve.logic", "face") in forgotten
    session.sleep(seconds)
    rig.level = lambda now_ms: 0
    # As a board does that has let go of its sensors.
    rig.air, rig.lx = None, -1
    session.wake()
    assert session.state.pots[0].ladder == state.TENDED
    assert records(rig)[-1][0]["errors"] == errors.CLIMATE | errors.LIGHT
    assert rig.display.pages[-1][0] == "All is well"


def test_the_next_wake_is_not_late_however_short_the_sleep():
    rig = standing(pms=[500, 960])
    session = app.Session(rig)
    rig.settings = None
    presses(rig, (0, 300), *[(8000 + 1500 * turn, 8200 + 1500 * turn) for turn in range(1000)])
    session.settings["soak_s"] = 60
    pulsed_ms = rig.now_ms
    seconds = session.wake()
    assert rig.pulses()
    assert seconds >= 0 and (rig.now_ms - pulsed_ms) % TICKS < 70_000


def test_a_report_goes_out_after_it():
    rig = standing()
    rig.radio = Part(reach=lambda: True, report=rig.report, leave=lambda: 0, wifi=rig.wifi)
    presses(rig, (0, 300))
    wake(rig)
    show, dark, report = at(rig, "show", "dark", "report")
    assert show < dark < report
