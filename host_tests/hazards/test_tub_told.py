"""Mishaps of a tub with floats or a strip: what is told and when; that no pump runs dry where they work."""

import pytest
from judged import DAY_S, finished
from potreeve.logic import reasons, recorded, signals


def rows(name):
    session = finished(name)
    return [
        (t_s / DAY_S, recorded.decode(line)[0]) for t_s, line in zip(session.record_s, session.records, strict=True)
    ]


def first(name, wanted):
    return next((day for day, head in rows(name) if wanted(head)), None)


@pytest.mark.parametrize(("name", "begins_d", "within_d"), [("tub_leaks", 2.5, 2.5), ("tub_siphon", 2.5, 1.0)])
def test_a_leak_and_a_siphon_are_called(name, begins_d, within_d):
    day = first(name, lambda head: head["tub_note"] == reasons.TUB_LEAK and head["alarm"] == signals.CALL)
    assert day is not None and begins_d <= day <= begins_d + within_d


def test_a_cracked_tubs_pumps_run_dry_for_no_more_than_a_trial_a_day():
    session = finished("tub_leaks")
    dry_s = [sample["t_s"] for sample in session.samples if sample["reservoir_usable_ml"] < 1.0]
    held = [day for day, head in rows("tub_leaks") if head["hold"] == reasons.TUB_EMPTY]
    dry = [pulse for pulse in session.pulses if dry_s[0] <= pulse.t_s <= dry_s[-1]]
    assert held and held[-1] - held[0] > 2
    # One pot's dose in each of three days, until it is held for want of a rise.
    assert len(dry) <= 3 * 4


@pytest.mark.parametrize("name", ["float_stuck_down", "floats_cut_off"])
def test_a_float_that_sticks_down_is_found_out(name):
    lied = first(name, lambda head: head["tub_note"] == reasons.TUB_FLOAT and not head["hold"])
    held = first(name, lambda head: head["hold"] == reasons.TUB_EMPTY)
    assert held < lied < 15
    # Its pots were watered meanwhile, by trials that went on.
    assert all(pot["alive"] for pot in finished(name).samples[-1]["pots"])
    assert any(held < pulse.t_s / DAY_S < lied for pulse in finished(name).pulses)


# A film of 40 mm hides the water of two days and a half.
@pytest.mark.parametrize(("name", "before_d"), [("float_stuck_up", 2), ("strip_stuck", 2), ("strip_film", 1)])
def test_a_float_that_sticks_up_or_a_strip_that_reads_too_much_hides_no_empty_tub(name, before_d):
    told = (reasons.TUB_LOW, reasons.TUB_STAYS)
    called = first(name, lambda head: head["tub_note"] in told and head["alarm"] == signals.CALL)
    session = finished(name)
    empty = next(sample["t_s"] / DAY_S for sample in session.samples if sample["reservoir_usable_ml"] < 5.0)
    assert called < empty - before_d
    # What is seen says to the end that water is there.
    before = [head for day, head in rows(name) if day < empty]
    assert before[-1]["tub_mark"] > 1 and not any(head["hold"] == reasons.TUB_EMPTY for head in before)


def test_a_tub_that_stays_full_although_pumps_run_is_called():
    day = first("tub_clogged", lambda head: head["tub_note"] == reasons.TUB_STAYS and head["alarm"] == signals.CALL)
    assert 2.5 < day < 14.1
