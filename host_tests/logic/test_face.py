"""The display's pages: every word fits, nothing is drawn beyond its edges, and whatever is wrong has a page."""

import kit
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from potreeve.logic import debounce, errors, face, facewords, reasons, record, signals, state
from potreeve_tools.words import sentences
from profiles import PROFILE

ERRORS = [facewords.ERROR + bit for bit in range(16) if 1 << bit in sentences.ERRORS]
CODES = [*sentences.WHY, *ERRORS, facewords.MEMORY, facewords.BATTERY_DAYS, facewords.INSIST]


@pytest.mark.parametrize("code", CODES)
def test_every_reason_and_fault_has_words_that_fit(code):
    what, remedy = facewords.of(code)
    assert f"\n{code}|" in facewords._WORDS, "no words of its own"
    assert what and remedy and len(what) + len(remedy) <= facewords.LINES
    for line in what + remedy:
        assert 0 < len(line) <= facewords.WIDE
        assert all(32 <= ord(letter) < 127 for letter in line), line
    # No word was cut to fit.
    source = facewords._WORDS.partition(f"\n{code}|")[2].partition("\n")[0]
    assert " ".join(what) + "|" + " ".join(remedy) == source


def test_words_name_no_number_that_nothing_gives():
    listed = [int(line.partition("|")[0]) for line in facewords._WORDS.split("\n") if line]
    assert listed == sorted(set(listed))
    assert set(listed) <= set(CODES)


@pytest.mark.parametrize("code", [code for code in CODES if code >= facewords.MEMORY])
def test_no_reason_has_a_number_of_the_displays_own(code):
    assert code not in sentences.WHY


def head_of(**changes):
    head = dict.fromkeys((*record.HEAD_NAMES, "tray_wet", "tub_mark", "tub_days"), 0)
    return {**head, "battery_mv": 3900, "days_left": 50, "sleep_s": 1800, **changes}


@st.composite
def some_rig(draw):
    """(settings, state, head): whatever a wake may leave behind."""
    count = draw(st.integers(1, 4))
    checked = kit.make_settings(count, {"plant": draw(st.sampled_from(["mint", "strawberry", "cherry tomato", "x"]))})
    checked["name"] = draw(st.text(min_size=1, max_size=24))
    made = kit.make_state(count, hold=draw(st.sampled_from([0, *range(50, 60)])), memory=draw(st.integers(0, 2)))
    made.rig.soc_pm = draw(st.integers(0, 1000))
    made.rig.typical_um = draw(st.integers(0, 65535))
    for index, pot in enumerate(made.pots):
        checked["channels"][index]["name"] = draw(st.text(min_size=1, max_size=16))
        checked["channels"][index]["fill_pm"] = draw(st.integers(500, 1000))
        pot.ladder = draw(st.integers(0, 2))
        pot.reason = draw(st.sampled_from([0, *sentences.WHY]))
        pot.pm = draw(st.integers(-32768, 32767))
        pot.use_ul_mm = draw(st.integers(0, 10**6))
        pot.spent[0] = draw(st.integers(0, 65535))
    head = head_of(
        alarm=draw(st.integers(0, 2)),
        errors=draw(st.integers(0, 65535)),
        days_left=draw(st.integers(0, 999)),
        battery_mv=draw(st.sampled_from([0, 3900])),
        sleep_s=draw(st.integers(0, 65535)),
        tray_ml=draw(st.integers(0, 65535)),
        tub_mark=draw(st.integers(0, 15)),
        tub_days=draw(st.integers(0, 255)),
    )
    return checked, made, head


def inside(stroke):
    """Whether a stroke lies within 128 x 64 dots."""
    name, *rest = stroke
    if name == "text":
        text, x, y, ink = rest
        return 0 <= x and x + 8 * len(text) <= 128 and 0 <= y <= 56 and all(32 <= ord(c) < 127 for c in text)
    if name == "big":
        text, x, y = rest
        return 0 <= x and x + 16 * len(text) <= 128 and 0 <= y <= 48
    if name == "line":
        boxes = (rest[0], rest[1]), (rest[2], rest[3])
    elif name == "ellipse":
        x, y, wide, high = rest[:4]
        boxes = (x - wide, y - high), (x + wide, y + high)
    elif name in ("hline", "vline"):
        x, y, length = rest[:3]
        boxes = (x, y), (x + length - 1, y) if name == "hline" else (x, y + length - 1)
        # Less than nothing would be drawn backwards.
        if length < 1:
            return False
    else:
        x, y, wide, high = rest[:4]
        boxes = (x, y), (x + wide - 1, y + high - 1)
        if name == "fill_rect" and wide == 0:
            boxes = (boxes[0],)
    return all(0 <= x < 128 and 0 <= y < 64 for x, y in boxes)


@settings(PROFILE)
@given(some_rig())
def test_whatever_a_rig_says_is_drawn_within_the_display(drawn):
    checked, made, head = drawn
    seen = face.Seen(made, checked, head)
    pages = face.pages(seen)
    for place in range(len(pages)):
        beyond = [stroke for stroke in face.strokes(seen, pages, place) if not inside(stroke)]
        assert not beyond, (pages[place], beyond)


@settings(PROFILE)
@given(some_rig())
def test_a_rig_that_calls_says_why_on_a_page(drawn):
    checked, made, head = drawn
    rig = made.rig
    loud = signals.rig_level(rig.hold, rig.memory, head["errors"], head["days_left"])
    loud = max([loud] + [signals.pot_level(pot.ladder, pot.reason) for pot in made.pots])
    head["alarm"] = loud
    seen = face.Seen(made, checked, head)
    kinds = [kind for kind, _ in face.pages(seen)]
    assert bool(loud) <= (face.WRONG in kinds)
    assert (face.SEEN_TO in kinds) == bool(loud)
    assert kinds[0] == face.SILL and kinds.count(face.POT) == len(made.pots)


def test_only_the_last_page_takes_a_press_as_a_word():
    made, checked = kit.make_state(3), kit.make_settings(3)
    made.pots[1].ladder, made.pots[1].reason = state.HELD, reasons.NO_RISE
    pages = face.pages(face.Seen(made, checked, head_of(alarm=signals.CALL, errors=errors.LIGHT)))
    said = [face.after(pages, place, debounce.SHORT) for place in range(len(pages))]
    assert [told for _, told in said] == [debounce.NONE] * (len(pages) - 1) + [debounce.SHORT]
    assert [place for place, _ in said] == [*range(1, len(pages)), -1]
    assert all(face.after(pages, place, debounce.LONG) == (-1, debounce.LONG) for place in range(len(pages)))


def test_it_goes_dark_before_the_next_wake():
    for sleep_s in (1, 300, 600, 7200):
        lit_ms = next(ms for ms in range(0, 200_000, 20) if face.over(0, ms, sleep_s))
        assert lit_ms < sleep_s * 1000 and lit_ms <= face.MOST_MS
