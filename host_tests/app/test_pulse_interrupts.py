"""A pulse is broken off at every point of it, by Ctrl-C, an exception, or a reset: no time passes with the pump on.

The real main.py, app and pump driver over fake pins and a fake clock (tools/potreeve_tools/standins/proofs/
interrupts.py), and once more in real time with the signal that Ctrl-C is.
"""

import json
import os
import random
import shutil
import signal
import subprocess
import time

import pytest
from potreeve_tools.bench import device, failing
from potreeve_tools.rehearsal.engines import FIRMWARE, PROOFS, STANDINS

# One nap of the driver's loop, and what a busy machine may add.
OFF_WITHIN_S = 0.02 + 0.5
TRIALS = 24


def interrupts(board, interpreter, only=(), firmware=FIRMWARE, until=""):
    job = {**failing.job(board, firmware), "only": list(only), "until": until}
    lines = device.run("interrupts.py", job, interpreter, firmware)
    found = next((line for line in lines if "points" in line), {})
    found["faults"] = [line for line in lines if "id" in line]
    return found


def show(found):
    return "\n".join(f"{one['id']}: {one['fault']}" for one in found["faults"][:10])


@pytest.mark.parametrize("board, interpreter", [("rp2040_wifi", "micropython"), ("esp32", "cpython")])
def test_no_time_passes_with_a_pump_on_after_a_blow(board, interpreter, capsys):
    found = interrupts(board, interpreter)
    with capsys.disabled():
        print(f"\n  {board}, {interpreter}: {found['runs']} interrupted pulses, {found['points']} points")
    assert not found["faults"], show(found)
    assert found["points"] > 60
    assert {"pin.value", "time.ticks_ms", "time.sleep_ms", "power.feed", "battery.read_mv"} <= set(found["calls"])


BROKEN = (
    (
        "no off at the end of a pulse",
        [
            (
                "potreeve/hal/pumps.py",
                "            try:\n                self.all_off()\n            finally:\n",
                "            if True:\n",
            ),
            ("potreeve/app.py", "                rig.pumps.all_off()\n", ""),
        ],
        "error:20",
        "W1",
    ),
    (
        "off stops at the second Ctrl-C",
        [
            (
                "potreeve/hal/__init__.py",
                "            except BaseException as fault:\n                late = fault\n",
                "",
            )
        ],
        None,
        "W1",
    ),
)


@pytest.mark.parametrize("what, edits, only, says", BROKEN, ids=[row[0] for row in BROKEN])
def test_the_blows_notice(what, edits, only, says, tmp_path):
    tree = tmp_path / "firmware"
    shutil.copytree(FIRMWARE, tree)
    for path, text, instead in edits:
        source = (tree / path).read_text()
        assert source.count(text) == 1, "the firmware has changed: find the place to break it again"
        (tree / path).write_text(source.replace(text, instead))
    found = interrupts("rp2040_wifi", "cpython", only=(only,) if only else (), firmware=tree, until=says)
    assert any(says in one["fault"] for one in found["faults"]), show(found)


def press_ctrl_c(folder, rng, presses):
    """Start pulsing, press Ctrl-C so many times; returns (seconds from the first press to off, last levels)."""
    job, result = folder / "job.json", folder / "result.txt"
    job.write_text(json.dumps({"main": (FIRMWARE / "main.py").read_text()}))
    result.write_text("")
    path = ":".join(str(p) for p in (PROOFS, STANDINS, FIRMWARE, ".frozen"))
    with subprocess.Popen(
        [*device.MICROPYTHON, str(PROOFS / "sigint.py"), str(job), str(result)],
        env={"PATH": "/usr/bin:/bin", "MICROPYPATH": path},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    ) as process:
        give_up = time.monotonic() + 20
        while not result.read_text().endswith(" 1\n") and time.monotonic() < give_up:
            time.sleep(0.005)
        time.sleep(rng.uniform(0.0, 0.3))
        pressed_ns = time.time_ns()
        for _ in range(presses):
            try:
                os.kill(process.pid, signal.SIGINT)
            except ProcessLookupError:
                break
            time.sleep(rng.choice([0.0, 0.0001, 0.001]))
        process.wait(20)
    lines = [line.split() for line in result.read_text().splitlines()]
    levels = {}
    for _, pin, level in lines:
        levels[int(pin)] = int(level)
    # The write after which nothing was on any more.
    off_ns = next(int(line[0]) for line in lines if int(line[0]) > pressed_ns and line[2] == "0")
    assert not [line for line in lines if int(line[0]) > off_ns and line[2] == "1"]
    return (off_ns - pressed_ns) / 1e9, levels


@pytest.mark.skipif(os.name == "nt", reason="sends a signal as a terminal on Unix does")
def test_ctrl_c_as_a_signal_in_real_micropython(tmp_path):
    rng = random.Random("ctrl-c")
    slowest = 0.0
    for trial in range(TRIALS):
        took_s, levels = press_ctrl_c(tmp_path, rng, 1 + trial % 4)
        assert levels == {0: 0, 1: 0, 2: 0, 3: 0}, f"trial {trial}: a pin was left on"
        slowest = max(slowest, took_s)
    assert slowest < OFF_WITHIN_S
