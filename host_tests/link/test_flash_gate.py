"""The gate of `potreeve flash` through the whole command: what passes, what refuses and why, and that a refusal sends
nothing.

The short gate is the real one with fewer tests, days and mishaps; the slow test runs all of it.
"""

import json

import board_files
import flash_kit
import made
import pytest
from potreeve_tools.image import compiled, places
from potreeve_tools.link.flash import gate, gatesetting, work
from potreeve_tools.settings import settings_toml, settingsfile
from potreeve_tools.terminal import exits, screen
from potreeve_tools.world.rigfile import DEFAULT_RIG

DRY = {"day_ml": 30, "dose_ml": 25}
"""A day's water far below what the pots drink: a rig so set is a sorry one, and a mishap leaves it held."""


@pytest.fixture
def short(monkeypatch):
    """short(days=, mishaps=, tests=folder) makes the gate shorter: without tests, or with those of a folder instead."""
    whole = gate.checks

    def cut(days=1, mishaps=(), tests=None):
        def checks(setting):
            found = whole(setting, days, mishaps)
            return found if tests else found[1:]

        if tests:
            monkeypatch.setattr(gate, "QUICK_TESTS", (str(tests),))
        monkeypatch.setattr(gate, "checks", checks)

    return cut


@pytest.fixture(autouse=True)
def cache(tmp_path, monkeypatch):
    """The rigs the gate makes go here; the firmware it rehearses with has been compiled for others, too."""
    made = compiled.folder(places.FIRMWARE)
    folder = tmp_path / "cache" / "potreeve"
    (folder / "compiled").mkdir(parents=True)
    (folder / "compiled" / made.name).symlink_to(made)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


def lived(**changes):
    """data/ of a board whose channels all have these changes."""
    data = {**made.settings_data(), "insist": True}  # whatever the changes starve
    for channel in data["channels"]:
        channel.update(changes)
    text = settingsfile.to_json(settingsfile.check(data, "test"))
    return {**board_files.lived(), "settings.json": text, "settings.good.json": text}


def unharmed(board, before):
    """Nothing was sent: the firmware is as it was, and so is data/."""
    left = board.left()
    left.pop("data/service", None)
    return left == before


def test_good_settings_pass_and_the_flash_goes_on(plug, potreeve, short):
    short(days=2, mishaps=("tube_off_tray",))
    board = plug(board_files.lived(), kind=flash_kit.Witness)
    code, out, err = potreeve("flash", board.port)
    assert code == exits.OK, err
    assert "Rehearsing with this board's own settings, on a rig simulated to resemble what they describe." in err
    assert "Gate: rehearsal of 2 days passed in" in err and "Gate: 1 mishap passed in" in err and "Sent 1 file" in err
    assert "now runs Potreeve" in out and "manifest.json" in board.left()


def test_settings_that_a_mishap_breaks_are_refused_with_what_broke(plug, potreeve, short):
    short(mishaps=("tube_off_tray",))
    board = plug(lived(**DRY), kind=flash_kit.Witness)
    before = board.now()
    code, out, err = potreeve("flash", board.port)
    assert code == exits.FAILED and out == ""
    said = err.splitlines()
    assert "potreeve: not flashed, 1 mishap failed:" in said
    assert any("tube_off_tray: does not hold: " in line for line in said), err
    assert any("See it again with: potreeve mishaps --only tube_off_tray" in line for line in said)
    assert "Nothing on the board was changed." in err and "--no-gate" in err
    assert unharmed(board, before)


def test_a_rehearsal_that_passes_with_reservations_says_them():
    settings = settingsfile.check(json.loads(lived(**DRY)["settings.json"]), "test")
    setting = gatesetting.own_setting("rp2040_wifi", flash_kit.BOARD.device_dict(), settings, "here")
    said = []
    rehearsal = gate.checks(setting, days=14, mishaps=())[1]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(gate, "checks", lambda setting: [rehearsal])
        work.pass_gate(setting, said.append)
    assert said[1].startswith("Gate: rehearsal of 14 days passed") and said[2].startswith(
        "  No flood in 14 days, but"
    ), said
    assert any("in its band for only" in line or "ended held" in line for line in said[3:]), said


