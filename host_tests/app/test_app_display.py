"""A display beside the wake cycle: lit by a press, after the water and the record; what presses say then."""

from display_kit import at, presses, standing, turning
from fake_rig import records, wake
from potreeve import app
from potreeve.logic import debounce, face, reasons, state
from ticks import PERIOD as TICKS


def test_without_a_press_it_stays_dark_and_is_not_even_asked():
    rig = standing()
    wake(rig)
    assert not rig.display.pages and not [event for event in rig.events if event[0] in ("asked", "show", "dark")]


def test_a_press_lights_it_after_water_and_record():
    rig = standing(pms=[500, 960])
    presses(rig, (0, 300))
    wake(rig)
    assert rig.display.pages[0][0] == "All is well" and not rig.display.lit
    assert rig.pulses()
    pulse, show, dark = at(rig, "pulse", "show", "dark")
    assert pulse < show < dark
    # The record was on flash before a dot was lit.
    written = [index for index, event in enumerate(rig.events) if event[:2] == ("append", "log.1")]
    assert all(index < show for index in written) and len(records(rig)) == 1


def test_dark_again_after_half_a_minute_and_fed_meanwhile():
    rig = standing()
    presses(rig, (0, 300))
    began_ms = rig.now_ms
    session, sleep_s = wake(rig)
    lit_ms = (rig.now_ms - began_ms) % TICKS
    assert face.LIT_MS <= lit_ms < face.LIT_MS + 2000
    assert rig.feeds_between("show", "dark") > lit_ms // 100
    # The next wake comes when it would have come without.
    assert sleep_s + face.LIT_MS // 1000 == session.state.rig.planned_s


def test_the_press_that_lights_it_does_not_say_seen():
    rig = standing(held=True)
    presses(rig, (0, 300))
    session, _ = wake(rig)
    assert session.state.pots[0].ladder == state.HELD
    assert records(rig)[-1][0]["button"] == debounce.NONE
    assert rig.display.pages[0][0] == "Look today: 1"


def test_presses_turn_the_pages_and_round_again():
    rig = standing()
    session = app.Session(rig)
    turning(rig, session, 4)
    assert [page[0] for page in rig.display.pages] == ["All is well", "pot 0", "pot 1", "windowsill", "All is well"]
    assert session.told == debounce.NONE and records(rig)[-1][0]["button"] == debounce.NONE
    assert len(records(rig)) == 1


def test_on_the_last_page_a_press_says_seen_once_and_shows_what_came_of_it():
    rig = standing(held=True)
    session = app.Session(rig)
    # Sill, what is wrong, two pots, stores, seen to it?
    seconds = turning(rig, session, 6)
    assert rig.display.pages[-1][0] == "Seen to it?"
    assert session.told == debounce.SHORT and session.state.pots[0].ladder == state.HELD
    # No sleep comes between: what was said is heard at once.
    session.sleep(seconds)
    assert not [event for event in rig.events if event[0] == "sleep"]
    rig.level = lambda now_ms: 0
    session.wake()
    assert session.state.pots[0].ladder == state.TENDED
    assert [head["button"] for head, _ in records(rig)] == [debounce.NONE, debounce.SHORT]
    assert rig.display.pages[-1][0] == "All is well" and not rig.display.lit
    # And never again.
    session.sleep(1800)
    session.wake()
    assert [head["button"] for head, _ in records(rig)][-1] == debounce.NONE


def test_a_long_press_while_lit_holds_the_rig_at_once_and_another_lets_it_go_on():
    rig = standing()
    session = app.Session(rig)
    turning(rig, session, 1, then_ms=2600)
    assert session.told == debounce.LONG and not rig.display.lit
    assert not [event for event in rig.events if event[0] == "report"]
    session.sleep(1800)
    presses(rig, (6000, 8600))
    session.wake()
    assert session.state.rig.hold == reasons.OWNER
    assert rig.display.pages[-1][0] == "When you pass: 1"
    assert session.told == debounce.LONG
    session.sleep(1800)
    rig.level = lambda now_ms: 0
    session.wake()
    assert session.state.rig.hold == reasons.NONE
    assert [head["button"] for head, _ in records(rig)] == [0, debounce.LONG, debounce.LONG]


def test_a_long_press_in_the_dark_counts_as_ever_and_shows_that_it_did():
    rig = standing()
    presses(rig, (0, 2600))
    session, _ = wake(rig)
    assert session.state.rig.hold == reasons.OWNER and rig.display.pages[0][0] == "When you pass: 1"
    assert session.told == debounce.NONE


def test_a_contact_that_sticks_neither_turns_nor_says_anything():
    rig = standing(held=True)
    session = app.Session(rig)
    presses(rig, (0, 300), (8000, 10**8))
    session.wake()
    assert len(rig.display.pages) == 1 and session.told == debounce.NONE and not rig.display.lit


def test_whoever_keeps_pressing_it_goes_dark_in_time():
    rig = standing()
    session = app.Session(rig)
    began_ms = rig.now_ms
    turning(rig, session, 1000)
    assert (rig.now_ms - began_ms) % TICKS < face.MOST_MS + 10_000 and not rig.display.lit
