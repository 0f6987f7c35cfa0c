"""The simulated sensor in the tray, in the eyes of the firmware's own judgement."""

import pytest
from potreeve.logic import record, wet
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.world.faults.kinds import make_fault
from potreeve_tools.world.rigfile import DEFAULT_RIG, load_rig
from potreeve_tools.world.world import World

BOARD = boards.load("esp32_full").device_dict()


def world(seed=1, board=BOARD, kind="wires", faults=()):
    rig = load_rig(DEFAULT_RIG)
    rig.tray_sensor["kind"] = kind
    return World(rig, board, seed, faults=faults)


def says(one):
    return wet.classify(*one.sense_extras()[:2], {})


@pytest.mark.parametrize("kind", ["wires", "float"])
@pytest.mark.parametrize("seed", range(1, 9))
def test_dry_and_wet_are_told_apart_on_any_rig(seed, kind):
    one = world(seed, kind=kind)
    assert {says(one) for _ in range(50)} == {record.TRAY_DRY} and not one.tray_wires_wet
    one.to_tray(200)
    assert {says(one) for _ in range(50)} == {record.TRAY_WET} and one.tray_wires_wet


@pytest.mark.parametrize(
    ("kind", "dry", "flooded"),
    [
        ("tray_sensor_film", record.TRAY_WET, record.TRAY_WET),
        ("tray_sensor_broken", record.TRAY_BROKEN, record.TRAY_BROKEN),
        ("tray_sensor_shorted", record.TRAY_ODD, record.TRAY_ODD),
        ("tray_float_up", record.TRAY_WET, record.TRAY_WET),
        ("tray_float_down", record.TRAY_DRY, record.TRAY_DRY),
    ],
)
def test_each_mishap_reads_as_it_would(kind, dry, flooded):
    one = world(faults=(make_fault(kind, 0.0, 7200.0),))
    assert says(one) == dry
    one.to_tray(200)
    assert says(one) == flooded and one.faults[0].bit
    one.advance(7300)
    # The pots drew the rest up.
    one.to_tray(200)
    assert says(one) == record.TRAY_WET


def test_corrosion_is_told_before_it_hides_water():
    one = world(faults=(make_fault("tray_sensor_corroded", 0.0),))
    hidden = broken = 0
    for _ in range(60):
        one.removed_ml += one.tray.take(one.tray.water_ml)
        dry = says(one)
        one.to_tray(200)
        broken = broken or dry == record.TRAY_BROKEN
        hidden += says(one) != record.TRAY_WET and not broken
        one.advance(6 * 3600)
    assert broken and not hidden


def test_a_board_without_the_sensor_has_no_part_in_it():
    plain = world(board=boards.load("esp32").device_dict())
    plain.to_tray(500)
    assert not plain.tray_wires_wet and plain.sense_extras() == [0, 0, 0]
    with_one = world()
    with_one.to_tray(500)
    # Its own streams: nothing else is drawn otherwise.
    assert plain.sense() == with_one.sense()


def test_wet_electronics_say_nonsense_and_then_nothing():
    one = world(faults=(make_fault("water_on_electronics", 0.0, mad_s=900.0),))
    assert len({tuple(one.sense_extras()) for _ in range(20)}) > 10
    one.advance(1000)
    assert one.sense_extras() == [0, 0, 0] and says(one) == record.TRAY_ODD


def test_emptied_by_a_person_is_booked():
    one = world(faults=(make_fault("tray_emptied", 3600.0),))
    one.to_tray(300)
    one.added_ml += 300
    one.advance(4000)
    assert one.tray.water_ml < 1 and abs(one.balance_error_ml()) < 1e-6


def test_one_that_lies_says_now_this_and_now_that_whatever_the_tray_holds():
    one = world(faults=(make_fault("tray_sensor_lies", 0.0, 7200.0),))
    assert len({says(one) for _ in range(200)}) > 1 and one.faults[0].bit
    one.advance(7300)
    assert {says(one) for _ in range(50)} == {record.TRAY_DRY}
