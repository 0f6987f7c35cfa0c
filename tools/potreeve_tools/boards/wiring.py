"""A board file's pins as a table a person wires by. README's tables are made here:

python -m potreeve_tools.boards.wiring rp2040_wifi
"""

import sys

from potreeve_tools.boards import boardfile as boards


def rows(board):
    """(pins, goes to, note) of a device-form board, in the order one would wire them."""
    pins, sensors = board["pins"], board["sensors"]
    esp = board["mcu"].startswith("esp32")
    found = []

    def add(numbers, where, note=""):
        numbers = [number for number in (numbers if isinstance(numbers, list) else [numbers]) if number >= 0]
        if numbers:
            found.append((", ".join(map(str, numbers)), where, note))

    add(
        pins["pumps"],
        "gates of the pumps' MOSFETs, channel by channel",
        "10 k from each gate to GND"
        + (
            ": pins float in reset and deep sleep"
            if esp
            else " (8.2 k on an RP2350 of stepping A2)"
            if board["mcu"] == "rp2350"
            else ""
        )
        + "; a flyback diode across each pump",
    )
    add(
        pins["pump_enable"],
        "gate of the pumps' common master switch",
        "10 k to its off side; both must be on for water",
    )
    _add_probes(pins, add)
    add(
        pins["battery_adc"],
        "battery divider, 1 M over 1 M, 100 nF to GND",
        f"counts as {board['adc']['battery_divider_pm']} ‰ of the battery",
    )
    add(
        [pins["i2c_sda"], pins["i2c_scl"]],
        "I2C data, clock: " + ", ".join(_on_bus(board)),
        "4.7 k to 3V3, if the modules have none",
    )
    if sensors["light"] == "photodiode":
        add(pins["light_adc"], "photodiode")
    add(pins["button"], "button to GND", "wakes the chip: add 100 k to 3V3" if esp else "")
    add([pins["led_ok"], pins["led_warn"]], 'LEDs "ok" and "warn", 1 k each to GND')
    add(pins["buzzer"], "active buzzer, 3 V, below 10 mA")
    add(pins["latch_hold"], "power hold: high keeps the load switch on", "see the board file")
    add(pins["usb_sense"], "USB present")
    return found


def _add_probes(pins, add):
    if pins["probe_kind"] == "pulses":
        add(pins["probes"], "outputs of the pulsing probes, channel by channel")
    elif pins["probe_select"]:
        add(
            pins["probe_adc"],
            "output of an 8-to-1 analogue switch (74HC4051 class)",
            f"probes on its inputs {', '.join(map(str, pins['probes']))}, channel by channel",
        )
        add(pins["probe_select"], "its address lines, lowest first")
    else:
        add(pins["probes"], "outputs of the probes, channel by channel")
    add(
        pins["probe_power"],
        "probe rail switch, high = on",
        "feeds probes and analogue switch" if pins["probe_select"] else "feeds the probes",
    )


def _on_bus(board):
    sensors, found = board["sensors"], []
    if sensors["climate"] != "none":
        found.append(f"{sensors['climate']} at 0x{sensors['climate_address']:02x}")
    if sensors["light"] == "bh1750":
        found.append(f"bh1750 at 0x{sensors['light_address']:02x}")
    if board["latch"]:
        found.append("clock chip")
    return found or ["nothing"]


def markdown(name):
    """The table of a board by name, in Markdown."""
    table = rows(boards.load(name).device_dict())
    return (
        "\n".join(["| GPIO | goes to | note |", "| --- | --- | --- |"] + [f"| {' | '.join(row)} |" for row in table])
        + "\n"
    )


if __name__ == "__main__":
    for one in sys.argv[1:] or boards.names():
        print(f"{one}\n\n{markdown(one)}")
