"""Names instead of ids of 34 digits, and units that a person uses."""

import json

import board_files
import pytest
from potreeve_tools.boards import boardfile
from potreeve_tools.link import boardnames, settings_diff
from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput


def test_a_name_is_shown_and_taken_everywhere(plug, potreeve):
    board = plug(board_files.lived(wakes=20))
    code, out, _ = potreeve("board name", board.port)
    whole = out.split()[-1]
    assert code == exits.OK and len(whole) > 30 and out.startswith("…")
    assert whole not in potreeve("status", board.port)[1]
    code, out, _ = potreeve("board name kitchen", board.port)
    assert (code, out) == (exits.OK, f"kitchen: {whole}\n")
    assert "reading room on board kitchen" in potreeve("status", board.port)[1]
    code, out, _ = potreeve("logs pull", board.port)
    assert "of board kitchen are here now" in out and whole not in out
    assert potreeve("logs show --board kitchen --last 1")[0] == exits.OK
    code, out, err = potreeve("settings set wake_s 3600 --yes", board.port)
    assert "wake_s: 1800 -> 3600 s (60 min)" in out and whole not in err
    assert f"kitchen{' ' * 17}  {whole}\n" == potreeve("board list")[1]
    code, out, err = potreeve("settings push --from-backup kitchen --dry-run", board.port)
    assert code == exits.OK and "Copy of board kitchen" in out, err


def test_a_board_file_as_a_board_has_it(potreeve):
    code, out, _ = potreeve("board file esp32")
    assert code == exits.OK and json.loads(out) == boardfile.load("esp32").device_dict()
    code, _, err = potreeve("board file nonsense")
    assert code == exits.BAD_INPUT and "esp32" in err


def test_names_that_will_not_do(data_folder):
    boardnames.give("aaaa1111bbbb2222cccc", "kitchen")
    for board_id, name in (("b" * 20, "kitchen"), ("b" * 20, ""), ("b" * 20, "x" * 30), ("b" * 20, "a\nb")):
        with pytest.raises(BadInput):
            boardnames.give(board_id, name)
    boardnames.give("aaaa1111bbbb2222cccc", "hall")
    assert boardnames.known() == {"aaaa1111bbbb2222cccc": "hall"}
    assert boardnames.resolve("hall") == "aaaa1111bbbb2222cccc" and boardnames.resolve("nobody") == "nobody"
    (data_folder / "boards" / boardnames.NAMES).write_text("[1]")
    assert boardnames.known() == {} and boardnames.shown("aaaa1111bbbb2222cccc") == "…2222cccc"


@pytest.mark.parametrize(
    "unit, value, said",
    [
        ("pm", "350", " ‰"),
        ("ul/s", "5399", " ul/s (5.40 ml/s)"),
        ("cdeg", "2624", " cdeg (26.2 °C)"),
        ("ms", "2039", " ms (2.0 s)"),
        ("mV", "4244", " mV (4.24 V)"),
        ("s", "1800", " s (30 min)"),
        ("s", "90", " s"),
        ("ml", "250", " ml"),
        ("", "[[1, 2]]", ""),
    ],
)
def test_units_a_person_uses(unit, value, said):
    assert settings_diff._unit(unit, value) == said
