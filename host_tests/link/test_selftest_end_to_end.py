"""`potreeve selftest` on a virtual board, whole and harmed in many ways."""

import json
from pathlib import Path

import board_files
import made
import pytest
from potreeve.logic import ledger, state
from potreeve_tools.image import constants
from potreeve_tools.link import selftest_vectors
from potreeve_tools.rehearsal.engines import FIRMWARE
from potreeve_tools.settings import settingsfile
from potreeve_tools.terminal import exits
from potreeve_tools.world.faults.kinds import make_fault

LOGIC_TESTS = Path(__file__).resolve().parents[1] / "logic"


def test_what_is_shipped_is_what_is_tested():
    assert selftest_vectors.load() == selftest_vectors.gather(LOGIC_TESTS), (
        "gather them anew: python -m potreeve_tools.link.selftest_vectors host_tests/logic"
    )


def test_vectors_that_no_board_could_read_are_not_gathered(tmp_path):
    vectors = tmp_path / "vectors"
    vectors.mkdir()
    (vectors / "made.py").write_text("POT = {}\n", encoding="utf-8")
    (vectors / "units.py").write_text("from vectors.settings import POT\nVECTORS = ()\n", encoding="utf-8")
    with pytest.raises(ValueError, match=r"vectors\.settings.*vectors\.made"):
        selftest_vectors.gather(tmp_path)


def results_of(out):
    return {result["name"]: result for result in json.loads(out)["results"]}


def lively():
    now = state.fresh(3)
    now.rig.memory = 0
    return {"settings.json": settingsfile.to_json(made.settings()), "ledger.a": ledger.encode(1, now)}


def test_a_whole_board_passes(plug, potreeve):
    board = plug(lively())
    code, out, err = potreeve("selftest --json", board.port)
    assert code == exits.OK, out + err
    results = results_of(out)
    shipped = selftest_vectors.load()
    assert int(results["logic"]["seen"].split()[0]) >= sum(len(part["vectors"]) for part in shipped.values())
    assert {
        "pins",
        "button",
        "I2C",
        "battery",
        "climate",
        "light",
        "counter",
        "clock",
        "heap",
        "flash",
        "files",
        "probe mint",
        "probe strawberry",
        "probe cherry tomato",
    } <= set(results)
    assert board.wiring.pulses == []


def test_water_runs_each_pump_once_and_briefly(plug, potreeve):
    board = plug(lively())
    code, out, err = potreeve("selftest --water --json", board.port)
    assert code == exits.OK, out + err
    assert [channel for channel, _ in board.wiring.pulses] == [0, 1, 2]
    assert all(400 <= ms <= 700 for _, ms in board.wiring.pulses)
    spent = ledger.choose(*(board_files.on_flash(board).get(name) for name in ledger.SLOTS))[0]
    assert all(sum(pot.spent) > 0 for pot in spent.pots)


def test_no_water_without_settings_or_beyond_the_caps(plug, potreeve):
    board = plug()
    code, out, _ = potreeve("selftest --water --json", board.port)
    assert code == exits.FAILED and "no cap is known" in results_of(out)["pumps"]["seen"]
    assert board.wiring.pulses == []
    board.stop()
    held = state.fresh(3)
    held.rig.memory, held.rig.tray_ul = 0, 960000
    board = plug({"settings.json": settingsfile.to_json(made.settings()), "ledger.a": ledger.encode(1, held)})
    code, out, _ = potreeve("selftest --water --json", board.port)
    assert code == exits.OK and "not run" in results_of(out)["pump mint"]["seen"]
    assert board.wiring.pulses == []


@pytest.mark.parametrize(
    "fault, name",
    [
        (make_fault("probe_broken", 0.0, channel=1), "probe strawberry"),
        (make_fault("probe_shorted", 0.0, channel=0), "probe mint"),
        (make_fault("climate_silent", 0.0), "climate"),
        (make_fault("light_silent", 0.0), "light"),
    ],
)
def test_what_is_broken_is_named(plug, potreeve, fault, name):
    board = plug(lively(), faults=[fault])
    code, out, _ = potreeve("selftest --json", board.port)
    assert code == exits.FAILED
    assert [
        result["name"]
        for result in json.loads(out)["results"]
        if result["verdict"] == "bad" and result["name"] != "I2C"
    ] == [name]


def test_a_board_that_was_sent_only_its_own_sensors_passes(plug, potreeve, monkeypatch):
    """As flashed: without the sums of sensors it is not wired for. A few modules of logic stand for all."""
    shipped = {
        name: selftest_vectors.load()[name] for name in ("made", "units", "air", "sht4x", "htu21d", "light", "diode")
    }
    monkeypatch.setattr(selftest_vectors, "load", lambda: shipped)
    board = plug(lively())
    code, _, err = potreeve("flash --no-gate --confirm rp2040_wifi", board.port)
    assert code == exits.OK, err
    code, out, err = potreeve("selftest --json", board.port)
    logic = results_of(out)["logic"]
    absent = sum(len(shipped[module]["vectors"]) for module in ("sht4x", "htu21d", "diode"))
    assert logic["verdict"] == "good", out + err
    assert int(logic["seen"].split()[0]) == sum(len(part["vectors"]) for part in shipped.values()) - absent


def test_one_wrong_number_in_the_boards_logic_is_found(plug, potreeve):
    """A board whose limits.py makes a day of shorter buckets: one digit."""
    # As the compiler is given it: its neighbours on the board have no constants to ask for.
    source = constants.in_place(FIRMWARE, "potreeve/logic/limits.py")
    assert "7320" in source
    board = plug({**lively(), "/potreeve/logic/limits.py": source.replace("7320", "7310").encode()})
    code, out, _ = potreeve("selftest --json", board.port)
    assert code == exits.FAILED and results_of(out)["logic"]["verdict"] == "bad"
    assert "limits" in results_of(out)["logic"]["seen"] and "differ" in results_of(out)["logic"]["seen"]
