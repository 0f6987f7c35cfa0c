"""Any one damaged block of the board's flash: the account is never lower than the water given, or the rig counts its
memory as lost."""

import pytest
from potreeve_tools.bench import device, plainrig
from potreeve_tools.boards import boardfile as boards


def damaged(seed, cuts=4, blocks=24):
    board = boards.load("rp2040_wifi").device_dict()
    board["flash"] = {**board["flash"], "blocks": blocks}
    job = {"board": board, "settings": plainrig.settings(), "wakes": 6, "cuts": cuts, "seed": seed}
    return device.run("damage.py", job, heap="64m", timeout_s=250)[0]


@pytest.mark.parametrize("seed", [1, 2])
def test_no_damaged_block_makes_the_ledger_forget_water(seed):
    found = damaged(seed)
    assert found["faults"] == []
    # Each outcome was met: or this would show nothing.
    assert found["seen"]["whole"] > 100 and found["seen"]["lost"] > 5, found["seen"]
