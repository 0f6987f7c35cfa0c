"""`potreeve board new`: whatever it writes loads, can be rehearsed and is safe; what won't do is told, not written."""

import json
import re
import tempfile
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from potreeve_tools import cli
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.boards import boardtoml, newboard
from potreeve_tools.boards.chips import CHIPS
from potreeve_tools.rehearsal.rehearse import make_session, run
from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world import rooms

# Written down anew, not taken from chips.py, so that a slip there shows: data sheets and pin-outs, from memory.
NO_WATER = {
    "rp2040": {0, 1, 23, 24, 25, 29},
    "rp2350": {0, 1, 23, 24, 25, 29},
    "esp32": {0, 1, 2, 3, 5, 6, 7, 8, 9, 10, 11, 12, 15, 34, 35, 36, 37, 38, 39},
}


def call(*words, **more):
    return CliRunner().invoke(cli.cli, ["board", "new", *map(str, words)], **more)


def wet(board):
    """Pins that move water."""
    pins = board["pins"]
    return [pin for pin in [*pins["pumps"], pins["pump_enable"]] if pin >= 0]


pin = st.integers(-1, 40)
keys = {key: st.lists(pin, min_size=1, max_size=4) if key in newboard.LISTS else pin for key in newboard.ROLES}
wishes = st.fixed_dictionaries(
    {
        "mcu": st.sampled_from(sorted(CHIPS)),
        "pots": st.integers(1, 4),
        "pins": st.fixed_dictionaries({}, optional=keys),
        "sensors": st.fixed_dictionaries(
            {}, optional={"climate": st.sampled_from(newboard.CLIMATES), "light": st.sampled_from(newboard.LIGHTS)}
        ),
    }
)


def made(wish):
    """(text, None) or (None, faults)."""
    try:
        return newboard.Plan("mine.toml", "mine", **wish).fill().text(), None
    except BadInput as fault:
        return None, fault.faults


@settings(max_examples=300, deadline=None)
@given(wishes)
def test_whatever_is_written_loads_and_no_pump_is_where_it_may_pulse(wish):
    text, faults = made(wish)
    if faults:
        for fault in faults:
            assert re.match(r"mine\.toml.*: .+: .+; .+", fault) and "\n" not in fault, fault
        return
    board = boards.parse(tomllib.loads(text), "mine.toml").device_dict()
    assert not set(wet(board)) & NO_WATER[board["mcu"]]
    assert len(board["pins"]["pumps"]) == wish["pots"] == len(board["pins"]["probes"])
    assert all(board["pins"][key] == value for key, value in wish["pins"].items() if key not in ("i2c_id",))
    assert "Extra-low voltage" in text and "Local codes" in text and "drip loop" in text
    assert max(map(len, text.split("name = ")[0].splitlines())) <= 120


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(CHIPS)), st.integers(1, 4), st.sampled_from(newboard.CLIMATES))
def test_without_a_pin_given_there_always_is_a_board(mcu, pots, climate):
    text, faults = made({"mcu": mcu, "pots": pots, "sensors": {"climate": climate}})
    assert faults is None and "assumed as for" in text


@settings(max_examples=8, deadline=None)
@given(wishes.filter(lambda wish: made(wish)[0] is not None))
def test_whatever_is_written_can_be_rehearsed(wish):
    board = boards.parse(tomllib.loads(made(wish)[0]), "mine.toml").device_dict()
    session = run(make_session(rooms.rig_for(board), board, 0.3, seed=1), "cpython")
    assert len(session.samples[-1]["pots"]) == wish["pots"]


@pytest.mark.parametrize("mcu", sorted(CHIPS))
def test_every_pin_that_must_not_be_a_pumps_is_refused(mcu):
    for number in sorted(NO_WATER[mcu]):
        for key, value in (("pumps", [number]), ("pump_enable", number)):
            text, faults = made({"mcu": mcu, "pots": 1, "pins": {key: value}})
            assert text is None and any(f"{number}: " in fault and key in fault for fault in faults), (number, faults)


def test_it_writes_once_and_says_what_it_chose(tmp_path):
    path = tmp_path / "my_board.toml"
    done = call(path, "--chip", "esp32", "--pots", "4", "--pin", "buzzer=none")
    assert done.exit_code == 0 and "Chosen for you: " in done.stderr and "assumed" in done.stderr
    board = boards.load(path)
    assert board.name == "my_board" and board.data["pins"]["buzzer"] == -1
    assert {figure.mark for figure in board.energy.values()} == {"M"}
    assert all(figure.source.startswith("assumed as for esp32, not measured") for figure in board.energy.values())
    before = path.read_bytes()
    done = call(path, "--chip", "esp32", "--pots", "3")
    assert done.exit_code == exits.BAD_INPUT and "never written over" in done.stderr and path.read_bytes() == before


