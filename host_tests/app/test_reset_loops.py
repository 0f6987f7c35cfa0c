"""A board that starts over at every stage of its wake, forty times: caps hold, and a ledger that can be written holds
it.

Brown-outs in mid-pulse among them (tools/potreeve_tools/standins/proofs/loops.py); afterwards it must tend again.
"""

import shutil

import pytest
from potreeve.logic import ladder, stages
from potreeve_tools.bench import loops
from potreeve_tools.rehearsal.engines import FIRMWARE

PULSE = 7


@pytest.mark.parametrize("board, interpreter", [("rp2040_wifi", "micropython"), ("esp32", "cpython")])
def test_reset_loops(board, interpreter, capsys):
    found = loops.run(board, interpreter)
    with capsys.disabled():
        print(f"\n  {board}: {sum(one['resets'] for one in found['loops'])} resets in {len(found['loops'])} loops")
    assert not found["faults"], found["faults"][:10]
    tried = {one["stage"] for one in found["loops"]}
    assert tried == {PULSE, *range(stages.START, stages.REPORTED + 1)}
    for one in found["loops"]:
        if one["stage"] >= stages.STORED and one["every"] == 1:
            assert one["held_after"] == ladder.BOOTS_HOLD
    # Some of them did give water, else the caps were never near.
    assert max(one["pulses"] for one in found["loops"]) >= 2


BROKEN = (
    ("forgets open intents", "potreeve/logic/water.py", "    limits.spend(pot, most_ul)\n", "", "W2"),
    ("never holds", "potreeve/logic/ladder.py", "rig.hold = reasons.REBOOTS", "rig.hold = reasons.NONE", "not held"),
    ("never forgives", "potreeve/logic/ladder.py", "        rig.boots -= 1\n", "", "still held"),
)


@pytest.mark.parametrize("what, path, text, instead, says", BROKEN, ids=[row[0] for row in BROKEN])
def test_the_loops_notice_firmware_that(what, path, text, instead, says, tmp_path):
    tree = tmp_path / "firmware"
    shutil.copytree(FIRMWARE, tree)
    source = (tree / path).read_text()
    assert text in source, "the firmware has changed: find the place to break it again"
    (tree / path).write_text(source.replace(text, instead))
    found = loops.run("rp2040_wifi", "cpython", firmware=tree, until=says)
    assert any(says in one["fault"] for one in found["faults"]), found["faults"][:10]
