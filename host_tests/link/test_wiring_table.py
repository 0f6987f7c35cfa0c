"""The pages' wiring tables are those of the board files, no pin is left out, and a fourth pot can be wired as told."""

import re
from pathlib import Path

import pytest
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.boards import wiring
from potreeve_tools.rehearsal.rehearse import make_session, run
from potreeve_tools.world.rigfile import DEFAULT_RIG, load_rig

README = Path(__file__).resolve().parents[2] / "README.md"
BOARDS = boards.BOARDS_DIR / "README.md"


def tables(path):
    """{board: its table} of a page."""
    return dict(re.findall(r"<!-- wiring: (\w+) -->\n((?:\|[^\n]*\n)*)", path.read_text(encoding="utf-8")))


@pytest.mark.parametrize("name", boards.names())
def test_the_page_of_boards_has_it(name):
    assert tables(BOARDS)[name] == wiring.markdown(name), "make it anew: python -m potreeve_tools.pictures.make"
    assert f"]({name}.svg)" in BOARDS.read_text(encoding="utf-8")


def test_the_readme_shows_one_board():
    assert tables(README) == {"rp2040_wifi": wiring.markdown("rp2040_wifi")}
    assert "](boards/rp2040_wifi.svg)" in README.read_text(encoding="utf-8")


def fourth():
    """{board: {key of [pins]: list}} as the page of boards tells it."""
    found = {}
    part = BOARDS.read_text(encoding="utf-8").split("## A fourth pot")[1].split("## ")[0]
    for row in re.findall(r"^\| (`.*?) \| (.*?) \|$", part, re.M):
        keys = {key: [int(pin) for pin in pins.split(", ")] for key, pins in re.findall(r"`(\w+) = \[(.*?)\]", row[1])}
        found |= {name: keys for name in re.findall(r"`(\w+)`", row[0])}
    return found


@pytest.mark.parametrize("name", [name for name in boards.names() if "extras" not in boards.load(name).data])
def test_a_fourth_pot_as_the_page_tells_it(name, tmp_path):
    text = (boards.BOARDS_DIR / f"{name}.toml").read_text(encoding="utf-8")
    keys = fourth()[name]
    assert set(keys) == {"probes", "pumps"} and all(len(pins) == 4 for pins in keys.values())
    for key, pins in keys.items():
        text, times = re.subn(rf"^{key} = .*$", f"{key} = {pins}", text, flags=re.M)
        assert times == 1
    mine = tmp_path / "mine.toml"
    mine.write_text(text, encoding="utf-8")
    board = boards.load(mine).device_dict()
    assert board["pins"]["pumps"] == keys["pumps"]
    rig = tmp_path / "four.toml"
    more = '\n[[pot]]\nname = "basil"\nplant = "mint"\ndiameter_cm = 12\nheight_cm = 10.5\nleaf_area_cm2 = 400\n'
    more += "probe_depth_cm = 5\npump_ml_s = 4\noutlet_mm = 130\nstart_pm = 700\n"
    rig.write_text(DEFAULT_RIG.read_text(encoding="utf-8") + more, encoding="utf-8")
    session = run(make_session(load_rig(rig), board, 3, seed=2), "cpython")
    given = [sum(ml for _, channel, _, ml, _ in session.world.deliveries if channel == index) for index in range(4)]
    assert len(session.samples[-1]["pots"]) == 4 and given[3] > 20.0


@pytest.mark.parametrize("name", boards.names())
def test_every_pin_of_the_board_is_in_it(name):
    pins = boards.load(name).device_dict()["pins"]
    wired = {
        int(number) for numbers, _, _ in wiring.rows(boards.load(name).device_dict()) for number in numbers.split(", ")
    }
    for key, value in pins.items():
        if (
            key.startswith(("probe_kind", "i2c_id", "probe_settle", "probe_window"))
            or key == "probes"
            and pins["probe_select"]
        ):
            continue
        for number in value if isinstance(value, list) else [value]:
            assert number < 0 or number in wired, key
