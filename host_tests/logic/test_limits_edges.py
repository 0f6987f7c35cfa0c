"""The caps at their very edges: exactly nothing left, exactly one left, exactly dry."""

import kit
import pytest
from potreeve.logic import limits


@pytest.mark.parametrize(("tray_ul", "left_ul"), [(1499999, 1), (1500000, 0), (1500001, 0), (9000000, 0)])
def test_headroom_ends_at_nothing(tray_ul, left_ul):
    assert limits.headroom_ul(kit.make_state(1, tray_ul=tray_ul).rig, kit.make_settings(1)) == left_ul


@pytest.mark.parametrize(("spent_tenths", "room_ul"), [(1999, 100), (2000, 0), (2001, 0), (65535, 0)])
def test_room_ends_at_nothing(spent_tenths, room_ul):
    made = kit.make_state(1)
    made.pots[0].spent[3] = spent_tenths
    assert limits.room_ul(made.rig, made.pots, 0, kit.make_settings(1)) == (room_ul, limits.POT_DAY)


def test_the_last_drop_stays_until_it_has_dried():
    assert limits.dry_tray(1, 900, 500, 0, 0) == (1, 0)
    assert limits.dry_tray(2, 900, 500, 0, 0) == (2, 0)


@pytest.mark.parametrize("tray_ul", [0, 1, 44999, 45000])
def test_a_tray_dries_to_nothing_and_no_further(tray_ul):
    # 900 cm2 x 500 um is 45 ml a day.
    assert limits.dry_tray(tray_ul, 900, 500, 0, 86400)[0] == 0
    assert limits.dry_tray(45001, 900, 500, 0, 86400)[0] == 1


def test_what_is_too_little_to_count_is_carried():
    once = limits.dry_tray(100000, 900, 500, 0, 86400)
    tray, carry = 100000, 0
    for _ in range(86400 // 900):
        tray, carry = limits.dry_tray(tray, 900, 500, carry, 900)
    assert (tray, carry) == once


@pytest.mark.parametrize("late_s", [0, 1, 7319])
def test_a_bucket_is_kept_for_a_day_from_its_last_second(late_s):
    made = kit.make_state(1)
    start = made.rig.bucket_s
    made.pots[0].spent[0] = 7
    limits.roll(made.pots, start, start + 12 * 7320 + late_s)
    assert sum(made.pots[0].spent) == 7
    limits.roll(made.pots, start, start + 13 * 7320)
    assert sum(made.pots[0].spent) == 0


def test_time_that_goes_back_drops_nothing():
    made = kit.make_state(1)
    made.pots[0].spent[12] = 7
    assert limits.roll(made.pots, 7320, 0) == 7320
    assert made.pots[0].spent[12] == 7
