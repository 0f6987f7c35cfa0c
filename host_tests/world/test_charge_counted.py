"""What the firmware counts as used, against what the world's battery gave."""

import pytest
from potreeve.logic import energy, record, recorded, timekeep
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.rehearsal import rehearse
from potreeve_tools.world.rigfile import load_rig

DAYS = 8


def counted_mah(session):
    """Charge by the records: each tells of the time since the one before."""
    uah = 0
    for line in session.records:
        head, pots = recorded.decode(line)
        pumped_ms = sum(pot["done_ms"] for pot in pots if pot["done_ms"] != record.NOT_RUN)
        started = head["cause"] != timekeep.KEPT
        uah += energy.span_uah((head["elapsed_s"], head["awake_ms"], pumped_ms, started), session.board["energy"])
    return uah / 1000.0


@pytest.mark.parametrize(("name", "within"), [("rp2040_wifi", 0.005), ("esp32", 0.05), ("latched", 0.05)])
def test_a_board_counts_what_its_battery_gives(name, within):
    """A board that measures how long it was awake knows it to half a per cent; one that starts over guesses its end."""
    rig = load_rig()
    board = boards.load(name).device_dict()
    board["energy"]["pump_ua"] = round(1000 * rig.pots[0]["pump_ma"])
    session = rehearse.run(rehearse.make_session(rig, board, DAYS, 1), "cpython")
    gave_mah = session.samples[-1]["charge_used_mah"]
    assert any(pulse.ms for pulse in session.pulses)
    assert counted_mah(session) == pytest.approx(gave_mah, rel=within)
