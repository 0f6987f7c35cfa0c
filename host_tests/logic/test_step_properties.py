"""step() and settle() are pure, and whatever comes in, what comes out can be stored."""

from collections import Counter

import kit
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from potreeve.logic import cycle, dosing, proof, reasons, record, recorded, state, timekeep
from profiles import PROFILE

RAW = st.one_of(st.integers(0, 65535), st.integers(-100, 1400).map(kit.raw_at).map(lambda raw: max(0, min(65535, raw))))


met = Counter()


@st.composite
def some_readings(draw, count):
    return kit.make_readings(
        [0] * count,
        cause=draw(st.integers(0, 6)),
        elapsed_s=draw(st.one_of(st.sampled_from([0, 1, 1799, 1800, 86400, 536870]), st.integers(0, 536870))),
        awake_ms=draw(st.integers(0, 100000)),
        button=draw(st.sampled_from([0, 0, 0, 1, 2])),
        utc_s=draw(st.sampled_from([0, 1780000000, 4102444799])),
        usb=draw(st.integers(0, 1)),
        battery_mv=draw(st.one_of(st.just(0), st.integers(2500, 5500))),
        temp_cdeg=draw(st.one_of(st.just(record.NO_TEMP), st.integers(-4000, 8500))),
        rh_pm=draw(st.one_of(st.just(record.NO_RH), st.integers(0, 1000))),
        lx=draw(st.one_of(st.just(record.NO_LX), st.integers(0, 200000))),
        errors=draw(st.integers(0, 4095)),
        raw=[draw(RAW) for _ in range(count)],
        spread=[draw(st.integers(0, 65535)) for _ in range(count)],
        done_ms=[draw(st.one_of(st.just(record.NOT_RUN), st.integers(0, 30500))) for _ in range(count)],
        under_mv=[draw(st.integers(0, 5500)) for _ in range(count)],
    )


@st.composite
def plain_readings(draw, count):
    """A wake in which nothing is wrong."""
    pms = [draw(st.integers(620, 900)) for _ in range(count)]
    return kit.make_readings(
        pms,
        elapsed_s=draw(st.sampled_from([1800, 7200])),
        done_ms=[draw(st.sampled_from([record.NOT_RUN, 5000])) for _ in range(count)],
    )


@st.composite
def some_wakes(draw):
    """(settings, [readings and what came of the pulses])"""
    count = draw(st.integers(1, 4))
    pot = {"day_ml": draw(st.sampled_from([150, 200, 3000])), "unproven_max": draw(st.integers(1, 5))}
    told = kit.make_settings(count, pot, ack=draw(st.integers(0, 255)))
    return (
        told,
        draw(st.lists(st.one_of(plain_readings(count), some_readings(count)), min_size=1, max_size=20)),
        draw(st.booleans()),
    )


@settings(parent=PROFILE)
@given(some_wakes())
def test_a_step_is_pure_and_what_it_gives_can_be_kept(wakes):
    told, seen, lost = wakes
    count = len(told["channels"])
    now = state.fresh(count) if lost else kit.make_state(count)
    if told["ack"] % 2 == 0:
        now.rig.ack = told["ack"]
        now.pots[-1].ladder, now.pots[-1].reason = state.HELD, reasons.NO_RISE
    for readings in seen:
        before, given_readings = kit.as_dict(now), dict(vars(readings))
        after, actions, line = cycle.step(now, readings, told, kit.ENERGY)
        again, actions_again, line_again = cycle.step(now, readings, told, kit.ENERGY)
        assert kit.as_dict(now) == before, "the state before was changed"
        assert dict(vars(readings)) == given_readings, "the readings were changed"
        assert (kit.as_dict(after), vars(actions), line) == (kit.as_dict(again), vars(actions_again), line_again)
        _can_be_kept(after, line, count)
        _within_bounds(after, actions, told)
        met["pulses"] += any(actions.pulse_ms)
        met.update(pot.ladder for pot in after.pots)
        settled = cycle.settle(after, readings.done_ms, readings.under_mv)
        assert all(pot.intent_ms == 0 for pot in settled.pots)
        now = settled if readings.cause == timekeep.KEPT else after


def test_those_steps_reached_what_decides():
    if not met:
        pytest.skip("needs the test before it in the same process")
    assert met["pulses"] >= 20, met
    assert all(met[rung] >= 10 for rung in (state.TENDED, state.RATIONED, state.HELD)), met


def _can_be_kept(after, line, count):
    assert kit.as_dict(state.unpack(state.pack(after))) == kit.as_dict(after)
    head, pots = recorded.decode(line)
    assert len(pots) == count
    assert head["seq"] == (after.rig.seq - 1) % 2**32


def _within_bounds(after, actions, told):
    assert sum(1 for ms in actions.pulse_ms if ms) <= 1
    # A board that starts over proves a little less than it slept, and is asked for so much more.
    longest_s = max(4 * told["wake_s"], 2 * told["night_wake_s"])
    assert 0 < actions.sleep_s <= longest_s * 100 // 95 + 1
    for ms, pot, channel in zip(actions.pulse_ms, after.pots, told["channels"]):
        assert 0 <= ms <= channel["pulse_max_ms"]
        if ms:
            assert not after.rig.hold
            if pot.ladder == state.HELD:
                _may_be_tried(after.rig, pot, channel)
            assert pot.intent_ms == ms
            assert sum(pot.spent) * 100 < channel["day_ml"] * 1000 + 100
    given_ul = sum(sum(pot.spent) for pot in after.pots) * 100
    if any(actions.pulse_ms):
        assert given_ul < told["rig_day_ml"] * 1000 + 100
        assert after.rig.tray_ul <= told["tray_headroom_ml"] * 1000


def _may_be_tried(rig, pot, channel):
    """A held pot gets a trial for some reasons, where it is short of water, and no more of it than shows. Short it is
    where a dose would be due, or by night where the next day would bring it there; one that has begun goes on."""
    assert pot.reason in (reasons.NO_RISE, reasons.CROSSED, reasons.RUNS_ON)
    if pot.ration_s == rig.up_s:
        assert pot.pm <= max(dosing.due_pm(pot, rig.typical_um, channel), channel["fill_pm"] - proof.TRIAL_PM)
    assert pot.rationed and pot.judge
    assert pot.pulse_ul < 60 * channel["holds_ml"] + channel["pulse_ml"] * 1000


@settings(parent=PROFILE)
@given(st.data())
def test_state_survives_packing(data):
    count = data.draw(st.integers(1, 4))
    made = state.fresh(count)
    width = {"B": (0, 255), "H": (0, 65535), "I": (0, 4294967295), "h": (-32768, 32767)}
    for name, code in zip(state.RIG_NAMES, state.RIG_CODES):
        setattr(made.rig, name, data.draw(st.integers(*width[code])))
    made.rig.channels = count
    for pot in made.pots:
        for name, code in zip(state.POT_NAMES, state.POT_CODES):
            setattr(pot, name, data.draw(st.integers(*width[code])))
        pot.spent = data.draw(st.lists(st.integers(0, 65535), min_size=13, max_size=13))
    packed = state.pack(made)
    assert len(packed) == state.STATE_BYTES
    assert kit.as_dict(state.unpack(packed)) == kit.as_dict(made)


@settings(parent=PROFILE)
@given(st.binary(max_size=2 * state.STATE_BYTES))
def test_unpacking_any_bytes_gives_a_state_or_none(data):
    found = state.unpack(data)
    assert found is None or 1 <= found.rig.channels <= 4
