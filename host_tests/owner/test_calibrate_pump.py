"""A pump into a cup: what its flow is found to be, whether its tube keeps its water or runs empty between runs."""

import random

import pytest
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.owner import calibrate_pump, calibration, commission
from potreeve_tools.terminal.exits import Stop
from potreeve_tools.terminal.faultlist import read_toml
from potreeve_tools.world.rigfile import DEFAULT_RIG, check_rig
from potreeve_tools.world.water import Line
from potreeve_tools.world.world import World

BOARD = boards.load("rp2040_wifi").device_dict()


def rig(**pump):
    """The reading room, every pump changed."""
    data = read_toml(DEFAULT_RIG)
    for pot in data["pot"]:
        pot.update(pump)
    return check_rig(data, "test")


@pytest.fixture
def calibrated(monkeypatch):
    """calibrated(rig) -> (what was found for the first pot, its line, its true flow in ul/s while it was measured)."""

    def calibrate(made, seed=1, scale=True, **options):
        world = World(made, BOARD, seed)
        bench = commission.Bench(world)
        owner = commission.Owner(bench, 0, random.Random(seed), scale)
        settings = commission.make_settings(made, BOARD, seed)
        settings["channels"] = [{**table, "pump_ul_s": 0, "pulse_max_ms": 15000} for table in settings["channels"]]
        true_ul_s, run = [], Line.run

        def watched(line, seconds, mv, reservoir):
            if line.drop_mm is None:
                true_ul_s.append(1000 * line.rate_ml_s(mv, reservoir.surface_mm))
            return run(line, seconds, mv, reservoir)

        monkeypatch.setattr(Line, "run", watched)
        found = calibrate_pump.run(bench, owner, 0, settings, wanted=3, **options)[0]
        monkeypatch.undo()
        return found, world.channels[0].line, sum(true_ul_s) / len(true_ul_s)

    return calibrate


@pytest.mark.parametrize("valve", [True, False])
@pytest.mark.parametrize("tube_mm", [400, 1500])
def test_the_flow_is_that_of_a_full_tube_however_long_a_cup_takes(calibrated, valve, tube_mm):
    """A tube that runs empty while a cup is read was measured as full, and its pump as a fifth weaker than it is."""
    found, line, true_ul_s = calibrated(rig(check_valve=valve, tube_mm=tube_mm, tube_id_mm=5))
    assert abs(found["pump_ul_s"] - true_ul_s) < 0.06 * true_ul_s
    fills_ms = 1e6 * line.tube_ml / true_ul_s
    assert abs(found["prime_ms"] - fills_ms) < 0.1 * fills_ms + 250
    assert found["tube_full_h"] == (48 if valve else 0)


@pytest.mark.parametrize("valve", [True, False])
def test_a_pump_too_slow_for_a_short_run_gets_longer_ones(calibrated, valve):
    made = rig(check_valve=valve, tube_mm=1500, tube_id_mm=5, pump_ml_s=3.0)
    found, line, true_ul_s = calibrated(made, ms=2000)
    assert 1e6 * line.tube_ml / true_ul_s > 4000
    assert abs(found["pump_ul_s"] - true_ul_s) < 0.1 * true_ul_s


@pytest.mark.parametrize("seed", range(6))
def test_cups_that_are_read_by_eye_are_large_enough(calibrated, seed):
    """Of 16 ml a millilitre is much: pumps counted as half as fast again as they are, and a sound tomato's tray was
    said to be full (drawn rig 20200035)."""
    found, _, _ = calibrated(rig(check_valve=True, pump_ml_s=3.3, pump_kind="peristaltic"), seed, scale=False)
    assert found["pump_spread_pm"] <= 350


@pytest.mark.parametrize("drives", [True, False])
def test_a_pump_behind_a_converter_is_not_taken_to_slow_down(drives):
    made = rig()
    world = World(made, BOARD, 1)
    bench = commission.Bench(world)
    owner = commission.Owner(bench, 0, random.Random(1), True)
    does = owner.confirm
    owner.confirm = lambda name, question: drives if name == "drives" else does(name, question)
    settings = commission.make_settings(made, BOARD, 1)
    found = calibrate_pump.run(bench, owner, 0, settings)[0]
    assert (found["pump_cal_mv"] > 3000) == drives
    assert drives or found["pump_cal_mv"] == 0


def test_a_tube_that_is_never_filled_is_told():
    made = rig(check_valve=False, tube_mm=400, tube_id_mm=5)
    world = World(made, BOARD, 1)
    world.channels[0].line.left = 0.0
    bench = commission.Bench(world)
    settings = commission.make_settings(made, BOARD, 1)
    with pytest.raises(Stop) as stop:
        calibrate_pump.run(bench, commission.Owner(bench, 0, random.Random(1), True), 0, settings)
    assert "no water came" in str(stop.value)


SHORTS, LONGS = [(5000, 8000), (5000, 8200)], [(15000, 32000), (15000, 32000)]


def test_what_fills_the_tube_is_in_both_runs():
    fault, flow, spread_pm, prime_ms = calibration.refilled(SHORTS, LONGS, 0)
    assert (fault, flow) == (calibration.FINE, 2390) and prime_ms == 1611
    assert spread_pm >= 100 + calibration.LOW_UNSEEN_PM


def test_a_low_end_counts_as_if_its_tube_had_been_full():
    known = calibration.refilled(SHORTS, LONGS, 0, (15000, 32000))[2]
    assert calibration.refilled(SHORTS, LONGS, 0, (15000, 36000))[2] > known >= 100


@pytest.mark.parametrize(
    "shorts, longs, fault",
    [
        ([(5000, 0)] * 2, [(15000, 0)] * 2, calibration.DRY),
        ([(5000, 8000)] * 2, [(15000, 8000)] * 2, calibration.DRY),
        ([(5000, 8000)] * 2, [(15000, 12000)] * 2, calibration.SHORT),
        ([(5000, 8000)] * 2, [(15000, 20000), (15000, 40000)], calibration.UNEVEN),
        ([(5000, 8000)], [(15000, 32000)], calibration.FEW),
    ],
)
def test_runs_that_tell_nothing(shorts, longs, fault):
    assert calibration.refilled(shorts, longs, 0)[0] == fault
