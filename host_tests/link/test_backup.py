"""Copies in the user's data folder: dated, whole, private, and good enough to bring a board back."""

import json
import stat
from datetime import UTC, datetime

import made
import pytest
from potreeve.logic import ledger
from potreeve.logic import settings as logic
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.link import backup, settings_restore
from potreeve_tools.settings import settingsfile
from potreeve_tools.terminal.faultlist import BadInput

NOW = datetime(2026, 11, 25, 10, 15, tzinfo=UTC)
BOARDS = {name: boards.load(name).device_dict() for name in boards.names()}


@pytest.fixture
def files(tmp_path):
    life = made.Life(tmp_path / "board").wake(120)
    data = settingsfile.to_json(life.settings)
    return {
        "settings.json": data,
        "settings.good.json": data,
        "ledger.a": life.store.read("ledger.a"),
        "ledger.b": life.store.read("ledger.b"),
    }


def save(files, board="rp2040_wifi", now=NOW):
    return backup.read(backup.save("e66/12", "before settings push", BOARDS[board] if board else None, files, now))


def test_a_copy_reads_back_whole(files):
    copy = save(files)
    assert copy.files == files
    assert copy.path.name == "20261125T101500Z-before-settings-push.json"
    assert (copy.taken_utc, copy.board_id, copy.board["name"]) == ("2026-11-25T10:15:00Z", "e66/12", "rp2040_wifi")
    assert stat.S_IMODE(copy.path.stat().st_mode) == 0o600
    assert backup.listing("e66/12") == backup.listing() == [copy.path]


def test_two_in_one_second_and_none_overwritten(files):
    assert len({save(files).path for _ in range(3)}) == 3


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"{}",
        b"[]",
        b"\xff\xfe",
        b'{"potreeve_copy": 1}',
        b'{"potreeve_copy": 2}',
        b"[" * 100000,
        b'{"potreeve_copy":1,"taken_utc":"x","why":"y","board_id":"z","files":{"ledger.a":"*"}}',
    ],
)
def test_what_is_no_copy_is_refused_in_one_line(data, tmp_path):
    path = tmp_path / "x.json"
    path.write_bytes(data)
    with pytest.raises(BadInput) as fault:
        backup.read(path)
    assert len(fault.value.faults) == 1 and "\n" not in fault.value.faults[0]


def test_the_same_kind_of_board_gets_the_very_settings(files):
    restored = settings_restore.fit(save(files), BOARDS["rp2040_wifi"])
    assert restored.settings == logic.check(json.loads(files["settings.json"]))[0]
    assert restored.notes == []
    old = ledger.choose(files["ledger.a"], files["ledger.b"])[0]
    assert [pot.total_ul for pot in restored.state.pots] == [pot.total_ul for pot in old.pots]
    assert any(pot.total_ul for pot in old.pots), "a test without history shows nothing"
    assert restored.state.rig.memory == 2


@pytest.mark.parametrize("name", [name for name in BOARDS if name != "rp2040_wifi"])
def test_another_kind_of_board_is_trusted_less(files, name):
    copy = save(files)
    if len(BOARDS[name]["pins"]["pumps"]) < 3:
        with pytest.raises(BadInput, match="pumps"):
            settings_restore.fit(copy, BOARDS[name])
        return
    restored = settings_restore.fit(copy, BOARDS[name])
    assert "another kind of board" in restored.notes[0]
    was = logic.check(json.loads(files["settings.json"]))[0]
    for one, other in zip(was["channels"], restored.settings["channels"]):
        assert other["pump_ul_s"] == 0 or other["pump_spread_pm"] >= one["pump_spread_pm"] + 200
        if BOARDS[name]["pins"]["probe_kind"] != "analogue":
            assert not other["curve"]


def test_probes_of_another_kind_lose_their_calibration(files):
    other = json.loads(json.dumps(BOARDS["rp2040_wifi"]))
    other["name"], other["pins"]["probe_kind"] = "made up", "pulses"
    restored = settings_restore.fit(save(files), other)
    assert all(not channel["curve"] for channel in restored.settings["channels"])


def test_another_reference_voltage_moves_the_counts(files):
    other = json.loads(json.dumps(BOARDS["rp2040_wifi"]))
    other["name"], other["adc"]["vref_mv"] = "made up", 6600
    restored = settings_restore.fit(save(files), other)
    assert restored.settings["channels"][0]["curve"] == [(26000, 0), (11000, 1000)]


def test_too_few_pumps(files):
    other = json.loads(json.dumps(BOARDS["rp2040_wifi"]))
    other["pins"]["pumps"] = [10, 11]
    with pytest.raises(BadInput, match="3 pots, but this board .* has 2 pumps"):
        settings_restore.fit(save(files), other)


def test_bad_newest_settings_fall_back_to_the_last_good_ones(files):
    files["settings.json"] = files["settings.json"][:-20]
    assert settings_restore.fit(save(files), BOARDS["rp2040_wifi"]).settings["name"] == "reading room"


def test_no_settings_at_all(files):
    for name in ("settings.json", "settings.good.json"):
        files[name] = b"{}"
    with pytest.raises(BadInput, match="choose another copy"):
        settings_restore.fit(save(files), BOARDS["rp2040_wifi"])


def test_a_torn_ledger_means_no_history_and_says_so(files):
    files["ledger.a"] = files["ledger.b"] = b"torn"
    restored = settings_restore.fit(save(files), BOARDS["rp2040_wifi"])
    assert restored.state is None and "without history" in restored.notes[0]
