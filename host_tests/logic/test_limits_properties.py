"""The rolling day: what the buckets say is never below what was really given in the last 24 hours."""

from fractions import Fraction

import kit
from hypothesis import given, settings
from hypothesis import strategies as st
from potreeve.logic import dosing, limits
from profiles import PROFILE

DAY_S = 86400
# A day as a counter shows it that runs 1.6 % fast.
FAST_DAY_S = DAY_S + DAY_S * 16 // 1000
EVENTS = st.lists(st.tuples(st.integers(0, 30000), st.integers(0, 400000)), max_size=40)


@settings(parent=PROFILE)
@given(EVENTS, st.integers(0, 2**30), st.integers(0, 8000))
def test_buckets_never_forget_water_of_the_last_day(events, start_s, first_roll_s):
    made = kit.make_state(1, bucket_s=start_s, up_s=start_s)
    pot, rig = made.pots[0], made.rig
    now_s = start_s + first_roll_s
    given_ul = []
    for gap_s, water_ul in events:
        now_s += gap_s
        rig.bucket_s = limits.roll(made.pots, rig.bucket_s, now_s)
        really_ul = sum(ul for at_s, ul in given_ul if now_s - at_s < FAST_DAY_S)
        assert limits.spent_ul(pot) >= really_ul
        # Careful, but not for ever: after 26 and a half hours water is forgotten.
        late_ul = sum(ul + limits.TENTH_UL for at_s, ul in given_ul if now_s - at_s < 13 * limits.BUCKET_S)
        assert limits.spent_ul(pot) <= late_ul
        limits.spend(pot, water_ul)
        given_ul.append((now_s, water_ul))


@settings(parent=PROFILE)
@given(st.lists(st.tuples(st.integers(0, 20000), st.integers(1, 200000)), max_size=60), st.integers(5, 3000))
def test_water_kept_to_the_room_never_passes_the_cap_in_any_24_hours(wishes, day_ml):
    """Slide a window over everything given: no 24 hours hold more than the cap."""
    told = kit.make_settings(1)
    told["channels"][0]["day_ml"] = day_ml
    told["rig_day_ml"] = 5000
    told["tray_headroom_ml"] = 20000
    made = kit.make_state(1)
    pot, rig = made.pots[0], made.rig
    now_s = rig.up_s
    given_ul = []
    for gap_s, wish_ul in wishes:
        now_s += gap_s
        rig.bucket_s = limits.roll(made.pots, rig.bucket_s, now_s)
        room_ul, _ = limits.room_ul(rig, made.pots, 0, told)
        water_ul = min(wish_ul, room_ul)
        limits.spend(pot, water_ul)
        given_ul.append((now_s, water_ul))
    for start_s, _ in given_ul:
        assert sum(ul for at_s, ul in given_ul if start_s <= at_s < start_s + FAST_DAY_S) <= day_ml * 1000


@settings(parent=PROFILE)
@given(
    room_ul=st.integers(0, 3000000),
    flow=st.integers(1, 60000),
    spread=st.integers(0, 1000),
    cal_mv=st.integers(0, 12000),
    rest_mv=st.integers(0, 12000),
    ms=st.integers(0, 30000),
)
def test_the_longest_pulse_for_a_room_fits_into_it(room_ul, flow, spread, cal_mv, rest_mv, ms):
    pot = {"pump_ul_s": flow, "pump_spread_pm": spread, "pump_cal_mv": cal_mv}
    longest = dosing.longest_ms(room_ul, pot, rest_mv)
    assert dosing.most_ul(longest, pot, rest_mv) <= room_ul
    # Never less than the flow times the spread really gives, in proportion to a battery that sank, as exact fractions.
    sunk = max(Fraction(3, 5), min(Fraction(1), Fraction(rest_mv, cal_mv))) if cal_mv and rest_mv else 1
    assert dosing.most_ul(ms, pot, rest_mv) * 1000 * 1000 >= ms * flow * (1000 + spread) * sunk
    # And never less than it is taken to bring.
    assert dosing.most_ul(ms, pot, rest_mv) * 1000 >= ms * dosing.flow_ul_s(pot, rest_mv)


@settings(parent=PROFILE)
@given(
    tray_ul=st.integers(0, 20000000),
    area=st.integers(20, 20000),
    um=st.integers(0, 1000),
    spans=st.lists(st.integers(0, 20000), max_size=30),
)
def test_a_tray_never_dries_faster_than_it_is_credited_with(tray_ul, area, um, spans):
    left, carry = tray_ul, 0
    for seconds in spans:
        left, carry = limits.dry_tray(left, area, um, carry, seconds)
        assert left >= 0
        assert 0 <= carry < 2**32
    # 1 um over 1 cm2 is 0.1 ul; many short wakes may lose no more than one long one.
    most_dried_ul = area * um * sum(spans) // (DAY_S * 10)
    assert left >= tray_ul - most_dried_ul - 1
    if left:
        assert left <= tray_ul - most_dried_ul + 1
