"""Rehearsals in this process don't leak into each other."""

import shutil
import sys

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.rehearsal import cpython, engines
from potreeve_tools.rehearsal.rehearse import make_session, run
from potreeve_tools.world.rigfile import load_rig


def test_each_run_takes_the_device_it_is_given(tmp_path):
    board = boards.load("rp2040_wifi").device_dict()
    before = dict(sys.modules)
    run(make_session(load_rig(), board, 0.2, 1), "cpython")
    assert "simhal" not in sys.modules or sys.modules["simhal"] is before.get("simhal")
    device = tmp_path / "device"
    shutil.copytree(engines.STANDINS, device, ignore=shutil.ignore_patterns("__pycache__"))
    mark = tmp_path / "mark"
    with (device / "simhal.py").open("a") as file:
        file.write(f"\nopen({str(mark)!r}, 'w').close()\n")
    cpython.run(make_session(load_rig(), board, 0.2, 1), engines.FIRMWARE, device)
    assert mark.exists()
