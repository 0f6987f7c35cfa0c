"""A display beside the wake cycle: lit by a press, after the water and the record; gone, it changes nothing."""

import kit
import pytest
from fake_rig import FakeRig, records, wake
from potreeve import app, keep
from potreeve.logic import debounce, errors, face, reasons, state
from rig import Part
from ticks import PERIOD as TICKS

SETTLED_MS = 300
UA = 4000


class Glass:
    """rig.display that notes what is shown; fails from so many strokes on, or does not answer."""

    def __init__(self, rig, answers=True, strokes=None):
        self.rig, self.there, self.left = rig, answers, strokes
        self.pages = []
        self.lit = False

    def answers(self):
        self.rig.events.append(("asked",))
        if not self.there:
            raise OSError(5)
        return 1

    def show(self, strokes):
        assert not self.rig.pumping
        self.rig.events.append(("show",))
        words = []
        for stroke in strokes:
            if self.left is not None:
                self.left -= 1
                if self.left < 0:
                    raise OSError(5)
            if stroke[0] in ("text", "big"):
                words.append(stroke[1])
        self.pages.append(words)
        self.lit = True

    def off(self):
        self.rig.events.append(("dark",))
        self.lit = False
        if self.left is not None and self.left < 0:
            raise OSError(5)


def standing(answers=True, strokes=None, keeps_ram=1, pms=None, held=False, wired=True, **more):
    """A rig with a display, its first pot held if asked for."""
    rig = FakeRig(2, kit.make_data(2), keeps_ram=keeps_ram, **more)
    rig.pms = pms or [960, 960]
    rig.board["energy"] = {**kit.ENERGY, "display_ua": UA}
    made = kit.make_state(2)
    if held:
        made.pots[0].ladder, made.pots[0].reason = state.HELD, reasons.NO_RISE
        made.pots[0].unproven = 3
    rig.keep_state(made)
    if wired:
        rig.display = Glass(rig, answers, strokes)
    return rig


def presses(rig, *spans):
    """Close the contact during (from_ms, to_ms), counted from now."""
    start_ms = rig.now_ms

    def level(now_ms):
        at = (now_ms - start_ms) % TICKS
        return int(any(low <= at < high for low, high in spans))

    rig.level = level


def at(rig, *kinds):
    """Places of the first events of these kinds."""
    names = [event[0] for event in rig.events]
    return [names.index(kind) for kind in kinds]


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


def turning(rig, session, times, first_ms=300, then_ms=200):
    """One wake, lit by a press and turned so many times."""
    spans = [(0, first_ms)]
    # Each press waits until the page before it has stood for a second.
    for turn in range(times):
        begin = 8000 + 1500 * turn
        spans.append((begin, begin + then_ms))
    presses(rig, *spans)
    return session.wake()


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
    spent = keep.take_air(rig.store)[0]
    keep.add_air(rig.store, spent)
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
    keep.add_air(rig.store, 130_000)
    keep.add_air(rig.store, 1_000, 2)
    assert [keep.take_air(rig.store) for _ in range(4)] == [(50_000, 2), (50_000, 0), (31_000, 0), (0, 0)]


def test_a_board_that_forgets_lets_go_of_what_decided_and_loads_it_anew():
    rig = standing(keeps_ram=0, held=True)
    forgotten = []
    rig.forget = lambda package, name: forgotten.append((package, name))
    session = app.Session(rig)
    seconds = turning(rig, session, 6)
    assert ("potreeve.logic", "cycle") in forgotten and ("potreeve.logic", "face") in forgotten
    session.sleep(seconds)
    rig.level = lambda now_ms: 0
    session.wake()
    assert session.state.pots[0].ladder == state.TENDED


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
