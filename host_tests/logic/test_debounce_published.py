"""The debouncer against published bounce times.

Source: J. Ganssle, "A Guide to Debouncing" (2004, rev. 2008), quoted second-hand (the
page itself was not opened): sixteen of eighteen switches bounced for 6.2 ms at most;
of the other two one bounced for 157 ms on opening and one for 11.3 ms on closing.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from potreeve.logic import debounce
from profiles import PROFILE

WORST_MS = 6.2
WORST_CLOSING_MS = 11.3
WORST_OPENING_MS = 157.0
TICK_MS = 10


def events(edges_ms, end_ms, tick_ms=TICK_MS, start_ms=0.0):
    """Events of a contact that changes its level at each of `edges_ms`, sampled every tick."""
    state, found = debounce.START, []
    at_ms = start_ms
    while at_ms < end_ms:
        level = sum(edge <= at_ms for edge in edges_ms) % 2
        state, event = debounce.update(state, level, tick_ms)
        if event:
            found.append(event)
        at_ms += tick_ms
    return found


def bounces(draw, start_ms, span_ms, odd):
    """Edges within span_ms after start_ms, an odd or even number of them, the first at the very start."""
    inner = draw(st.lists(st.floats(0.01, span_ms, allow_nan=False), max_size=30, unique=True))
    if (len(inner) + 1) % 2 != odd:
        inner = inner[1:] if inner else [span_ms]
    return sorted([start_ms, *[start_ms + edge for edge in inner]])


@settings(parent=PROFILE)
@given(st.data(), st.floats(50, 1500), st.floats(0, TICK_MS), st.sampled_from([1, 5, 10]))
def test_a_press_that_bounces_as_most_switches_do_is_one_event(data, held_ms, phase_ms, tick_ms):
    closing = bounces(data.draw, 100.0, WORST_MS, 1)
    opening = bounces(data.draw, 100.0 + WORST_MS + held_ms, WORST_MS, 1)
    assert events([*closing, *opening], 3000, tick_ms, phase_ms % tick_ms) == [debounce.SHORT]


@settings(parent=PROFILE)
@given(st.data(), st.floats(50, 1500))
def test_the_worst_published_switches_give_one_event(data, held_ms):
    closing = bounces(data.draw, 100.0, WORST_CLOSING_MS, 1)
    opening = bounces(data.draw, 100.0 + WORST_CLOSING_MS + held_ms, WORST_OPENING_MS, 1)
    assert events([*closing, *opening], 3000) == [debounce.SHORT]


@settings(parent=PROFILE)
@given(st.data())
def test_a_burst_alone_gives_at_most_one_event(data):
    """157 ms of nothing but bounce, ending open: perhaps one press, never two."""
    burst = bounces(data.draw, 100.0, WORST_OPENING_MS, 0)
    assert len(events(burst, 3000)) <= 1


@pytest.mark.parametrize("span_ms", [0.5, 1.557, WORST_MS, WORST_CLOSING_MS, 19.9])
def test_a_burst_shorter_than_the_press_window_alone_is_no_press(span_ms):
    edges = [100.0, 100.0 + span_ms]
    assert events(edges, 1000) == []


def test_the_windows_cover_the_published_worst():
    assert debounce.PRESS_MS > 2 * WORST_CLOSING_MS
    assert debounce.RELEASE_MS > WORST_OPENING_MS + TICK_MS


@settings(parent=PROFILE)
@given(st.data(), st.floats(debounce.LONG_MS + 2 * TICK_MS, 4000))
def test_a_long_press_is_one_long_event(data, held_ms):
    closing = bounces(data.draw, 100.0, WORST_MS, 1)
    opening = bounces(data.draw, 100.0 + WORST_MS + held_ms, WORST_OPENING_MS, 1)
    assert events([*closing, *opening], 5000) == [debounce.LONG]


@settings(parent=PROFILE)
@given(st.lists(st.tuples(st.integers(0, 1), st.integers(1, 1000)), max_size=200))
def test_whatever_comes_the_state_stays_sound(samples):
    state = debounce.START
    for level, dt_ms in samples:
        state, event = debounce.update(state, level, dt_ms)
        stable, differs_ms, held_ms = state
        assert stable in (0, 1) and differs_ms >= 0 and held_ms >= 0
        assert event in (debounce.NONE, debounce.SHORT, debounce.LONG)
        assert not (stable == 0 and held_ms)
        assert debounce.idle(state) == (stable == 0 and differs_ms == 0)
