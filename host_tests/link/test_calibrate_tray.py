"""The sensor in the tray on a virtual board: its pins, `calibrate tray`, selftest and status, by the real firmware."""

import json

import board_files
import kit
import made
import pytest
from potreeve.logic import errors, extra, ledger, reasons, record, recorded, segments, state
from potreeve_tools.owner import calibrate_talk
from potreeve_tools.settings import settingsfile
from potreeve_tools.terminal import exits
from potreeve_tools.virtual.hands import Hands
from potreeve_tools.world.faults.kinds import make_fault

FULL = "esp32_full"
FIRST, SECOND = 2, 3


@pytest.fixture
def roomy(tmp_path):
    """A board file like rp2350_wifi with the sensor: its memory takes the logic's vectors, too. That of an RP2040
    with a sensor does not always: names and gaps add up over two thousand of them."""
    return board_files.with_extras(tmp_path, "rp2350_wifi", "tray_probe = [2, 3, 28]")


@pytest.fixture
def owner(monkeypatch):
    """owner(board): somebody who does what is asked; owner(board, lazy=True): who pours nothing."""
    confirm = calibrate_talk.Talk.confirm

    def hire(board, lazy=False):
        hands = Hands(board)

        def oblige(self, name, question):
            hands.oblige(name, 0)
            return confirm(self, name, question)

        def amount(self, name, question):
            return calibrate_talk.parse_amount("20 ml" if lazy else f"{hands.pour():.0f} ml")

        monkeypatch.setattr(calibrate_talk.Talk, "confirm", oblige)
        monkeypatch.setattr(calibrate_talk.Talk, "amount_ul", amount)

    return hire


def files(**changes):
    return {"settings.json": settingsfile.to_json(made.settings(**changes))}


def results_of(out):
    return {result["name"]: result for result in json.loads(out)["results"]}


def test_it_is_measured_dry_and_wet_and_kept(plug, potreeve, owner, roomy):
    board = plug(files(), board=roomy, awake=5.0)
    owner(board)
    code, out, err = potreeve("calibrate tray --yes", board.port)
    assert code == 0, out + err
    assert "Dry: " in out and "In water: " in out and "Done and read back" in err
    # Not driven between readings, and no pump ran.
    assert board.wiring.modes.get(FIRST, 0) == board.wiring.modes.get(SECOND, 0) == 0
    assert board.wiring.pulses == []
    found = {}
    for key in ("dry_pm", "wet_pm", "reach_ml"):
        code, out, err = potreeve(f"settings get tray_sensor.{key}", board.port)
        assert code == 0, out + err
        found[key] = int(out.split()[0] if out.split()[0].isdigit() else out.split("=")[1].split()[0])
    assert 660 <= found["dry_pm"] <= 700 and found["wet_pm"] < 250 and 30 <= found["reach_ml"] <= 100
    code, out, err = potreeve("settings undo --yes", board.port)
    assert code == 0, out + err
    assert "tray_sensor" not in json.loads(board_files.on_flash(board)["settings.json"])


def test_who_pours_nothing_or_has_no_resistor_changes_nothing(plug, potreeve, owner):
    board = plug(files(), board=FULL, awake=5.0)
    owner(board, lazy=True)
    code, out, err = potreeve("calibrate tray --yes", board.port)
    assert code == exits.FAILED and "too near" in err and "Nothing was changed" in err, (code, err, board.log)
    broken = plug(files(), board=FULL, awake=5.0, faults=(make_fault("tray_sensor_broken", 0.0),))
    owner(broken)
    code, out, err = potreeve("calibrate tray --yes", broken.port)
    assert code == exits.FAILED and "its wire is broken" in err, (code, err, broken.log)
    shorted = plug(files(), board=FULL, awake=5.0, faults=(make_fault("tray_sensor_shorted", 0.0),))
    owner(shorted)
    code, out, err = potreeve("calibrate tray --yes", shorted.port)
    assert code == exits.FAILED and "it is shorted" in err, (code, err, shorted.log)


