"""A memory from a copy brings history and entitles to nothing."""

import random

import carried
import kit
import pytest
from potreeve.logic import cycle, debounce, limits, reasons, state, timekeep
from potreeve_tools.owner import carry


def old_state(count=2):
    made = kit.make_state(count, seq=700, up_s=900000, bucket_s=899000, typical_um=2500, usage_uah=9000, used_uah=80000)
    for pot in made.pots:
        pot.gain_pm, pot.use_ul_mm, pot.total_ul, pot.pulsed, pot.pulse_s = 800, 3000, 90000, 1, 890000
        pot.known, pot.pm, pot.filtered = 1, 400, 40000 * 16
    return made


def test_history_comes_along():
    new = carry.carry(old_state())
    assert new.rig.memory == 2 and new.rig.planned_s == 0 and new.rig.rest_mv == 0
    assert (new.rig.seq, new.rig.up_s, new.rig.typical_um, new.rig.usage_uah) == (700, 900000, 2500, 9000)
    for pot in new.pots:
        assert (pot.gain_pm, pot.use_ul_mm, pot.total_ul) == (800, 3000, 90000)
        assert not (pot.known or pot.dosing or pot.closing or pot.judge or pot.intent_ms or pot.filtered)


def test_held_stays_held_and_doubt_starts_over():
    was = old_state(3)
    was.pots[0].ladder, was.pots[0].reason = state.HELD, reasons.NO_RISE
    was.pots[1].ladder, was.pots[1].reason = state.RATIONED, reasons.STILL
    new = carry.carry(was)
    assert [(pot.ladder, pot.reason) for pot in new.pots] == [
        (state.HELD, reasons.NO_RISE),
        (state.TENDED, 0),
        (state.TENDED, 0),
    ]


def test_what_was_under_way_counts_as_unproven():
    was = old_state()
    was.pots[0].judge, was.pots[0].unproven = 1, 2
    was.pots[1].intent_ms = 4000
    assert [pot.unproven for pot in carry.carry(was).pots] == [3, 1]


def test_the_old_state_is_left_alone():
    was = old_state()
    before = state.pack(was)
    carry.carry(was).pots[0].spent[0] = 77
    assert state.pack(was) == before


def test_an_owners_hold_stays_other_holds_are_for_the_board_to_find():
    was = old_state()
    was.rig.hold, was.rig.hold_s = reasons.OWNER, 899000
    assert carry.carry(was).rig.hold == reasons.OWNER
    was.rig.hold = reasons.DAMAGED
    assert carry.carry(was).rig.hold == reasons.NONE


def test_no_water_before_a_day_is_proven_however_dry_and_whatever_was_stored():
    settings = kit.make_settings(2)
    for seed in range(20):
        rng = random.Random(seed)
        was = old_state()
        for pot in was.pots:
            pot.spent = [rng.randrange(0, 500) for _ in pot.spent]
            pot.dosing = rng.randrange(2)
        now = carry.carry(was)
        began_s, given = now.rig.up_s, 0
        for _ in range(100):
            # The owner empties the tray and says so at once: the day's water stays counted.
            button = debounce.LONG if now.rig.memory else debounce.NONE
            seen = kit.make_readings([300, 350], cause=timekeep.KEPT, elapsed_s=1800, button=button)
            now, actions, _ = cycle.step(now, seen, settings, kit.ENERGY)
            if any(actions.pulse_ms):
                given += 1
                assert now.rig.up_s - began_s >= 86400
            now = cycle.settle(now, [0] * 2, [0] * 2)
        assert given, "it must water again at last"
        assert limits.spent_ul(now.pots[0]) <= settings["channels"][0]["day_ml"] * 1000


@pytest.mark.parametrize("number", range(len(carried.VECTORS)))
def test_field_by_field(number):
    name, arguments, told = carried.VECTORS[number]
    assert getattr(carried, name)(*arguments) == told
