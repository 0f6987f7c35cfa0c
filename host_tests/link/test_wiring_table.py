"""README's wiring tables are those of the board files, and no pin is left out of them."""

from pathlib import Path

import pytest
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.boards import wiring

README = Path(__file__).resolve().parents[2] / "README.md"


@pytest.mark.parametrize("name", boards.names())
def test_readme_has_it(name):
    text = README.read_text(encoding="utf-8")
    assert any(wiring.markdown(other) in text and name in _title(text, wiring.markdown(other)) for other in [name]), (
        f"make it anew: python -m potreeve_tools.boards.wiring {name}"
    )


def _title(text, table):
    return text[: text.index(table)].rstrip().rpartition("\n")[2]


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
