"""Floats in the tub: where they rise and fall, what sticks, what a crack takes, and what their owner measures."""

import random

import pytest
from potreeve.logic import settings, tub_keys
from potreeve.logic.tub_marks import ODD, marks
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.owner import commission, filler, tub_shares
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world.faults.kinds import make_fault
from potreeve_tools.world.floats import STRIP_DRY_RAW, STRIP_RAW_MM, Floats, heights
from potreeve_tools.world.rigfile import check_rig
from small_rigs import board, rig_data, world


def with_floats(count=3, kind="floats"):
    made = board()
    made["extras"] = {"tub_kind": kind, "tub_pins": list(range(count))}
    return made


def level(one, mm):
    one.reservoir.water_ml = mm * one.reservoir.area_cm2 / 10.0


def test_floats_stand_where_people_put_them_or_where_the_rig_file_says():
    tub = {"floats_mm": [], "inlet_mm": 8.0, "height_mm": 220.0}
    assert heights(tub, 3) == pytest.approx([20.0, 98.0, 176.0])
    assert heights(tub, 1) == pytest.approx([35.6])
    assert heights({**tub, "floats_mm": [90.0, 30.0]}, 2) == [30.0, 90.0]


def test_a_float_falls_a_little_lower_than_it_rises():
    floats = Floats([20.0, 100.0])
    said = [floats.pattern(mm) for mm in (0, 20.9, 21.0, 19.1, 18.9, 100.9, 101.0, 99.1, 98.9)]
    assert said == [0, 0, 1, 1, 0, 1, 3, 3, 1]


def test_marks_follow_the_level_and_a_board_without_floats_sees_none():
    one = world(the_board=with_floats())
    found = []
    for mm in (205, 150, 60, 10):
        level(one, mm)
        found.append(one.tub_mark({}))
    assert found == [4, 3, 2, 1]
    assert world().tub_mark({}) == 0 and world().sense_extras()[-1] == 0


@pytest.mark.parametrize(("kind", "mm", "says"), [("float_stuck_up", 10, 2), ("float_stuck_down", 60, 1)])
def test_a_float_that_sticks_bites_where_it_lies(kind, mm, says):
    fault = make_fault(kind, 100.0, 5000.0, place=0)
    one = world([fault], the_board=with_floats())
    fault = one.faults[0]
    one.advance(200)
    level(one, 60 if kind == "float_stuck_up" else 10)
    one.tub_mark({})
    assert fault.bit == 0
    level(one, mm)
    assert one.tub_mark({}) == says and fault.bit == 1
    one.advance(5000)
    assert one.tub_mark({}) == 3 - says and fault.bit == 1


def test_a_float_down_below_another_is_odd():
    one = world([make_fault("float_stuck_down", 1.0, place=0)], the_board=with_floats())
    one.advance(10)
    assert one.tub_mark({}) == ODD


def test_a_crack_takes_what_it_is_said_to_until_the_water_stands_at_it():
    one = world([make_fault("tub_leaks", 60.0, 7200.0, ml_h=400.0, down_to_mm=195.0)])
    before = one.reservoir.water_ml
    one.advance(7200.0)
    lost = before - one.reservoir.water_ml
    assert lost == pytest.approx((205 - 195) * 45.0, abs=3.0)  # 450 ml, though 800 would have run
    one.advance(7200.0)
    assert before - one.reservoir.water_ml == pytest.approx(lost, abs=1.0)
    assert one.faults[0].bit == 5 and abs(one.balance_error_ml()) < 1e-6


def measure(one, channels=None):
    """The table [tub] as somebody with a jug, and a scale, finds it; channels: none whose pumps were measured."""
    unmeasured = [{"name": "mint", "pump_ul_s": 0}]
    return commission.measure_tub(filler.Filler(one, random.Random(3), scale=True), channels or unmeasured)