def test_a_board_without_one_says_so(plug, potreeve):
    board = plug(files())
    code, _, err = potreeve("calibrate tray --yes", board.port)
    assert code == exits.FAILED and "tray_probe" in err


@pytest.mark.parametrize(
    ("fault", "verdict", "seen"),
    [(None, "good", "dry"), ("tray_float_up", "note", "wet"), ("tray_sensor_broken", "bad", "broken")],
)
def test_selftest_names_it(plug, potreeve, roomy, fault, verdict, seen):
    faults = (make_fault(fault, 0.0),) if fault else ()
    board = plug(files(), board=roomy, faults=faults)
    code, out, err = potreeve("selftest --json", board.port)
    result = results_of(out)["tray's sensor"]
    assert (result["verdict"], result["seen"].split(":")[0]) == (verdict, seen)
    assert results_of(out)["logic"]["verdict"] == "good", results_of(out)["logic"]
    assert code == (exits.FAILED if verdict == "bad" else exits.OK)


def test_a_board_that_tends_stops_within_the_wake_and_goes_on_once_it_is_dry(plug):
    board = plug(files(), board=FULL, usb=False, settle=False, asleep=1e5)
    assert board.wait(lambda: board.world.now_s > 3 * 3600, 60)
    # More than the pots draw up by then.
    board.do(board.world.to_tray, 600.0)
    assert board.wait(lambda: board.world.now_s > 5 * 3600, 60)
    Hands(board).wipe()
    assert board.wait(lambda: board.world.now_s > 9 * 3600, 60)
    data = board_files.on_flash(board)
    told = []
    for name in sorted(name for name in data if name.startswith(segments.PREFIX)):
        body = data[name][segments.begins(data[name]) :]
        lines = [body[at : at + record.RECORD_BYTES] for at in range(0, len(body), record.RECORD_BYTES)]
        told += [recorded.decode(line)[0] for line in lines]
    assert {head["version"] for head in told} == {record.EXTRA_VERSION}
    wet_from = next(at for at, head in enumerate(told) if head["tray_wet"] == record.TRAY_WET)
    assert told[wet_from - 1]["tray_wet"] == record.TRAY_DRY and told[wet_from]["hold"] == reasons.WET_TRAY
    assert not told[-1]["errors"] & errors.TRAY_SENSOR
    assert told[-1]["tray_wet"] == record.TRAY_DRY and not told[-1]["hold"]
    known = {head["tray_wet"] for head in told}
    assert known == {record.TRAY_DRY, record.TRAY_WET}


def test_status_tells_what_it_feels(plug, potreeve, roomy):
    now = state.fresh(3)
    now.rig.memory = 0
    now.rig.hold = reasons.WET_TRAY
    now.extra = extra.fresh()
    now.extra.tray_wet = record.TRAY_WET
    head = (3, 5, 9000, 1795600000, 1800, 1500, 6, 0, 3900, 2100, 450, 800, 0, 1800, 56, 2, 0, 900, 30, 960, 0)
    line = extra.in_record(
        record.encode(head, [(30000, 40, record.NOT_RUN, 0, 800, 0, 0, 0, 0)] * 3),
        kit.make_readings([800] * 3, tray_wet=record.TRAY_WET),
        now.extra,
    )
    log = {segments.name(1): segments.encode_head(1, now) + line}
    board = plug({**files(), **log, "ledger.a": ledger.encode(1, now)}, board=roomy)
    code, out, err = potreeve("status", board.port)
    assert "its sensor feels water" in out and "empty and dry the tray" in " ".join(out.split()), out + err
    told = json.loads(potreeve("status --json", board.port)[1])
    assert told["tray_sensor"] == "wet"
    # Nobody pumps on command into a wet tray.
    refused = potreeve("selftest --water --json", board.port)[1]
    assert "feels water" in results_of(refused)["pump mint"]["seen"]
    assert board.wiring.pulses == []
