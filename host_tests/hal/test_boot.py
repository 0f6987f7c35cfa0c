"""main.py on a fake board, in every way a boot can fail: pumps off first, and off at the end.

Each boot is a process of its own, in CPython and in real MicroPython.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.rehearsal.engines import STANDINS

HERE = Path(__file__).resolve().parent
FIRMWARE = HERE.parents[1] / "firmware"
# Without site packages: an installed potreeve would stand in for what a tree lacks.
INTERPRETERS = {"cpython": [sys.executable, "-S"], "micropython": [Path(sys.executable).with_name("micropython")]}
PUMPS = (6, 7, 8, 10)
OFF_FIRST = [
    ["wdt", 8000],
    ["mode", 10, 1],
    ["pin", 10, 0],
    ["mode", 6, 1],
    ["pin", 6, 0],
    ["mode", 7, 1],
    ["pin", 7, 0],
    ["mode", 8, 1],
    ["pin", 8, 0],
]

# The application of a boot: it notes on the bench that it came to life.
NOTE = "from bench import bench\nbench.log('app', 'imported')\n"
PULSE = NOTE + "def run(rig):\n    rig.pumps.pulse(1, 1000, lambda: None)\n    bench.log('app', 'went on')\n"
FEED_BREAKS = NOTE + "def bad():\n    raise RuntimeError('feed')\ndef run(rig):\n    rig.pumps.pulse(1, 1000, bad)\n"
SWITCHED_BY_HAND = NOTE + "def run(rig):\n    rig.pumps._pins[0].value(1)\n    raise ValueError('broken')\n"


class Boot:
    """What a boot did. events: [kind, ...] in order; pins: [pin, level] written; ended, console: words."""

    def __init__(self, output):
        line = [line for line in output.splitlines() if line.startswith("RESULT ")][0]
        result = json.loads(line[7:])
        self.ended = result["ended"]
        self.now_ms = result["now_ms"]
        self.files = result["files"]
        self.events = [event[:3] for event in result["events"]]
        self.console = output
        self.pins = [event[1:3] for event in self.events if event[0] == "pin"]

    @property
    def apps(self):
        return [event[1] for event in self.events if event[0] == "app"]

    def last(self, pin):
        """Level last written to a pin, or None."""
        levels = [level for number, level in self.pins if number == pin]
        return levels[-1] if levels else None


@pytest.fixture(params=sorted(INTERPRETERS))
def boot(request, tmp_path):
    """boot(app=source or None, board=name, mapping, text or None, ctrl_c_ms, left_on) -> Boot."""

    def run(app=PULSE, board="rp2040_wifi", ctrl_c_ms=-1, left_on=-1):
        (tmp_path / "potreeve").mkdir()
        for name in ("__init__.py", "hal", "logic", "keep.py", "service.py"):
            (tmp_path / "potreeve" / name).symlink_to(FIRMWARE / "potreeve" / name)
        (tmp_path / "main.py").symlink_to(FIRMWARE / "main.py")
        (tmp_path / "standins").symlink_to(STANDINS)
        if app is not None:
            (tmp_path / "potreeve" / "app.py").write_text(app)
        if board in boards.names():
            text = boards.load(board).device_json()
        elif isinstance(board, dict):
            text = json.dumps(board)
        else:
            text = board
        if text is not None:
            (tmp_path / "board.json").write_text(text)
        done = subprocess.run(
            [*INTERPRETERS[request.param], HERE / "boot.py", tmp_path, str(ctrl_c_ms), str(left_on)],
            capture_output=True,
            text=True,
            timeout=20,
            env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
        )
        # CPython ends by the signal after an interrupt that left exec(), even though it was caught.
        assert done.returncode in (0, -2), done.stdout + done.stderr
        return Boot(done.stdout + done.stderr)

    return run


@pytest.mark.parametrize("left_on", [-1, 6])
def test_pumps_are_off_before_the_application_is_imported(boot, left_on):
    done = boot(left_on=left_on)
    assert done.events[:9] == OFF_FIRST
    assert done.apps == ["imported", "went on"] and done.ended == "returned"
    assert done.events.index(["app", "imported"]) > 9
    assert done.pins.count([7, 1]) == 1 and all(done.last(pin) == 0 for pin in PUMPS)


@pytest.mark.parametrize("text", [None, "", "{", "[1, 2]", '{"pins": {"pumps": [10]}}', '{"pins": {"pumps": 10'])
def test_an_unusable_board_file_drives_nothing_and_says_so(boot, text):
    done = boot(board=text, ctrl_c_ms=20000)
    assert done.pins == [] and done.apps == [] and done.ended == "KeyboardInterrupt"
    # Said again and again: who plugs in later wants to know, too.
    assert "board.json" in done.console and done.console.count("not started, pumps are off") >= 15
    assert not [event for event in done.events if event[0] == "mode" and event[2] == 1]


def test_a_gap_in_the_board_file_is_told_with_pumps_off(boot):
    board = boards.load("rp2040_wifi").device_dict()
    del board["sensors"]["light"]
    done = boot(board=board, ctrl_c_ms=20000)
    assert done.events[:9] == OFF_FIRST and done.ended == "KeyboardInterrupt" and done.apps == []
    assert "light" in done.console and all(done.last(pin) == 0 for pin in PUMPS)


@pytest.mark.parametrize(
    "app", [None, "def run(rig:\n", NOTE + "import nothing_of_that_name\n", NOTE + "1 // 0\n", NOTE]
)
def test_an_application_that_does_not_load_leaves_pumps_off(boot, app):
    done = boot(app=app)
    assert done.events[:9] == OFF_FIRST and done.ended == "reset"
    assert not [level for pin, level in done.pins if pin in PUMPS and level]
    assert "restarting" in done.console and [17, 1] in done.pins


@pytest.mark.parametrize("app, words", [(FEED_BREAKS, "RuntimeError"), (SWITCHED_BY_HAND, "ValueError")])
def test_an_exception_in_the_application_ends_with_pumps_off(boot, app, words):
    done = boot(app=app)
    assert done.events[:9] == OFF_FIRST and done.ended == "reset"
    assert 1 in [level for pin, level in done.pins if pin in PUMPS]
    assert all(done.last(pin) == 0 for pin in PUMPS) and words in done.console


@pytest.mark.parametrize("ctrl_c_ms", [0, 1, 50, 500, 990])
def test_ctrl_c_in_mid_pulse_ends_with_pumps_off(boot, ctrl_c_ms):
    done = boot(ctrl_c_ms=ctrl_c_ms)
    assert done.ended == "KeyboardInterrupt" and "went on" not in done.apps
    assert all(done.last(pin) == 0 for pin in PUMPS) and "restarting" not in done.console
    assert ([7, 1] in done.pins) == (ctrl_c_ms >= 1)


def test_ctrl_c_while_standing_by_returns_to_the_prompt(boot):
    done = boot(app=FEED_BREAKS, ctrl_c_ms=5000)
    assert done.ended == "KeyboardInterrupt" and all(done.last(pin) == 0 for pin in PUMPS)


def test_a_latched_board_holds_its_power_before_the_pumps_off(boot):
    done = boot(board="latched")
    assert done.events[1:3] == [["mode", 15, 1], ["pin", 15, 1]] and done.events[:1] + done.events[3:11] == OFF_FIRST


SETTINGS = {
    "tray_headroom_ml": 500,
    "tray_area_cm2": 400,
    "channels": [
        {"name": name, "pot_ml": 1000, "holds_ml": 400, "pump_ul_s": 10000, "curve": [[50000, 0], [20000, 1000]]}
        for name in ("mint", "strawberry", "tomato")
    ],
}
"""Invented."""


def test_the_real_application_runs_on_the_real_adapters(tmp_path):
    """Six hours of the whole firmware, in MicroPython on the bench, no sensor answering: records are written,
    the watchdog never bites, the pumps end off."""
    (tmp_path / "potreeve").symlink_to(FIRMWARE / "potreeve")
    (tmp_path / "main.py").symlink_to(FIRMWARE / "main.py")
    (tmp_path / "standins").symlink_to(STANDINS)
    (tmp_path / "data").mkdir()
    (tmp_path / "settings.json").write_text(json.dumps(SETTINGS))
    (tmp_path / "board.json").write_text(boards.load("rp2040_wifi").device_json())
    hours = 6
    done = subprocess.run(
        [
            *INTERPRETERS["micropython"],
            "-X",
            "heapsize=8m",
            HERE / "boot.py",
            tmp_path,
            str(hours * 3600000),
            "-1",
            tmp_path / "settings.json",
        ],
        capture_output=True,
        text=True,
        timeout=60,
    )
    boot = Boot(done.stdout + done.stderr)
    assert boot.ended == "KeyboardInterrupt" and boot.now_ms >= hours * 3600000, boot.console[-3000:]
    assert boot.events[:9] == OFF_FIRST and ["wdt", 8388] in boot.events
    assert all(boot.last(pin) == 0 for pin in PUMPS)
    assert "settings.good.json" in boot.files, boot.files
    assert sum(size for name, size in boot.files.items() if "settings" not in name) > 1000, boot.files


def test_leaving_the_interpreter_ends_with_pumps_off(boot):
    done = boot(app=NOTE + "def run(rig):\n    rig.pumps._pins[0].value(1)\n    raise SystemExit\n")
    assert done.ended == "SystemExit" and all(done.last(pin) == 0 for pin in PUMPS)
