"""What was measured on a board survives a push of one's own file; what a rehearsal made up stays off real boards."""

import json
from types import SimpleNamespace

import board_files
import made
import pytest
from potreeve_tools.link import backup, calibrate_notes, settings_measured
from potreeve_tools.owner import recipe
from potreeve_tools.settings import settings_toml, settingsfile
from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput

MEASURED = {
    "curve": [[57000, -150], [40000, 300], [34000, 700], [29000, 1000]],
    "spread_raw": 150,
    "cal_temp_cdeg": 2300,
}
PUMPED = {"pump_ul_s": 5399, "pump_spread_pm": 288, "pump_cal_mv": 4200, "prime_ms": 2039}


@pytest.fixture
def new_file(tmp_path):
    """new_file(**changes of the first pot) -> path of a file as `settings new` writes it: nothing measured."""

    def write(**changes):
        path = tmp_path / "my.toml"
        settings = bare(**changes)
        path.write_text(settings_toml.to_toml(settings))
        return path

    return write


def bare(**changes):
    data = made.settings_data(3)
    for channel in data["channels"]:
        del channel["curve"], channel["pump_ul_s"]
    checked = settingsfile.check(data, "test")
    for channel in checked["channels"]:
        channel.update(recipe.fit_pump(channel, checked))
    checked["channels"][0].update(changes)
    return settingsfile.check(json.loads(json.dumps({**checked, "rig_day_ml": 960})), "test")


def calibrated(way=("probe", "pump")):
    """Files of a board whose first pot was calibrated on it."""
    settings = bare()
    table, notes = settings["channels"][0], None
    for kind, keys in (("probe", MEASURED), ("pump", PUMPED)):
        if kind in way:
            table.update(keys)
            notes = calibrate_notes.with_note(notes, calibrate_notes.make(kind, "mint", keys, "±5 ‰"))
    table.update(recipe.fit_pump(table, settings))
    settings = settingsfile.check(json.loads(json.dumps(settings)), "test")
    return {"settings.json": settingsfile.to_json(settings), **({calibrate_notes.NAME: notes} if notes else {})}


def mint_on(board):
    return json.loads(board_files.on_flash(board)["settings.json"])["channels"][0]


def test_ones_own_file_pushed_again_keeps_what_was_measured(plug, potreeve, new_file):
    files = calibrated()
    board = plug(files)
    path = new_file(depletion_pm=300)
    code, out, err = potreeve(f"settings push {path} --yes", board.port)
    assert code == exits.OK, out + err
    assert "mint: its probe stays as measured on 20" in out and "mint: its pump stays as measured on 20" in out
    assert "mint gets no water" not in out
    table, before = mint_on(board), json.loads(files["settings.json"])["channels"][0]
    assert table["depletion_pm"] == 300
    assert {**table, "depletion_pm": 0} == {**before, "depletion_pm": 0}, "pulses stay fitted to the pump, too"


def test_unless_one_says_discard(plug, potreeve, new_file):
    board = plug(calibrated())
    code, out, err = potreeve(f"settings push {new_file()} --discard-calibration --yes", board.port)
    assert code == exits.OK, err
    assert "has 0 points and replaces one of 4" in out and "mint gets no water yet" in out
    assert mint_on(board)["curve"] == [] and mint_on(board)["pump_ul_s"] == 0


def test_two_points_that_replace_four_say_so(plug, potreeve, new_file):
    path = new_file(curve=[[52000, 0], [22000, 1000]])
    board = plug(calibrated())
    code, out, err = potreeve(f"settings push {path} --yes", board.port)
    assert code == exits.OK and "the file's is left out (--discard-calibration takes it instead)" in out, out + err
    assert len(mint_on(board)["curve"]) == 4
    board = plug(calibrated())
    code, out, err = potreeve(f"settings push {path} --discard-calibration --yes", board.port)
    assert code == exits.OK and "has 2 points and replaces one of 4" in out, out + err
    assert len(mint_on(board)["curve"]) == 2


def test_figures_nobody_measured_on_the_board_give_way_to_the_files():
    old = bare(curve=[[52000, 0], [22000, 1000]], pump_ul_s=4000)
    new = bare(curve=[[51000, 0], [23000, 1000]], pump_ul_s=4100)
    merged, lines = settings_measured.merge(old, new, [])
    assert merged == new and lines == []


def test_what_a_person_set_by_hand_stays_set():
    old = json.loads(calibrated()["settings.json"])
    notes = calibrate_notes.read(calibrated()[calibrate_notes.NAME])
    fitted = settings_measured.merge(old, bare(), notes)[0]["channels"][0]
    by_hand = settings_measured.merge(old, bare(day_ml=777), notes)[0]["channels"][0]
    assert by_hand["day_ml"] == 777 and {**by_hand, "day_ml": 0} == {**fitted, "day_ml": 0}


