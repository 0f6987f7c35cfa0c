"""The real adapters against the fake bench, in CPython and in real MicroPython: the same cases in both."""

import importlib.util
import json
import os
import subprocess
import sys
import types
import unittest.mock
from pathlib import Path

import pytest
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.rehearsal.engines import STANDINS

HERE = Path(__file__).resolve().parent
FIRMWARE = HERE.parents[1] / "firmware"
MICROPYTHON = Path(sys.executable).with_name("micropython")
NAMES = {
    line.split("(")[0][4:]: path.stem
    for path in sorted(HERE.glob("cases_*.py"))
    for line in path.read_text().splitlines()
    if line.startswith("def case_")
}


def load(name, path):
    """A module from a file, under that name."""
    spec = importlib.util.spec_from_file_location(name, path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def blank_framebuf():
    """MicroPython's framebuf for a Python that has none: it draws nothing, so only real MicroPython shows pictures."""
    frame = unittest.mock.MagicMock()
    frame.pixel.return_value = 0
    return types.SimpleNamespace(FrameBuffer=lambda *_: frame, MONO_VLSB=0)


@pytest.fixture
def ctx(monkeypatch, tmp_path):
    """What the cases work with, the stand-ins in place of `machine` and `time` until the test ends."""
    kept = {name: module for name, module in sys.modules.items() if name.startswith("potreeve.hal")}
    monkeypatch.syspath_prepend(STANDINS)
    monkeypatch.setitem(sys.modules, "bench", load("bench", STANDINS / "chip" / "bench.py"))
    for name in ("machine", "time", "esp32", "onewire"):
        monkeypatch.setitem(sys.modules, name, load(name, STANDINS / "chip" / f"{name}.py"))
    monkeypatch.setitem(sys.modules, "framebuf", blank_framebuf())
    monkeypatch.setitem(sys.modules, "displaychip", load("displaychip", STANDINS / "displaychip.py"))
    for name in ("devices", "casekit"):
        monkeypatch.setitem(sys.modules, name, load(name, HERE / f"{name}.py"))
    # Nobody wants the test machine's disks flushed at every write.
    synced = []
    monkeypatch.setattr(os, "sync", lambda: synced.append(1))
    runner = load("runner", HERE / "runner.py")
    made = runner.Ctx({name: boards.load(name).device_dict() for name in boards.names()}, f"{tmp_path}/")
    made.synced = synced
    made.begin()
    yield made
    for name in [name for name in sys.modules if name.startswith("potreeve.hal")]:
        del sys.modules[name]
    sys.modules.update(kept)


@pytest.mark.parametrize("name", NAMES)
def test_in_cpython(ctx, name):
    getattr(load(NAMES[name], HERE / f"{NAMES[name]}.py"), name)(ctx)


@pytest.fixture(scope="module")
def micropython(tmp_path_factory):
    """{case: "ok" or its fault} of one run of all cases in MicroPython."""
    folder = tmp_path_factory.mktemp("micropython")
    (folder / "board").mkdir()
    listed = folder / "boards.json"
    listed.write_text(json.dumps({name: boards.load(name).device_dict() for name in boards.names()}))
    path = ":".join(str(part) for part in (STANDINS / "chip", STANDINS, HERE, FIRMWARE))
    done = subprocess.run(
        [MICROPYTHON, HERE / "runner.py", f"{folder}/board/", listed],
        env={**os.environ, "MICROPYPATH": path},
        capture_output=True,
        text=True,
        timeout=120,
    )
    lines = [line.split("\t", 1) for line in done.stdout.splitlines() if line.startswith("case_")]
    return dict(lines), done.stdout + done.stderr


@pytest.mark.parametrize("name", NAMES)
def test_in_micropython(micropython, name):
    verdicts, output = micropython
    assert verdicts.get(name) == "ok", output[-4000:]


def test_every_write_is_synced(ctx):
    store = ctx.open(ctx.board("rp2040_wifi")).store
    store.replace("a", b"1")
    store.append("b", b"2")
    assert len(ctx.synced) == 2


def test_the_fake_calibration_is_the_data_sheets_example(ctx):
    from potreeve.logic import air

    devices = sys.modules["devices"]
    assert air.parse_bme280(devices.BME280_FIRST, devices.BME280_SECOND) == (
        27504,
        26435,
        -1000,
        36477,
        -10685,
        3024,
        2855,
        140,
        -7,
        15500,
        -14600,
        6000,
        75,
        370,
        0,
        313,
        50,
        30,
    )