def test_a_thermometer_in_the_soil(tmp_path):
    path = tmp_path / "b.toml"
    # The pin that is usually a pump's is taken: others are chosen round it.
    done = call(path, "--chip", "rp2040", "--pots", "2", "--soil-pin", "6", "--json")
    assert done.exit_code == 0, done.stderr
    told, board = json.loads(done.stdout), boards.load(path).device_dict()
    assert told["extras"] == {"soil_pin": 6} and board["extras"]["soil_pin"] == 6
    assert 6 not in board["pins"]["pumps"] and "DS18B20" in path.read_text()
    answers = tmp_path / "wiring.json"
    answers.write_text(json.dumps({"chip": "esp32", "pots": 1, "soil_pin": 32}))
    assert call(tmp_path / "c.toml", "--answers", answers).exit_code == 0
    assert boards.load(tmp_path / "c.toml").device_dict()["extras"]["soil_pin"] == 32
    for chip, pin, told in (("esp32", 34, "is an input only"), ("rp2040", 24, "belongs to"), ("esp32", 2, "boot mode")):
        done = call(tmp_path / "d.toml", "--chip", chip, "--pots", "2", "--soil-pin", pin)
        assert done.exit_code == exits.BAD_INPUT and told in done.stderr and not (tmp_path / "d.toml").exists()
    done = call(tmp_path / "d.toml", "--chip", "rp2040", "--pots", "2", "--soil-pin", "14", "--pin", "button=14")
    assert done.exit_code == exits.BAD_INPUT and "the same pin as button" in done.stderr


def test_boot_pins_come_last_and_a_missing_master_switch_is_warned_of(tmp_path):
    """An esp32 whose every other pin that can drive is given away."""
    pins = {"pumps": [18, 19, 23, 17], "probe_select": [13, 14, 16], "probe_adc": 32, "probe_power": 33, "i2c_sda": 21}
    pins |= {"i2c_scl": 22, "pump_enable": 25, "button": 27, "battery_adc": 39, "led_ok": 4, "led_warn": 26}
    text, faults = made({"mcu": "esp32", "pots": 4, "pins": pins})
    # The pins that set the boot mode are what is left for a buzzer.
    assert faults is None and tomllib.loads(text)["pins"]["buzzer"] in CHIPS["esp32"].boot
    done = call(tmp_path / "b.toml", "--chip", "esp32", "--pots", "1", "--pin", "pump_enable=none")
    assert done.exit_code == 0 and "Caution: without a master switch" in done.stderr


def test_dry_run_writes_nothing_and_shows_all(tmp_path):
    path = tmp_path / "b.toml"
    done = call(path, "--chip", "rp2040", "--pots", "4", "--dry-run")
    assert done.exit_code == 0 and not path.exists()
    assert tomllib.loads(done.stdout)["pins"]["pumps"] == [6, 7, 8, 9], "as on the board for four"
    for_programs = json.loads(call(path, "--chip", "rp2040", "--pots", "4", "--dry-run", "--json").stdout)
    assert for_programs["text"] == done.stdout and for_programs["written"] is False and not path.exists()
    assert "pumps" in for_programs["chosen"] and "sleep_ua" in for_programs["assumed"]


def test_all_faults_are_told_at_once_and_nothing_is_written(tmp_path):
    path = tmp_path / "b.toml"
    pins = ("--pin", "pumps=0,7", "--pin", "led_ok=29", "--pin", "buttn=3")
    done = call(path, "--chip", "rp2040", *pins)
    assert done.exit_code == exits.BAD_INPUT and not path.exists()
    for words in ('did you mean "button"', "pumps[0] = 0: a pin of the first serial port", "led_ok = 29: belongs to"):
        assert words in done.stderr


