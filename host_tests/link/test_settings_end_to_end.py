"""`potreeve settings` through mpremote's transport, against a virtual board."""

import json
import tomllib

import board_files
import made
import pytest
from potreeve_tools.link import backup
from potreeve_tools.link.port import open_board
from potreeve_tools.settings import settings_toml, settingsfile
from potreeve_tools.terminal import exits


@pytest.fixture
def toml(tmp_path):
    """toml(**changes) -> path of a settings file."""

    def write(count=3, **changes):
        path = tmp_path / "my.toml"
        path.write_text(settings_toml.to_toml(made.settings(count, **changes)))
        return path

    return write


def settings_on(board):
    return json.loads(board_files.on_flash(board)["settings.json"])


def test_show_get_and_json(plug, potreeve):
    board = plug(board_files.lived())
    code, out, err = potreeve("settings show", board.port)
    assert code == 0, err
    assert settingsfile.check(tomllib.loads(out), "shown") == made.settings()
    assert potreeve("settings get strawberry.day_ml", board.port)[:2] == (0, "200\n")
    code, out, _ = potreeve("settings show --json", board.port)
    assert code == 0 and json.loads(out)["channels"][0]["name"] == "mint"


def test_a_bare_board_gets_its_first_settings(plug, potreeve, toml):
    board = plug()
    code, _, err = potreeve("settings show", board.port)
    assert code == exits.FAILED and "settings push" in err
    code, out, err = potreeve(f"settings push {toml()} --yes", board.port)
    assert code == 0, err
    assert "New settings, but" in out and "Most water in any 24 hours: 400 ml" in out
    files = board_files.on_flash(board)
    assert settingsfile.check(json.loads(files["settings.json"]), "x") == made.settings()
    assert files["settings.good.json"] == files["settings.json"]


def test_push_shows_asks_stores_reads_back_and_undo_undoes(plug, potreeve, toml):
    board = plug(board_files.lived())
    path = toml(rig_day_ml=500)
    code, out, err = potreeve(f"settings push {path}", board.port)
    assert code == exits.BAD_INPUT and "rig_day_ml: 400 -> 500 ml" in out and "add --yes" in err
    code, out, err = potreeve(f"settings push {path} --dry-run", board.port)
    assert (code, err) == (0, "")
    code, out, err = potreeve(f"settings push {path} --yes", board.port)
    assert code == 0, err
    assert potreeve("settings get rig_day_ml", board.port)[1] == "500\n"
    copies = [backup.read(copy) for copy in backup.listing(board_id(board))]
    assert [copy.why for copy in copies] == ["before settings push", "settings push"]
    assert set(copies[-1].files) == {"settings.json", "settings.good.json", "ledger.a", "ledger.b"}
    code, out, err = potreeve("settings undo --yes", board.port)
    assert code == 0 and "rig_day_ml: 500 -> 400 ml" in out, err
    assert settings_on(board)["rig_day_ml"] == 400


def board_id(board):
    from potreeve_tools.link.port import open_board

    with open_board(board.port) as link:
        return link.info["id"]


def test_set_and_nothing_to_do(plug, potreeve):
    board = plug(board_files.lived())
    code, out, err = potreeve("settings set mint.day_ml 180 --yes", board.port)
    assert code == 0 and "mint.day_ml: 200 -> 180 ml" in out, err
    code, out, err = potreeve("settings set mint.day_ml 180 --yes", board.port)
    assert code == 0 and "nothing to do" in err
    code, _, err = potreeve("settings set mint.day_ml 20 --yes", board.port)
    assert code == exits.BAD_INPUT and "day_ml = 20" in err
    code, _, err = potreeve("settings set mint.dy_ml 20 --yes", board.port)
    assert code == exits.BAD_INPUT and "day_ml" in err
    assert settings_on(board)["channels"][0]["day_ml"] == 180


def test_edit(plug, potreeve, tmp_path, monkeypatch):
    board = plug(board_files.lived())
    editor = tmp_path / "editor.sh"
    editor.write_text("#!/bin/sh\nsed -i 's/^rig_day_ml = 400/rig_day_ml = 450/' \"$1\"\n")
    editor.chmod(0o755)
    monkeypatch.setenv("VISUAL", str(editor))
    code, out, err = potreeve("settings edit --yes", board.port)
    assert code == 0 and "rig_day_ml: 400 -> 450 ml" in out, err
    editor.write_text("#!/bin/sh\nsed -i 's/^rig_day_ml = 450/rig_day_ml = often/' \"$1\"\n")
    code, _, err = potreeve("settings edit --yes", board.port)
    assert code == exits.BAD_INPUT and "Your text is kept in" in err
    assert settings_on(board)["rig_day_ml"] == 450


def test_pull_and_push_go_round(plug, potreeve, tmp_path):
    board = plug(board_files.lived())
    path = tmp_path / "pulled.toml"
    assert potreeve(f"settings pull '{path}'", board.port)[0] == 0
    assert settingsfile.load(path) == made.settings()
    code, _, err = potreeve(f"settings pull '{path}'", board.port)
    assert code == exits.BAD_INPUT and "--force" in err
    code, _, err = potreeve(f"settings push '{path}' --yes", board.port)
    assert code == 0 and "nothing to do" in err


def test_too_many_pots_for_the_board(plug, potreeve, toml):
    board = plug()
    code, _, err = potreeve(f"settings push {toml(4) if False else toml(3)} --dry-run", board.port)
    assert code == 0, err
    data = made.settings_data(3)
    data["channels"].append({**data["channels"][0], "name": "basil"})
    from potreeve.logic import settings as logic

    path = toml()
    path.write_text(settings_toml.to_toml(logic.check(data)[0]))
    code, _, err = potreeve(f"settings push {path} --yes", board.port)
    assert code == exits.BAD_INPUT and "4 tables, but this board has 3 pumps" in err


