"""The table [extras] of a board file: checked like the rest, and nothing where it is left out."""

import pytest
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.terminal.faultlist import BadInput


@pytest.mark.parametrize("name", boards.DRAWN)
def test_a_board_without_extras_says_nothing_of_them(name):
    assert "extras" not in boards.load(name).device_json()


@pytest.mark.parametrize(
    ("extras", "told"),
    [
        ("tray_probe = [2, 3]", "give three"),
        ("tray_probe = [2, 3, 26]", "the same pin as"),
        ("tray_probe = [2, 3, 4]", "can't read a voltage"),
        ("tray_probe = [2, 23, 28]", "belongs to"),
        ("tray_prob = [2, 3, 28]", 'did you mean "tray_probe"'),
        ('tub_kind = "floats"', "give both, or neither"),
        ("tub_pins = [2]", "give both, or neither"),
        ('tub_kind = "strip"\ntub_pins = [28, 2]', "more than a strip needs"),
        ('tub_kind = "strip"\ntub_pins = [2]', "can't read a voltage"),
        ('display = "ssd1306"\ndisplay_address = 0x76', "the same address as sensors.climate_address"),
        ('display = "other"', "ssd1306"),
    ],
)
def test_extras_are_checked(tmp_path, extras, told):
    text = (boards.BOARDS_DIR / "rp2040_wifi.toml").read_text()
    path = tmp_path / "mine.toml"
    path.write_text(text + f"\n[extras]\n{extras}\n")
    with pytest.raises(BadInput) as refused:
        boards.load(path)
    assert any(told in line for line in refused.value.faults), refused.value.faults
    path.write_text(text + '\n[extras]\ntray_probe = [2, 3, 28]\ntub_kind = "floats"\ntub_pins = [4, 5]\n')
    assert boards.load(path).device_dict()["extras"]["tub_pins"] == [4, 5]