@pytest.mark.parametrize(
    "words, told",
    [
        ((), "--chip is missing and nobody is there to ask"),
        (("--chip", "esp32"), "--pots is missing"),
        (("--chip", "esp32", "--pots", "2", "--pin", "pumps=18"), "but 1 pumps are given"),
        (("--chip", "esp32", "--pin", "pumps=18,19,21,22,23"), "tends 4 pots at most"),
        (("--chip", "esp32", "--pots", "2", "--pin", "pumps=x"), "--pin pumps=x: not pins"),
        (("--chip", "esp32", "--pots", "2", "--pin", "pumps=99,18"), "not pins"),
        (("--chip", "esp32", "--pots", "2", "--pin", "button=1,2"), "more than one pin; give one"),
        (("--chip", "esp32", "--pots", "2", "--climate", "bme820"), 'did you mean "bme280"'),
        (("--chip", "esp32", "--pots", "2", "--name", "esp32"), "a board of Potreeve's has that name"),
        (("--chip", "esp32", "--pots", "2", "--name", 'x"y'), "no name"),
        (("--chip", "esp32", "--pots", "2", "--micropython", "RPI_PICO_W"), "a build for another chip"),
        (("--chip", "esp32", "--pots", "1", "--pin", "pumps=18,", "--pin", "buzzer="), "not pins"),
        (("--chip", "rp2040", "--pots", "1", "--pin", "i2c_sda=13"), "not a pin of I2C"),
        (("--chip", "rp2040", "--pots", "1", "--pin", "i2c_sda=none"), "needs the I2C bus"),
    ],
)
def test_what_will_not_do_is_told(tmp_path, words, told):
    path = tmp_path / "b.toml"
    done = call(path, *words)
    assert done.exit_code == exits.BAD_INPUT and told in done.stderr and not path.exists(), done.stderr
    assert "Traceback" not in done.stderr


def test_answers_come_from_a_file_and_options_go_before_them(tmp_path):
    answers = tmp_path / "a.json"
    answers.write_text(json.dumps({"chip": "esp32", "pots": 2, "pins": {"pumps": [18, 19], "buzzer": -1}}))
    done = call(tmp_path / "b.toml", "--answers", answers, "--pin", "pumps=23,17", "--climate", "none")
    assert done.exit_code == 0, done.stderr
    board = boards.load(tmp_path / "b.toml").device_dict()
    assert board["pins"]["pumps"] == [23, 17] and board["pins"]["buzzer"] == -1
    assert board["sensors"]["climate"] == "none"
    answers.write_text('{"chp": "esp32", "pins": {"pumps": ["a"]}, "pots": 9}')
    done = call(tmp_path / "c.toml", "--answers", answers)
    assert done.exit_code == exits.BAD_INPUT
    for words in ('did you mean "chip"', "no pins", "too large"):
        assert words in done.stderr


def test_a_person_is_asked_until_the_answer_will_do(tmp_path, monkeypatch):
    from potreeve_tools.commands import board_new

    monkeypatch.setattr(board_new.screen, "is_terminal", lambda stream: True)
    path = tmp_path / "b.toml"
    # Chip, pots, two sensors, then the pumps: first a pin that sets the boot mode; then all as suggested.
    done = call(path, input="esp32\n2\nnone\nnone\n12,18\n18,19\n" + "\n" * 12)
    assert done.exit_code == 0, done.stderr
    assert "pumps = 12: sets the boot mode" in done.stderr
    board = boards.load(path).device_dict()
    assert board["pins"]["pumps"] == [18, 19] and board["pins"]["i2c_sda"] == -1


def test_a_device_form_becomes_the_same_board_file_again():
    for name in boards.names():
        device = boards.load(name).device_dict()
        assert boards.parse(tomllib.loads(boardtoml.of_device(device)), Path("x.toml")).device_dict() == device


def test_a_table_that_only_some_boards_have_is_not_lost():
    device = boards.load("esp32").device_dict() | {"extras": {"wires": [13, 14, 33], "kind": "", "pin": -1}}
    assert tomllib.loads(boardtoml.of_device(device))["extras"] == {"wires": [13, 14, 33]}


def test_a_place_that_will_not_do(tmp_path):
    assert "name it b.toml" in call(tmp_path / "b.txt", "--chip", "esp32", "--pots", "1").stderr
    assert "there is no folder" in call(tmp_path / "no" / "b.toml", "--chip", "esp32", "--pots", "1").stderr
    with tempfile.TemporaryDirectory() as folder:
        link = Path(folder) / "l.toml"
        link.symlink_to(Path(folder) / "elsewhere.toml")
        assert call(link, "--chip", "esp32", "--pots", "1").exit_code == exits.BAD_INPUT
