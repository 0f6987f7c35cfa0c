"""Probes that pulse, in the simulated rig: what a board's driver makes of their edges, and a rehearsal on them."""

import copy
import random

import pytest
from potreeve.logic import errors, moisture, reasons, recorded
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.owner import commission
from potreeve_tools.rehearsal import rehearse
from potreeve_tools.world.probe import Probe
from potreeve_tools.world.rigfile import load_rig


def mapping(name, window_ms=100):
    board = copy.deepcopy(boards.load(name).device_dict())
    board["pins"].update(probe_kind="pulses", probe_window_ms=window_ms)
    return board


@pytest.mark.parametrize("window_s", [0.05, 0.1, 0.2, 0.5])
@pytest.mark.parametrize("theta", [-0.03, 0.1, 0.4, 0.8])
def test_a_sound_probe_is_not_noisy(window_s, theta):
    """hal/pulses.py times the first and the last edge of a window: far finer than counting them."""
    for seed in range(5):
        one = Probe("pulses", random.Random(seed), window_s=window_s)
        settings = {"spread_raw": 0, "curve": [(60000, 0), (5000, 1000)]}
        bursts = [moisture.burst(one.burst(theta, 20.0, 0.0)) for _ in range(50)]
        assert {moisture.complaint(raw, spread, settings) for raw, spread in bursts} == {reasons.NONE}
        assert any(raw % int(100 / window_s) for raw, _ in bursts)


def test_a_loose_contact_is():
    loose = Probe("pulses", random.Random(1), window_s=0.1, noise_mv=60.0)
    spreads = [moisture.burst(loose.burst(0.2, 20.0, 0.0))[1] for _ in range(50)]
    assert sorted(spreads)[25] > 640


def test_a_window_too_short_for_two_edges_counts_them():
    one = Probe("pulses", random.Random(1), window_s=0.004, tolerance=0.0)
    # 120 to 480 Hz: none or one in 4 ms, two at most.
    seen = {sample for _ in range(100) for sample in one.burst(0.8, 20.0, 0.0)}
    assert seen <= {0, 25000} and len(seen) == 2


@pytest.mark.parametrize("name", ["esp32", "rp2040_wifi"])
def test_a_rig_on_them_is_calibrated_and_tended(name):
    board, rig = mapping(name), load_rig()
    settings = commission.make_settings(rig, board, 2)
    session = rehearse.run(rehearse.make_session(rig, board, 4, 2, settings), "cpython")
    rows = [recorded.decode(line) for line in session.records]
    assert len(rows) > 100 and not any(head["errors"] & errors.PROBE for head, _ in rows)
    assert {pot["ladder"] for _, pots in rows for pot in pots} == {0}
    assert len({pulse.channel for pulse in session.pulses}) == 3
