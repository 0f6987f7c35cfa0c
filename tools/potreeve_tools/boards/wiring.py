"""A board file's pins as a table a person wires by. The guides' tables are made here:

python -m potreeve_tools.boards.wiring rp2040_wifi
"""

import sys
from typing import NamedTuple

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.image.compiled import has_extra


class Group(NamedTuple):
    """Wires that belong together. key: of the board file; pins: GPIO numbers; ends: what each is called at the part;
    where, note: for a person."""

    key: str
    pins: tuple
    ends: tuple
    where: str
    note: str


def groups(board):
    """[Group] of a device-form board, in the order one would wire them. Every pin in use is in one of them, once."""
    pins, sensors = board["pins"], board["sensors"]
    esp = board["mcu"].startswith("esp32")
    found = []

    def add(key, numbers, ends, where, note=""):
        numbers = [number for number in (numbers if isinstance(numbers, list) else [numbers]) if number >= 0]
        if numbers:
            found.append(Group(key, tuple(numbers), tuple(ends) or ("",) * len(numbers), where, note))

    add(
        "pumps",
        pins["pumps"],
        [f"pump {index + 1}" for index in range(len(pins["pumps"]))],
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
        "pump_enable",
        pins["pump_enable"],
        ["master"],
        "gate of the pumps' common master switch",
        "10 k to its off side; both must be on for water",
    )
    _add_probes(pins, add)
    add(
        "battery_adc",
        pins["battery_adc"],
        ["middle"],
        "battery divider, 1 M over 1 M, 100 nF to GND",
        f"counts as {board['adc']['battery_divider_pm']} ‰ of the battery",
    )
    add(
        "i2c",
        [pins["i2c_sda"], pins["i2c_scl"]],
        ["data", "clock"],
        "I2C data, clock: " + ", ".join(_on_bus(board)),
        "4.7 k to 3V3, if the modules have none",
    )
    if sensors["light"] == "photodiode":
        add("light_adc", pins["light_adc"], ["light"], "photodiode")
    add("button", pins["button"], ["button"], "button to GND", "wakes the chip: add 100 k to 3V3" if esp else "")
    add("leds", [pins["led_ok"], pins["led_warn"]], ["ok", "warn"], 'LEDs "ok" and "warn", 1 k each to GND')
    add("buzzer", pins["buzzer"], ["buzzer"], "active buzzer, 3 V, below 10 mA")
    add("latch_hold", pins["latch_hold"], ["hold"], "power hold: high keeps the load switch on", "see the board file")
    tray = board.get("extras", {}).get("tray_probe", [])
    add(
        "tray_probe",
        tray[:2],
        ["wire", "wire"],
        "sensor in the tray: its wires, the first through 47 k",
        "100 k across the wires' far end; a float's contact there in series with 10 k",
    )
    add("tray_sense", tray[2:], ["behind 47 k"], "sensor in the tray: the point behind the 47 k")
    add("usb_sense", pins["usb_sense"], ["USB"], "USB present")
    _add_tub(board.get("extras", {}), add)
    add(
        "soil_pin",
        board.get("extras", {}).get("soil_pin", -1),
        ["soil"],
        "DS18B20 in the soil of one pot: its data wire",
        "4.7 k from data to 3V3; its other two wires to 3V3 and GND",
    )
    return found


def _add_tub(extras, add):
    pins = extras.get("tub_pins", [])
    if extras.get("tub_kind") == "floats":
        add(
            "tub_pins",
            pins,
            [f"float {index + 1}" for index in range(len(pins))],
            "floats in the tub, the lowest first",
            "each contact to GND, closed while it floats; the pull-up is inside, and on only while read",
        )
    elif pins:
        add("tub_pins", pins, ["strip"], "capacitive strip in the tub", "fed by the probe rail, like a probe")


def _add_probes(pins, add):
    each = [f"probe {index + 1}" for index in range(len(pins["probes"]))]
    if pins["probe_kind"] == "pulses":
        add("probes", pins["probes"], each, "outputs of the pulsing probes, channel by channel")
    elif pins["probe_select"]:
        add(
            "probe_adc",
            pins["probe_adc"],
            ["output"],
            "output of an 8-to-1 analogue switch (74HC4051 class)",
            f"probes on its inputs {', '.join(map(str, pins['probes']))}, channel by channel",
        )
        names = [f"address {index}" for index in range(len(pins["probe_select"]))]
        add("probe_select", pins["probe_select"], names, "address lines of the analogue switch, lowest first")
    else:
        add("probes", pins["probes"], each, "outputs of the probes, channel by channel")
    add(
        "probe_power",
        pins["probe_power"],
        ["rail"],
        "probe rail switch, high = on",
        "feeds probes and analogue switch" if pins["probe_select"] else "feeds the probes",
    )


def rows(board):
    """(pins, goes to, note) of a device-form board: the table."""
    return [(", ".join(map(str, group.pins)), group.where, group.note) for group in groups(board)]


def _on_bus(board):
    sensors, found = board["sensors"], []
    if sensors["climate"] != "none":
        found.append(f"{sensors['climate']} at 0x{sensors['climate_address']:02x}")
    if sensors["light"] == "bh1750":
        found.append(f"bh1750 at 0x{sensors['light_address']:02x}")
    if has_extra(board, "display"):
        found.append(f"{board['extras']['display']} display at 0x{board['extras']['display_address']:02x}")
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
