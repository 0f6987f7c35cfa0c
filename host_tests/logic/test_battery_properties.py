"""What must hold for any battery: days never negative and in step with the charge, one pulse in two days where it
sags."""

import kit
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from potreeve.logic import battery, cycle, reasons, record, water
from potreeve.logic.units import DAY_S
from profiles import PROFILE

KINDS = st.sampled_from((("lithium", 1, 3200), ("lithium", 2, 6400), ("alkaline", 3, 3150), ("nimh", 3, 3240)))


@st.composite
def packs(draw):
    kind, cells, stop_mv = draw(KINDS)
    return {
        "battery_kind": kind,
        "battery_cells": cells,
        "battery_mah": draw(st.integers(100, 50000)),
        "battery_reserve_pm": draw(st.integers(10, 500)),
        "battery_stop_mv": stop_mv - draw(st.integers(0, 900)),
    }


CHARGES = st.integers(0, 1000)
USES = st.tuples(st.integers(0, 500000), st.integers(0, 500000))
SMALL = 2**31


@settings(parent=PROFILE)
@given(packs(), CHARGES, st.integers(0, 12000), USES)
def test_days_are_never_negative_and_nought_only_where_pumps_are_nearly_refused(pack, pm, sag_mv, uses):
    days = battery.days_left(pm, sag_mv, uses, pack)
    assert 0 <= days <= battery.MOST_DAYS
    refused = battery.refused_pm(pm, sag_mv, pack)
    assert 0 <= refused <= pm
    if days == 0:
        # Use grows by half at the most.
        assert (pm - refused) * pack["battery_mah"] < max(1, uses[0] + uses[0] // 2) or pm == refused


@settings(parent=PROFILE)
@given(packs(), CHARGES, CHARGES, st.integers(0, 400), USES)
def test_more_charge_never_means_fewer_days(pack, one_pm, other_pm, sag_mv, uses):
    """But for the rounding of a day. A great sag at a high charge is a bad battery, so that is left out."""
    low, high = sorted((one_pm, other_pm))
    assert battery.days_left(low, sag_mv, uses, pack) <= battery.days_left(high, sag_mv, uses, pack) + 1


@settings(parent=PROFILE)
@given(packs(), CHARGES, st.integers(0, 300), st.integers(0, 300), st.integers(1, 500000))
def test_more_sag_or_more_use_never_means_more_days(pack, pm, sag_mv, more_mv, use):
    days = battery.days_left(pm, sag_mv, (use, use), pack)
    assert battery.days_left(pm, sag_mv + more_mv, (use, use), pack) <= days
    assert battery.days_left(pm, sag_mv, (2 * use, 2 * use), pack) <= days


@settings(parent=PROFILE)
@given(packs(), CHARGES, st.integers(0, 2000))
def test_pumps_run_at_every_charge_above_the_one_told(pack, pm, sag_mv):
    """The charge at which they are refused is where `can_pump` itself changes its mind."""
    refused = battery.refused_pm(pm, sag_mv, pack)
    if refused == pm:
        return
    cells, kind = pack["battery_cells"], pack["battery_kind"]

    def runs(at_pm):
        near_mv = [mv for mv in range(900, 4201) if battery.by_voltage_pm(mv * cells, kind, cells) == at_pm]
        return battery.can_pump(near_mv[-1] * cells, sag_mv, at_pm, pack)

    # The emptier, the more it sags: none of these may be refused with the sag of now.
    assert all(runs(at) for at in {pm, (pm + refused) // 2} if _shown(at, kind, cells))


def _shown(pm, kind, cells):
    return any(battery.by_voltage_pm(mv * cells, kind, cells) == pm for mv in range(900, 4201))


@settings(parent=PROFILE)
@given(packs(), st.integers(0, 2000000), CHARGES, st.integers(0, 4294967295))
def test_what_really_left_is_what_was_counted_up_to_four_times_that(pack, counted, pm, used):
    told = battery.really_uah(counted, pm, used, pack)
    assert counted <= told <= 4 * counted
    if pack["battery_kind"] == "nimh":
        assert told == counted


def run_days(rest_mv, pulls_mv, days, sag_mv=0, breaks=False):
    """Times of the pulses, in s, of a pot that stays dry; pulls_mv: what each pulse pulls the battery down by. breaks:
    each pulse ends in a reset instead."""
    told = kit.make_settings(1, {"day_ml": 3000}, rig_day_ml=3000, tray_headroom_ml=20000)
    now = kit.make_state(1, rest_mv=rest_mv, sag_mv=sag_mv)
    now.pots[0].pulsed, now.pots[0].pulse_s = 1, now.rig.up_s
    began_s = now.rig.up_s
    at, reset = [], False
    for wake in range(days * 48):
        seen = kit.make_readings([600 + wake % 3], battery_mv=rest_mv)
        if reset:
            seen.cause, reset = 1, False
        now, actions, _ = cycle.step(now, seen, told, kit.ENERGY)
        now.pots[0].unproven, now.pots[0].judge, now.rig.boots, now.rig.tray_ul = 0, 0, 0, 0
        if any(actions.pulse_ms):
            at.append(now.rig.up_s - began_s)
            reset = breaks
            if not breaks:
                now = cycle.settle(now, actions.pulse_ms, [rest_mv - pulls_mv])
        elif now.pots[0].done_ms != record.NOT_RUN:
            now.pots[0].done_ms = record.NOT_RUN
    return at, now


@pytest.mark.parametrize("sag_mv", [650, 900, 1100])
def test_a_battery_once_refused_for_its_sag_pumps_again_when_it_is_well(sag_mv):
    """The latch: only pulses teach the sag, and a refused battery gives none."""
    at, now = run_days(3900, 150, 12, sag_mv=sag_mv)
    assert at and 2 * DAY_S <= at[0] <= 2 * DAY_S + 3600
    assert len(at) > 20 and now.pots[0].reason != reasons.BATTERY
    assert now.rig.sag_mv < 400


@settings(parent=PROFILE, max_examples=25)
@given(st.integers(3350, 4200), st.integers(0, 1500))
def test_a_battery_that_gives_way_is_tried_once_in_two_days(rest_mv, sag_mv):
    at, _ = run_days(rest_mv, 0, 16, sag_mv=sag_mv, breaks=True)
    # Halved headroom: at most four until the sag is known, then one in two days.
    assert len(at) <= 5 + 16 // 2
    late = at[5:]
    assert all(after - before >= water.TRIAL_S for before, after in zip(late, late[1:]))


def test_a_battery_below_its_stop_or_reserve_is_never_tried():
    assert run_days(3299, 10, 6, sag_mv=100)[0] == []
    assert run_days(3150, 10, 6, sag_mv=400)[0] == []
