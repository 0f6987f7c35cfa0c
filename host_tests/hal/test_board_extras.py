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
        ("soil_pin = 14", "the same pin as button"),
        ("tray_probe = [2, 3, 28]\nsoil_pin = 3", "the same pin as"),
        ("soil_pin = 23", "belongs to"),
        ("soil_pin = 60", "too large"),
        ("soil_pn = 15", 'did you mean "soil_pin"'),
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


@pytest.mark.parametrize(
    ("number", "told"),
    [
        (34, "is an input only"),
        (12, "sets the boot mode, and this wire is pulled up"),
        (16, "the same pin as"),
        (32, ""),
    ],
)
def test_the_soils_thermometer_needs_a_pin_that_can_talk(tmp_path, number, told):
    text = (boards.BOARDS_DIR / "esp32_full.toml").read_text()
    path = tmp_path / "mine.toml"
    path.write_text(text.replace("[extras]\n", f"[extras]\nsoil_pin = {number}\n"))
    if not told:
        assert boards.load(path).device_dict()["extras"]["soil_pin"] == 32
        return
    with pytest.raises(BadInput) as refused:
        boards.load(path)
    assert any("soil_pin" in line and told in line for line in refused.value.faults), refused.value.faults