@pytest.mark.parametrize("bad", [b"", b"{", b"[1]", b"\xff\xfe\x00", b"{}", b'{"channels": 5}', b"[" * 3000])
def test_a_corrupted_file_on_the_board_is_said_and_mended(plug, potreeve, toml, bad):
    board = plug({**board_files.lived(), "settings.json": bad})
    code, out, err = potreeve("settings show", board.port)
    assert code == 0 and "last good" in err and "settings.json on the board can't be used" in err
    assert settingsfile.check(tomllib.loads(out), "shown") == made.settings()
    code, _, err = potreeve(f"settings push {toml()} --yes", board.port)
    assert code == 0, err
    assert settingsfile.check(settings_on(board), "x") == made.settings()


def test_a_full_file_system_changes_nothing(plug, potreeve, toml):
    free = 212 * 4096
    board = plug({**board_files.lived(), "foreign.bin": b"x" * (free * 60 // 100)})
    from potreeve_tools.link.port import open_board

    with open_board(board.port, leave="stay") as link:
        link.run(
            "f=open('/data/more.bin','wb')\ntry:\n while 1: f.write(bytes(4096))\nexcept OSError: pass\n"
            "try: f.close()\nexcept OSError: pass"
        )
        link.run(
            "n=0\ntry:\n while 1:\n  with open('/data/m%d'%n,'wb') as f: f.write(bytes(600))\n  n+=1\nexcept OSError: "
            "pass"
        )
    code, _, err = potreeve(f"settings push {toml(rig_day_ml=500)} --yes", board.port)
    assert code == exits.FAILED and "file system is full" in err and "old settings are still in force" in err
    assert settings_on(board)["rig_day_ml"] == 400


def test_backup_brings_a_blank_board_back_with_its_history(plug, potreeve, toml):
    files = board_files.lived(wakes=500)
    board = plug(files)
    assert potreeve(f"settings push {toml(rig_day_ml=500)} --yes", board.port)[0] == 0
    board.stop()
    blank = plug()
    code, out, err = potreeve("settings push --from-backup --yes", blank.port)
    assert code == 0, err
    assert "The pots have their history back" in out and "empty the tray" in out
    code, out, _ = potreeve("status --json", blank.port)
    view = json.loads(out)
    assert code == 1 and any("memory" in fault["what"] for fault in view["faults"])
    from potreeve.logic import ledger

    was = ledger.choose(files["ledger.a"], files["ledger.b"])[0]
    assert was.pots[0].total_ul > 0
    assert [pot["given_ever_ml"] for pot in view["pots"]] == [pot.total_ul // 1000 for pot in was.pots]
    assert settings_on(blank)["rig_day_ml"] == 500


def test_backup_on_a_replacement_of_another_kind(plug, potreeve, toml):
    board = plug(board_files.lived(wakes=200))
    assert potreeve(f"settings push {toml(rig_day_ml=500)} --yes", board.port)[0] == 0
    old_id = board_id(board)
    board.stop()
    other = plug(board="rp2350_wifi", seed=2)
    code, _, err = potreeve("settings push --from-backup --yes", other.port)
    assert code == exits.BAD_INPUT and old_id in err
    code, out, err = potreeve(f"settings push --from-backup {old_id} --yes", other.port)
    assert code == 0, err
    assert "another kind of board" in out
    assert settings_on(other)["channels"][0]["pump_spread_pm"] == 400


def test_a_board_that_remembers_more_than_the_copy_keeps_its_memory(plug, potreeve, toml):
    board = plug(board_files.lived(wakes=100))
    assert potreeve(f"settings push {toml(rig_day_ml=500)} --yes", board.port)[0] == 0
    assert potreeve("settings undo --yes", board.port)[0] == 0
    before = board_files.on_flash(board)
    again = plug({name: data for name, data in before.items()})
    first = backup.listing()[1]
    code, out, err = potreeve(f"settings push --from-backup '{first}' --yes", again.port)
    assert code == 0 and "left alone" in out, err
    after = board_files.on_flash(again)
    assert (after["ledger.a"], after["ledger.b"]) == (before["ledger.a"], before["ledger.b"])
    assert json.loads(after["settings.json"])["rig_day_ml"] == 500


def test_a_backup_brings_back_when_what_was_calibrated(plug, potreeve):
    """`status` lost its "calibrated" lines, although the copy held them."""
    from potreeve_tools.link import calibrate_notes

    note = calibrate_notes.make("pump", "mint", {"pump_ul_s": 4000}, "±5 %")
    files = {**board_files.lived(wakes=5), calibrate_notes.NAME: calibrate_notes.with_note(None, note)}
    board = plug(files)
    assert potreeve("settings set wake_s 3600 --yes", board.port)[0] == 0
    blank = plug({}, seed=2)
    with open_board(board.port) as link:
        old_id = link.info["id"]
    assert potreeve(f"settings push --from-backup {old_id} --yes", blank.port)[0] == 0
    assert "calibrated: pump " in potreeve("status", blank.port)[1]


def test_notes_of_two_files_go_together():
    from potreeve_tools.link import calibrate_notes

    one = {**calibrate_notes.make("pump", "mint", {"pump_ul_s": 4000}, ""), "date": "2026-01-01T00:00:00Z"}
    two = {**one, "date": "2026-02-01T00:00:00Z"}
    files = [calibrate_notes.with_note(None, note) for note in (one, two)]
    assert calibrate_notes.read(calibrate_notes.together(files[1], files[0])) == [one, two]
    assert calibrate_notes.together(files[1], files[1]) == files[1]
    assert calibrate_notes.together(files[1], None) == files[1] and calibrate_notes.together(None, None) is None