@pytest.mark.parametrize(("kind", "off_mm"), [("strip_film", 20.0), ("strip_stuck", 60.0)])
def test_a_strip_with_a_film_or_stuck_reads_higher_than_the_water_falls(kind, off_mm):
    more = {"mm": 20.0} if kind == "strip_film" else {}
    one = world([make_fault(kind, 10.0, 100.0, **more)], the_board=with_floats(1, "strip"))
    level(one, 120)
    one.advance(20)
    level(one, 60)
    seen_mm = (STRIP_DRY_RAW - one.tub_sense()) / STRIP_RAW_MM
    assert seen_mm == pytest.approx(60 + off_mm, abs=3.0) and one.faults[0].bit
    one.advance(100)
    assert (STRIP_DRY_RAW - one.tub_sense()) / STRIP_RAW_MM == pytest.approx(60, abs=3.0)


def measured(count=3, kind="floats", change=None, channels=None):
    one = world(the_board=with_floats(count, kind), change=change)
    faults = []
    table = tub_keys.check(measure(one, channels), settings._table, faults)
    assert faults == []
    return table, one


def test_an_owner_with_a_jug_finds_where_each_float_falls():
    table, one = measured()
    true = one.floats.marks_ml(one.reservoir)
    assert marks(table) == pytest.approx(true, rel=0.06, abs=60)
    assert table["full_ml"] == pytest.approx(0.9 * 220 * 45 - 8 * 45, rel=0.05) and table["open_cm2"] == 0


def test_an_owner_measures_a_strip_and_an_open_tub():
    def no_lid(data):
        data["reservoir"]["lid"] = False

    table, _ = measured(1, "strip", no_lid)
    assert len(marks(table)) == 4 and 300 < table["open_cm2"] < 600
    raws = [raw for raw, _ in table["strip"]]
    assert raws == sorted(raws, reverse=True) and raws[0] - raws[1] > 300


def test_an_owner_is_told_of_a_float_that_sticks_and_of_two_exchanged():
    one = world([make_fault("float_stuck_up", 1.0, place=2)], the_board=with_floats())
    one.advance(5)
    with pytest.raises(BadInput, match="what can't be although the tub is empty"):
        measure(one)
    one = world(the_board=with_floats())
    one.floats.heights_mm.reverse()
    with pytest.raises(BadInput, match="tub_pins"):
        measure(one)


@pytest.mark.parametrize("valve", [True, False])
def test_an_owner_finds_what_pumps_take_by_level(valve):
    data = rig_data()
    data["reservoir"].update(height_mm=300, base_mm=-320, level_mm=270)
    for pot in data["pot"]:
        pot.update(check_valve=valve, pump_kind="centrifugal", pump_lift_mm=900)
    tub = commission.make_settings(check_rig(data, "deep"), boards.load("rp2040_full").device_dict(), 5)["tub"]
    # From the full tub about what is counted. Lifted some 200 mm more of 900 that it could, a pump brings clearly less.
    assert 800 < tub["share_full_pm"] < 1200
    assert 0.4 < tub["share_low_pm"] / tub["share_full_pm"] < 0.85


def test_tubes_that_ran_empty_while_probes_were_measured_are_filled_before_anything_counts():
    """A valve weeps: after the days that pots dry on a scale, the first run filled tubes and told of weak pumps."""
    data = rig_data()
    for pot in data["pot"]:
        pot.update(check_valve=True, pump_kind="peristaltic", tube_mm=1500, tube_id_mm=5)
    rig, board_form = check_rig(data, "valves"), boards.load("rp2040_full").device_dict()
    for seed in (1, 2, 3, 4):
        tub = commission.make_settings(rig, board_form, seed)["tub"]
        assert 0.9 < tub["share_low_pm"] / tub["share_full_pm"] < 1.1, seed


def test_shares_are_of_what_is_counted_and_a_pump_that_sucks_air_tells_nothing():
    # All pumps of a rig together.
    low, full = [(15_000, 18_000), (3_000, 6_000)], [(20_000, 18_000), (5_000, 6_000)]
    assert tub_shares.shares(low, full) == {"share_full_pm": 1042, "share_low_pm": 750}
    assert tub_shares.shares([(1_000, 18_000)], [(18_000, 18_000)]) == {"share_full_pm": 1000, "share_low_pm": 1000}
    assert tub_shares.shares([(99_000, 18_000)], [(99_000, 18_000)]) == {"share_full_pm": 4000, "share_low_pm": 4000}
