"""The button as app.py sees it: presses, bounces, a contact that sticks."""

import kit
import pytest
from fake_rig import FakeRig, records
from potreeve import app
from potreeve.logic import debounce, reasons, timekeep
from ticks import PERIOD as TICKS


def press(rig, *spans):
    """Close the contact during (from_ms, to_ms) spans, counted from now."""
    start_ms = rig.now_ms

    def level(now_ms):
        at = (now_ms - start_ms) % TICKS
        return int(any(low <= at < high for low, high in spans))

    rig.level = level


def seen(*spans):
    rig = FakeRig(1, kit.make_data(1))
    rig.keep_state(kit.make_state(1))
    session = app.Session(rig)
    press(rig, *spans)
    return session._button(), rig


def test_no_press():
    assert seen()[0] == debounce.NONE


def test_a_short_press_and_a_long_one():
    assert seen((0, 300))[0] == debounce.SHORT
    assert seen((0, 2600))[0] == debounce.LONG


@pytest.mark.parametrize("pressed_ms", [100, 500, 1000, 1500, 1790, 1850, 1990])
def test_up_to_two_seconds_a_press_is_short(pressed_ms):
    assert seen((0, pressed_ms))[0] == debounce.SHORT


def test_a_press_that_bounces_at_first_is_not_lost():
    # Open again at the very second sample, as a contact of 11.3 ms of bounce may be.
    assert seen((0, 5), (12, 400))[0] == debounce.SHORT


def test_a_press_that_bounces_at_its_end_is_one_press():
    assert seen((0, 400), (450, 470), (520, 557))[0] == debounce.SHORT


def test_one_long_press_is_one_event_even_when_it_goes_on():
    """Held for four seconds, it must not hold the rig and let it go again."""
    rig = FakeRig(1, kit.make_data(1))
    rig.keep_state(kit.make_state(1))
    session = app.Session(rig)
    press(rig, (0, 4000))
    session.wake()
    # Where the button is still down the sleep ends at once.
    session.wake()
    session.wake()
    assert session.state.rig.hold == reasons.OWNER


def test_a_contact_that_sticks_says_nothing():
    """Water on the electronics must not count as a person who emptied the tray."""
    rig = FakeRig(1, kit.make_data(1))
    state = kit.make_state(1)
    state.rig.tray_ul = 900000
    rig.keep_state(state)
    session = app.Session(rig)
    rig.level = lambda now_ms: 1
    for _ in range(4):
        session.wake()
    assert session.state.rig.hold == reasons.NONE
    assert session.state.rig.tray_ul >= 890000


def test_the_watch_ends_well_before_the_watchdog():
    event, rig = seen((0, 60000))
    assert event == debounce.NONE
    assert app.BUTTON_MS + 500 < rig.board["wdt_max_ms"]


def test_a_press_releases_a_held_pot_and_a_long_one_holds_the_rig():
    rig = FakeRig(1, kit.make_data(1))
    state = kit.make_state(1)
    state.pots[0].ladder = 2
    state.pots[0].reason = reasons.NO_RISE
    rig.keep_state(state)
    session = app.Session(rig)
    press(rig, (0, 300))
    session.wake()
    assert session.state.pots[0].ladder == 0
    press(rig, (0, 2600))
    session.wake()
    assert session.state.rig.hold == reasons.OWNER


def slept(rig, pressed_ms):
    """What rig.power.sleep says of a press in it, or before it."""
    rig.power.sleep = lambda seconds: (rig.pass_ms(1000 * seconds), pressed_ms)


@pytest.mark.parametrize(
    "pressed_ms, told",
    [(0, debounce.NONE), (1, debounce.NONE), (29, debounce.NONE), (100, debounce.SHORT), (2500, debounce.LONG)],
)
def test_a_tap_that_was_over_before_the_wake_reaches_the_record(pressed_ms, told):
    """Eight taps of 100 ms woke the board eight times, and four were recorded."""
    rig = FakeRig(1, kit.make_data(1))
    rig.keep_state(kit.make_state(1))
    session = app.Session(rig)
    slept(rig, pressed_ms)
    for _ in range(8):
        session.wake()
        session.sleep(60)
    session.wake()
    assert [head["button"] for head, _ in records(rig)] == [debounce.NONE] + 8 * [told]


def test_a_press_that_is_still_down_is_watched_and_told_once():
    rig = FakeRig(1, kit.make_data(1))
    rig.keep_state(kit.make_state(1))
    session = app.Session(rig)
    session.wake()
    slept(rig, 200)
    session.sleep(60)
    press(rig, (0, 2600))
    session.wake()
    slept(rig, 0)
    session.sleep(60)
    session.wake()
    assert [head["button"] for head, _ in records(rig)] == [debounce.NONE, debounce.LONG, debounce.NONE]


def test_a_tap_that_woke_a_board_which_forgets_reaches_its_first_record():
    rig = FakeRig(1, kit.make_data(1), keeps_ram=0, cause=timekeep.BUTTON)
    rig.power.pressed_ms = debounce.PRESS_MS
    rig.keep_state(kit.make_state(1))
    app.Session(rig).wake()
    assert [head["button"] for head, _ in records(rig)] == [debounce.SHORT]


@pytest.mark.parametrize("left_ms, told", [(0, debounce.SHORT), (300, debounce.SHORT), (1300, debounce.LONG)])
def test_a_press_that_woke_a_board_counts_from_then_on(left_ms, told):
    """A start takes a second: held for 2.3 s it is a long press, though only 1.3 s of it are watched."""
    rig = FakeRig(1, kit.make_data(1), keeps_ram=0, cause=timekeep.BUTTON)
    rig.now_ms = 1000
    rig.power.pressed_ms = debounce.PRESS_MS
    rig.keep_state(kit.make_state(1))
    session = app.Session(rig)
    press(rig, (0, left_ms))
    session.wake()
    assert [head["button"] for head, _ in records(rig)] == [told]
