"""The whole `potreeve selftest` on the boards with sensors in tray and tub, a display, or a fourth pot."""

import json

import board_files
import made
import pytest
from potreeve.logic import cycle, extra, ledger, record, segments, state
from potreeve_tools.settings import settingsfile
from potreeve_tools.terminal import exits
from potreeve_tools.world.faults.kinds import make_fault

TUB = {"mark1_ml": 450, "mark2_ml": 3900, "mark3_ml": 7500, "full_ml": 8500}
STRIP = {**TUB, "strip": [[47500, 0], [46800, 1], [42000, 2], [37000, 3]]}


def lively(count=3, **tables):
    """Files of a board that has settings with these tables and a memory."""
    now = state.fresh(count)
    now.rig.memory = 0
    if tables:
        now.extra = extra.fresh()
    checked = settingsfile.check({**made.settings(count), **tables}, "a test's settings")
    return {"settings.json": settingsfile.to_json(checked), "ledger.a": ledger.encode(1, now)}


def whole(plug, potreeve, files, board):
    """{name: result} of a selftest that must pass."""
    plugged = plug(files, board=board)
    code, out, err = potreeve("selftest --json", plugged.port)
    results = {result["name"]: result for result in json.loads(out)["results"]}
    bad = {name: result for name, result in results.items() if result["verdict"] == "bad"}
    assert code == exits.OK and bad == {}, f"{bad} {err}"
    return results


@pytest.mark.parametrize(
    ("board", "tables", "parts"),
    [
        ("esp32_full", {"tray_sensor": {}}, {"tray's sensor", "I2C"}),
        ("rp2040_full", {"tray_sensor": {}, "tub": TUB}, {"tray's sensor", "tub's sensor"}),
        ("rp2040_wifi_four", {}, {"probe thyme"}),
    ],
)
def test_a_whole_board_passes(plug, potreeve, board, tables, parts):
    count = len(board_files.figures(board)["pins"]["pumps"])
    results = whole(plug, potreeve, lively(count, **tables), board)
    assert parts <= set(results), sorted(results)
    assert results["logic"]["verdict"] == "good"
    # A display is asked for on the bus.
    assert ("0x3c" in results["I2C"]["seen"]) == (board == "esp32_full")


def test_a_board_with_a_strip_passes(plug, potreeve, tmp_path):
    board = board_files.with_extras(tmp_path, "rp2040_wifi", 'tub_kind = "strip"\ntub_pins = [28]')
    results = whole(plug, potreeve, lively(tub=STRIP), board)
    assert results["tub's sensor"]["verdict"] == "good" and "strip reads" in results["tub's sensor"]["seen"]


@pytest.mark.parametrize("fault", [None, "soil_sensor_off", "soil_sensor_shorted"])
def test_a_thermometer_in_the_soil_is_tried(plug, potreeve, tmp_path, fault):
    board = board_files.with_extras(tmp_path, "rp2040_wifi", "soil_pin = 15")
    plugged = plug(lively(), board=board, faults=(make_fault(fault, 0.0),) if fault else ())
    code, out, err = potreeve("selftest --json", plugged.port)
    told = {result["name"]: result for result in json.loads(out)["results"]}
    said = told["soil's thermometer"]
    if fault is None:
        soil_c = plugged.wiring.world.soil_c
        assert said["verdict"] == "good" and abs(float(said["seen"].split()[0]) - soil_c) <= 0.75 and code == exits.OK
        assert told["logic"]["verdict"] == "good"
    else:
        assert said["verdict"] == "bad" and "three wires" in said["do"] and code == exits.FAILED


def test_status_tells_the_soils_temperature(plug, potreeve, tmp_path):
    board = board_files.with_extras(tmp_path, "rp2040_wifi", "soil_pin = 15")
    now = state.fresh(3)
    now.rig.memory = 0
    now.extra = extra.fresh()
    head = (3, 5, 9000, 1795600000, 1800, 1500, 6, 0, 3900, 2100, 450, 800, 0, 1800, 0, 0, 0, 900, 30, 960, 0)
    seen = cycle.Readings()
    seen.soil_cdeg = 1875
    line = extra.in_record(record.encode(head, [(30000, 40, record.NOT_RUN, 0, 800, 0, 0, 0, 0)] * 3), seen, now.extra)
    log = {segments.name(1): segments.encode_head(1, now) + line}
    plugged = plug({**lively(), **log, "ledger.a": ledger.encode(1, now)}, board=board)
    code, out, err = potreeve("status", plugged.port)
    assert "Soil: 18.8 °C by its thermometer." in out, out + err
    assert json.loads(potreeve("status --json", plugged.port)[1])["soil_cdeg"] == 1875
