"""What a rig with everything wired takes: sensors in tray and tub, a display, and a radio, on each kind of board."""

from potreeve_tools.bench import footprint
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.image import compiled
from potreeve_tools.rehearsal.engines import FIRMWARE
from potreeve_tools.terminal.faultlist import read_toml

# Pins that are free beside what a board's file wires.
RP2 = {"tray_probe": [1, 2, 28], "tub_kind": "floats", "tub_pins": [3, 4, 5]}
ESP32 = {"tray_probe": [16, 17, 33], "tub_kind": "floats", "tub_pins": [32, 15, 5]}
DISPLAY = {"display": "ssd1306", "display_address": 0x3C}
WIRED = {"esp32_full": ESP32, "latched": RP2, "rp2040_full": RP2, "rp2040_wifi_four": RP2, "rp2350_wifi": RP2}


def wired(name):
    """The Board of a name in WIRED with all that on it."""
    path = boards.BOARDS_DIR / f"{name}.toml"
    raw = read_toml(path)
    lit = read_toml(boards.BOARDS_DIR / "esp32_full.toml")["energy"]["display_ua"]
    return boards.parse(
        {**raw, "extras": {**WIRED[name], **DISPLAY}, "energy": {**raw["energy"], "display_ua": lit}}, path
    )


def run():
    """[row of footprint.heap with "sent": bytes that a board is sent, radio and all, ...], one per board."""
    made = compiled.files(FIRMWARE)
    text = len(compiled.main_text(FIRMWARE))
    rows = []
    for name in WIRED:
        board = wired(name)
        sent = text + sum(map(len, compiled.for_board(made, board.device_dict(), radio=True).values()))
        rows.append({**footprint.heap(board), "sent": sent})
    return rows
