"""Taps of a rehearsed panel: begun at any time, asleep or in a wake, each reaches a record."""

import pytest
from potreeve.logic import debounce, recorded
from potreeve_tools.bench import plainrig
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.rehearsal import rehearse
from potreeve_tools.world.faults.kinds import make_fault
from potreeve_tools.world.rigfile import load_rig

TAPS = 8


@pytest.mark.parametrize("board", ["rp2040_wifi", "esp32"])
@pytest.mark.parametrize("hold_ms, told", [(100.0, debounce.SHORT), (2600.0, debounce.LONG)])
def test_each_tap_is_recorded(board, hold_ms, told):
    mapping = boards.load(board).device_dict()
    faults = [make_fault("button", 36000.0 + 3607.0 * count, hold_ms=hold_ms) for count in range(TAPS)]
    session = rehearse.make_session(load_rig(), mapping, 1, 1, settings=plainrig.settings(), faults=faults)
    rehearse.run(session, "cpython")
    seen = [recorded.decode(line)[0] for line in session.records]
    assert [head["button"] for head in seen if head["button"] and head["up_s"] > 30000] == [told] * TAPS


def test_a_tap_while_a_pump_runs_is_recorded():
    mapping = boards.load("rp2040_wifi").device_dict()
    plain = rehearse.make_session(load_rig(), mapping, 3, 1)
    rehearse.run(plain, "cpython")
    pulse = next(pulse for pulse in plain.pulses if pulse.t_s > 100000 and pulse.actual_ms > 1000)
    faults = [make_fault("button", pulse.t_s + 0.5, hold_ms=100.0)]
    session = rehearse.make_session(load_rig(), mapping, 3, 1, faults=faults)
    rehearse.run(session, "cpython")
    told = [(head["up_s"], head["button"]) for head in (recorded.decode(line)[0] for line in session.records)]
    extra = [one for one in told if one[1] and one[0] > 100000 - 2000]
    assert [event for _, event in extra] == [debounce.SHORT]
