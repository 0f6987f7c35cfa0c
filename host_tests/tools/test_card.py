"""The card beside the rig: it fits, and it says what the firmware does."""

import xml.etree.ElementTree as ET

from click.testing import CliRunner
from potreeve.logic import debounce, reasons, signals, state
from potreeve_tools import cli
from potreeve_tools.terminal import exits
from potreeve_tools.words import card, panel

SVG = "{http://www.w3.org/2000/svg}"


def call(*words):
    return CliRunner().invoke(cli.cli, list(words))


def test_it_fits_a_postcard():
    lines = call("card").stdout.splitlines()
    assert max(map(len, lines)) <= card.WIDE and len(lines) <= 32
    root = ET.fromstring(card.svg("Kitchen & <hall>"))
    assert (root.get("width"), root.get("height")) == ("148mm", "105mm")
    for text in root.iter(f"{SVG}text"):
        size = float(text.get("font-size", 2.75))
        assert float(text.get("y")) <= card.MM[1] - 2, text.text
        # Sans-serif letters are about half as wide as they are high.
        assert float(text.get("x")) + 0.52 * size * len(text.text) <= card.MM[0] - 2, text.text


def test_each_light_is_what_the_firmware_shows():
    shown = {signals.show(level, True, False)[:2] for level in (signals.CALM, signals.NOTE, signals.CALL)}
    assert shown == {(1, 0), (1, 1), (0, 1)}
    lights = [row[0] for row in panel.LIGHTS]
    assert lights[:3] == ["green", "green and yellow", "yellow"]
    assert signals.show(signals.CALL, True, False)[2] and not signals.show(signals.CALL, True, True)[2]
    assert (
        f"{signals.FLASH_MS[signals.CALL] / 1000:g} s" in panel.LIGHTS[2][1] and "by day a beep" in panel.LIGHTS[2][1]
    )
    assert signals.pot_level(state.HELD, reasons.NO_RISE) == signals.CALL
    assert signals.pot_level(state.TENDED, reasons.TRAY) == signals.rig_level(0, 1, 0, 99) == signals.NOTE
    assert debounce.event(2600) == debounce.LONG and debounce.event(300) == debounce.SHORT
    assert panel.BUTTON[1][0] == f"{debounce.LONG_MS // 1000} seconds"


def test_files(tmp_path):
    for ending, start in ((".svg", "<svg"), (".html", "<!doctype html>")):
        path = tmp_path / f"card{ending}"
        assert call("card", "--write", str(path), "--name", "Kitchen").exit_code == 0
        assert path.read_text().startswith(start) and "Kitchen" in path.read_text()
    result = call("card", "--write", str(tmp_path / "card.pdf"))
    assert result.exit_code != exits.OK and list(tmp_path.glob("*.pdf")) == []
