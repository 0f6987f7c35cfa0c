"""The benches that weigh the firmware: their bounds, and that they can be told apart from nothing."""

import json
import shutil

import pytest
from click.testing import CliRunner
from potreeve_tools.bench import footprint, speed
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.cli import cli
from potreeve_tools.image import compiled


@pytest.fixture(scope="module")
def weighed():
    """What the bench finds of the firmware as it is."""
    return footprint.run()


@pytest.fixture
def weighed_before(weighed, monkeypatch):
    """The command finds what was found before: it takes a quarter of a minute."""
    monkeypatch.setattr(footprint, "run", lambda: weighed)


def row_of(weighed, board):
    return next(row for row in weighed["heap"] if row["board"] == board)


def test_compiled_firmware_stays_within_its_aim_and_no_wake_leaves_anything_behind(weighed_before):
    result = CliRunner().invoke(cli, ["bench", "footprint", "--json"])
    found = json.loads(result.stdout)
    assert found["mpy_bytes"] <= found["mpy_aim_bytes"]
    weights = {row["file"]: row["mpy_bytes"] for row in found["files"]}
    assert found["mpy_bytes"] == max(found["image_bytes"].values()) < sum(weights.values())
    # The pins of latched.toml: its clock, no pulses, no diode, and the other climate sensors.
    radio = [name.removeprefix("potreeve/").removesuffix(".py") for name in compiled.RADIO]
    extras = ("extras", "logic/extra", "logic/extra_keys", "hal/wet", "logic/wet", "hal/tub", "hal/strip")
    extras += ("logic/tub", "logic/tub_guard", "logic/tub_marks", "logic/tub_keys")
    extras += ("hal/soil", "logic/ds18b20")
    extras += ("lit", "hal/display", "hal/picture", "logic/face", "logic/facepot", "logic/facewords")
    climates = ("hal/sht4x", "logic/sht4x", "hal/htu21d", "logic/htu21d")
    unwired = (*radio, *extras, *climates, "hal/pulses", "hal/photodiode", "logic/diode")
    assert found["image_bytes"]["latched"] == sum(weights.values()) - sum(
        weights[f"potreeve/{name}.py"] for name in unwired
    )
    assert max(found["radio_bytes"].values()) <= found["radio_aim_bytes"] == 73_728
    assert max(found["extras_bytes"].values()) <= found["extras_aim_bytes"]
    sizes = [weights[f"potreeve/{name}.py"] for name in radio]
    assert found["radio_bytes"]["latched"] == found["image_bytes"]["latched"] - weights["main.py"] + sum(sizes)
    assert found["growth"] == {
        "wakes": 1000,
        "before": found["growth"]["before"],
        "after": found["growth"]["before"],
        "grown": 0,
    }
    assert [row["board"] for row in found["heap"]] == boards.names()
    for row in found["heap"]:
        # Without hal, 24 kB would be missing.
        assert 15_000 < row["hal"] < row["code"] < row["alive"] < row["peak"], row
        assert row["hal"] < row["radio"] < row["radio_peak"] <= row["heap"], row
        assert row["peak"] <= row["heap"], row
        assert row["free"] == row["heap"] - max(row["peak"], row["display_peak"]), row
        # A display's modules, once what decided is gone, take less than that did; and they were loaded at all.
        wired = boards.load(row["board"]).data.get("extras", {}).get("display", "none") != "none"
        assert bool(row["display"]) == wired and row["display_peak"] <= row["heap"], row
        assert not wired or (row["showing"] > 1024 and row["names"] > 900), row
    assert result.exit_code == 0


def test_a_firmware_too_large_for_a_board_is_told(tmp_path, weighed):
    """What is alive for good, and what one wake holds at once, both count."""
    firmware = tmp_path / "firmware"
    shutil.copytree(footprint.FIRMWARE, firmware)
    plain = row_of(weighed, "esp32")
    assert plain["free"] >= 0
    app = firmware / "potreeve" / "app.py"
    app.write_text(app.read_text() + f"\n\nBALLAST = bytes({plain['free'] + 1000})\n")
    assert footprint.heap("esp32", firmware)["free"] < 0
    cycle = firmware / "potreeve" / "logic" / "cycle.py"
    shutil.copy(footprint.FIRMWARE / "potreeve" / "app.py", app)
    cycle.write_text(
        cycle.read_text()
        .replace("def step(before", f"BULK = {plain['free'] + 2000}\n\n\ndef step(before")
        .replace(
            "    state = copy(before)\n    rig = state.rig\n    remember",
            "    bulk = bytes(BULK)\n    state = copy(before)\n    rig = state.rig\n    rig.bulk = bulk\n    remember",
        )
    )
    assert "rig.bulk" in cycle.read_text()
    assert footprint.heap("esp32", firmware)["free"] < 0


def test_what_a_board_is_not_wired_for_weighs_nothing(weighed):
    latched, kept = row_of(weighed, "latched"), row_of(weighed, "rp2040_wifi")
    assert latched["hal"] > kept["hal"] + 1000


def test_the_table_names_every_file(weighed_before):
    text = CliRunner().invoke(cli, ["bench", "footprint"]).stdout
    assert "potreeve/logic/watch.py" in text and "Heap of each board" in text


def test_speed_measures_each_interpreter_and_each_part():
    found = speed.run(days=2)
    assert [row["interpreter"] for row in found["interpreters"]] == ["cpython", "micropython", "micropython32"]
    assert all(
        row["wakes"] > 80 and row["days_per_s"] > 0 and row["wake_us"] > row["world_us"]
        for row in found["interpreters"]
    )
    assert set(found["parts_us"]) == {
        "read",
        "decide",
        "store the ledger",
        "append to the log",
        "parse the rig's answer",
    }


def test_growth_is_seen_where_there_is_some(tmp_path):
    """A firmware whose wakes keep something must show: the measurement can fail."""
    firmware = tmp_path / "firmware"
    shutil.copytree(footprint.FIRMWARE, firmware)
    app = firmware / "potreeve" / "app.py"
    app.write_text(
        app.read_text().replace(
            "        self._pass(stages.REPORTED)\n",
            "        self._pass(stages.REPORTED)\n        KEPT.append(bytes(16))\n",
        )
        + "\n\nKEPT = []\n"
    )
    assert footprint.growth(wakes=200, firmware=firmware)["grown"] > 200 * 16