def test_a_pot_of_another_name_or_in_another_place():
    old = json.loads(calibrated()["settings.json"])
    notes = calibrate_notes.read(calibrated()[calibrate_notes.NAME])
    merged, lines = settings_measured.merge(old, bare(name="basil"), notes)
    assert [list(point) for point in merged["channels"][0]["curve"]] == MEASURED["curve"]
    assert "It was called mint" in lines[0]
    turned = bare()
    turned["channels"].reverse()
    merged, lines = settings_measured.merge(old, turned, notes)
    assert not any(channel["curve"] for channel in merged["channels"])
    assert any("mint: on this board it is channel 0, in the file 2" in line for line in lines)


def test_a_rehearsals_settings_say_that_they_are_made_up(potreeve, tmp_path):
    path = tmp_path / "my.toml"
    assert potreeve(f"rehearse --days 1 --interpreter cpython --write-settings {path}")[0] == exits.OK
    assert settingsfile.is_simulated(path) and "made up for a simulated rig" in path.read_text()
    again = tmp_path / "again.toml"
    words = f"rehearse --days 1 --interpreter cpython --settings {path} --write-settings {again}"
    assert potreeve(words)[0] == exits.OK and settingsfile.is_simulated(again)
    own = tmp_path / "own.toml"
    own.write_text(path.read_text().replace("simulated = true\n", ""))
    words = f"rehearse --days 1 --interpreter cpython --settings {own} --write-settings {again}"
    assert potreeve(words)[0] == exits.OK and not settingsfile.is_simulated(again)


@pytest.fixture
def simulated(tmp_path):
    path = tmp_path / "sim.toml"
    path.write_text(settings_toml.to_toml(made.settings(), simulated=True))
    return path


@pytest.fixture
def real(monkeypatch):
    """As if the virtual board were one of hardware."""
    monkeypatch.setattr(settings_measured, "is_virtual", lambda link: False)


def test_the_mark_itself(simulated, tmp_path):
    assert settingsfile.load(simulated) == made.settings()
    odd = tmp_path / "odd.toml"
    odd.write_text(simulated.read_text().replace("simulated = true", 'simulated = "yes"'))
    with pytest.raises(BadInput) as fault:
        settingsfile.load(odd)
    assert fault.value.faults == [f'{odd}: simulated = "yes": write true or false']


def test_a_virtual_board_takes_simulated_figures(plug, potreeve, simulated):
    board = plug()
    code, _, err = potreeve(f"settings push {simulated} --yes", board.port)
    assert code == exits.OK, err
    assert mint_on(board)["pump_ul_s"] == 4000


def test_hardware_does_not_and_it_is_said_how_to_go_on(plug, potreeve, simulated, real):
    board = plug()
    code, _, err = potreeve(f"settings push {simulated} --yes", board.port)
    assert code == exits.BAD_INPUT and "simulated = true" in err and "--without-calibration" in err, err
    code, out, err = potreeve(f"settings push {simulated} --without-calibration --yes", board.port)
    assert code == exits.OK and "mint gets no water yet" in out, err
    table = mint_on(board)
    assert table["curve"] == [] and table["pump_ul_s"] == 0 and table["pot_ml"] == 1200


def test_what_was_measured_on_hardware_stays_when_simulated_figures_are_left_out(plug, potreeve, simulated, real):
    board = plug(calibrated())
    code, out, err = potreeve(f"settings push {simulated} --without-calibration --yes", board.port)
    assert code == exits.OK, err
    table = mint_on(board)
    assert table["curve"] == MEASURED["curve"] and table["pump_ul_s"] == PUMPED["pump_ul_s"]


def test_what_is_pulled_from_a_virtual_board_is_marked(plug, potreeve, tmp_path, monkeypatch):
    board = plug(board_files.lived(5))
    path = tmp_path / "pulled.toml"
    assert potreeve(f"settings pull {path}", board.port)[0] == exits.OK and settingsfile.is_simulated(path)
    monkeypatch.setattr(settings_measured, "is_virtual", lambda link: False)
    assert potreeve(f"settings pull {path} --force", board.port)[0] == exits.OK and not settingsfile.is_simulated(path)


def test_a_virtual_boards_copy_stays_off_hardware(plug, potreeve, real):
    board = plug(board_files.lived(5))
    assert potreeve("settings set wake_s 3600 --yes", board.port)[0] == exits.OK
    copy = backup.listing()[-1]
    code, _, err = potreeve(f"settings push --from-backup '{copy}' --yes", board.port)
    assert code == exits.BAD_INPUT and "a copy of a virtual board" in err


def test_which_board_is_virtual():
    for machine, expected in (
        ("virtual rp2040_wifi with RP2040", True),
        ("Raspberry Pi Pico W with RP2040", False),
        ("", False),
    ):
        assert settings_measured.is_virtual(SimpleNamespace(info={"machine": machine})) is expected