def test_a_test_that_fails_is_named(plug, potreeve, short, tmp_path):
    tests = tmp_path / "test_planted.py"
    tests.write_text("def test_that_fails():\n    assert 1 + 1 == 3\n")
    short(tests=tests)
    board = plug(board_files.lived(), kind=flash_kit.Witness)
    before = board.now()
    code, _, err = potreeve("flash", board.port)
    assert code == exits.FAILED and "not flashed, quick tests failed" in err
    assert (
        "test_planted.py::test_that_fails" in err and "assert (1 + 1) == 3" in err and "python3 tools/go.py test" in err
    ), err
    assert unharmed(board, before)


def test_a_board_without_settings_is_rehearsed_with_the_reading_room(plug, potreeve, short):
    short()
    board = plug(bare=True)
    code, out, err = potreeve("flash --board rp2040_wifi", board.port)
    assert code == exits.OK and "no settings yet: rehearsing with the default rig, an invented reading room" in err, err
    assert "Gate: rehearsal of 1 day passed" in err and "Next: potreeve settings push" in out


@pytest.mark.parametrize("rig", ["", f" --rig {DEFAULT_RIG}"])
@pytest.mark.parametrize("dry_run", [False, True])
def test_a_settings_file_with_faults_is_named_before_anything_runs(plug, potreeve, short, tmp_path, rig, dry_run):
    short()
    path = tmp_path / "my.toml"
    path.write_text(settings_toml.to_toml(made.settings()).replace("rig_day_ml = 400", "rig_day_ml = -5"))
    board = plug(board_files.lived(), kind=flash_kit.Witness)
    before = board.now()
    code, out, err = potreeve(f"flash --settings {path}{rig}" + (" --dry-run" if dry_run else ""), board.port)
    assert code == exits.BAD_INPUT and out == "", err
    assert "my.toml: rig_day_ml = -5" in err and "Gate" not in err
    assert unharmed(board, before)


def test_a_rig_file_with_faults_is_named_too(plug, potreeve, short, tmp_path):
    short()
    path = tmp_path / "rig.toml"
    path.write_text(DEFAULT_RIG.read_text().replace("wall_mm", "wall_m"))
    code, _, err = potreeve(f"flash --rig {path}", plug().port)
    assert code == exits.BAD_INPUT and "rig.toml" in err and "wall_m" in err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            "--board own.toml --settings my.toml",
            "Rehearsing with my.toml, on a rig simulated to resemble what they describe.",
        ),
        ("--rig rig.toml", "Rehearsing with this board's own settings on the rig of rig.toml."),
    ],
)
def test_files_are_found_from_where_one_stands(plug, potreeve, short, tmp_path, monkeypatch, words, said):
    """The checks run elsewhere."""
    short()
    monkeypatch.chdir(tmp_path)
    (tmp_path / "my.toml").write_text(settings_toml.to_toml(made.settings(rig_day_ml=390)))
    (tmp_path / "rig.toml").write_text(DEFAULT_RIG.read_text())
    (tmp_path / "own.toml").write_text(flash_kit.BOARD.path.read_text())
    board = plug(board_files.lived())
    code, _, err = potreeve(f"flash {words}", board.port)
    assert code == exits.OK and said in err, err
    given = gatesetting.given_setting("b", "my.toml", "rig.toml")
    assert given.options == (
        "--board",
        "b",
        "--settings",
        str(tmp_path / "my.toml"),
        "--rig",
        str(tmp_path / "rig.toml"),
    )


def test_a_rig_with_other_pots_than_the_settings(plug, potreeve, short):
    short()
    data = settingsfile.to_json(made.settings(2))
    board = plug({"settings.json": data, "settings.good.json": data})
    code, _, err = potreeve(f"flash --rig {DEFAULT_RIG}", board.port)
    assert code == exits.BAD_INPUT and "2 " in err and "3 pots" in err, err


@pytest.mark.parametrize(
    ("words", "typed", "code", "said"),
    [
        ("", "", exits.BAD_INPUT, "add --confirm rp2040_wifi"),
        (
            "--confirm rp2350_wifi",
            "",
            exits.BAD_INPUT,
            '"rp2350_wifi" is not this board\'s name, which is "rp2040_wifi"; nothing was changed',
        ),
        ("", "rp2350_wifi\n", exits.BAD_INPUT, '"rp2350_wifi" is not this board\'s name'),
        ("", None, exits.INTERRUPTED, "stopped; nothing is left half done"),
        ("--confirm rp2040_wifi --settings x.toml", "", exits.BAD_INPUT, "--settings and --rig belong to the gate"),
    ],
)
def test_without_the_gate_the_boards_name_must_be_typed(plug, potreeve, monkeypatch, words, typed, code, said):
    """typed: what a person types, "" for nobody there, None for one who leaves."""
    if typed != "":
        monkeypatch.setattr(screen, "is_terminal", lambda stream: hasattr(stream, "read"))
    board = plug(board_files.lived(), kind=flash_kit.Witness)
    before = board.now()
    got, out, err = potreeve(f"flash --no-gate {words}", board.port, stdin=typed or "")
    assert (got, out) == (code, "") and said in err, err
    assert unharmed(board, before)


def test_how_far_the_tests_are_is_told(tmp_path):
    tests = tmp_path / "test_slow.py"
    tests.write_text(
        "import time, pytest\n@pytest.mark.parametrize('n', range(700))\ndef test_one(n):\n    time.sleep(0.004)\n"
    )
    told = []
    check = gate.Check(gate.TESTS, ("pytest", "-q", "-p", "no:cacheprovider", str(tests)), "shown")
    held, seconds, lines = gate.run(check, lambda *so_far: told.append(so_far))
    assert held and lines == [] and seconds > 2
    assert len(told) >= 2 and [so_far for so_far, _ in told] == sorted(so_far for so_far, _ in told)
    assert any(share for _, share in told), told


def test_a_check_that_does_not_end_is_ended(monkeypatch, tmp_path):
    monkeypatch.setattr(gate, "TIMEOUT_S", 0.5)
    (tmp_path / "test_endless.py").write_text("import time\ndef test_one():\n    time.sleep(60)\n")
    check = gate.Check(gate.TESTS, ("pytest", "-q", "-p", "no:cacheprovider", str(tmp_path)), "shown")
    held, seconds, lines = gate.run(check)
    assert not held and seconds < 20 and "did not end" in lines[0]


@pytest.mark.slow
@pytest.mark.timeout(1800)
def test_the_whole_gate(plug, potreeve):
    board = plug(board_files.lived(), kind=flash_kit.Witness)
    code, out, err = potreeve("flash --json", board.port)
    assert code == exits.OK, err
    assert all(
        f"Gate: {title} passed in" in err
        for title in (gate.TESTS, "rehearsal of 14 days", f"{len(gate.MISHAPS)} mishaps")
    )
    assert json.loads(out)["send_files"] == 1


def test_the_quick_tests_are_there_and_hold_those_of_the_gate():
    from potreeve_tools.image import places
    from potreeve_tools.link.flash import quick

    words = quick.arguments(["-x"])
    assert set(gate.QUICK_TESTS) <= set(words) and words[-1] == "-x"
    assert [word for word in words if word.startswith("host_tests") and not (places.CHECKOUT / word).exists()] == []


def test_a_board_file_of_ones_own_that_is_not_at_hand_is_rehearsed_as_it_stands_on_the_board(tmp_path, monkeypatch):
    """Four pots on a board of somebody's own, flashed again without --board: no board that comes with Potreeve for
    that chip would have room for them."""
    from potreeve_tools.boards import boardfile as boards
    from potreeve_tools.boards import newboard

    monkeypatch.setattr(gatesetting.platformdirs, "user_cache_dir", lambda *_, **__: str(tmp_path))
    text = newboard.Plan("mine.toml", "mine", "esp32", 4).fill().text()
    (tmp_path / "mine.toml").write_text(text)
    device = boards.load(tmp_path / "mine.toml").device_dict()
    written = gatesetting.own_board(device, "e66/12")
    assert boards.load(written).device_dict() == device
    assert gate.fitting(["probe_out"], gatesetting.default_setting(written)) == (["probe_out"], [])
    assert gatesetting.own_board({"name": "mine", "pins": {}}, "e66/12") is None
