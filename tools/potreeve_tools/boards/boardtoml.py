"""A board as the text of a board file: what `board new` writes, and what stands in for a file that is not at hand."""

import json

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.boards import wiring

HEX = ("climate_address", "light_address")
WIDE = 118


def cautions(name):
    """The cautions of a board file that comes with Potreeve, as its comment lines: the one source of them."""
    text = (boards.BOARDS_DIR / f"{name}.toml").read_text(encoding="utf-8")
    return text[text.index("# Cautions\n") : text.index("#\n# Wiring")]


def table(device):
    """The wiring as comment lines, from the same rows as the pages' tables."""
    rows = [("GPIO", "goes to", "note"), *wiring.rows(device)]
    wide = max(len(pins) for pins, _, _ in rows)
    lines = ["# Wiring (GPIO numbers; 3V3 is the board's own 3.3 V, GND is common to all)"]
    for pins, where, note in rows:
        lines.append(f"#   {pins:<{wide}}  {where}".rstrip())
        if note and (pins, note) != ("GPIO", "note"):
            lines.append(f"#   {'':<{wide}}    {note}")
    lines.append("#   A flyback diode across every pump. Pump supply and board meet only at GND and at the battery.")
    return "\n".join(line if len(line) <= WIDE else line[: WIDE - 3] + "..." for line in lines) + "\n"


def body(device, figures, notes=()):
    """The keys. device: device form; figures: {name: Figure}; notes: {table: comment over it}."""
    notes = dict(notes)
    lines = [f"{key.name} = {_value(key.name, device[key.name])}" for key in boards.TOP]
    for section, keys in boards.SECTIONS.items():
        lines += ["", f"[{section}]", *_comment(notes.get(section))]
        lines += [
            f"{key.name} = {_value(key.name, device[section][key.name])}"
            for key in keys
            if key.name in device[section] and device[section][key.name] not in (-1, [])
        ]
    # A table that only some boards have.
    for table, keys in device.items():
        if isinstance(keys, dict) and table not in boards.SECTIONS and table != "energy":
            lines += ["", f"[{table}]"]
            lines += [f"{key} = {_value(key, value)}" for key, value in keys.items() if value not in (-1, [], "")]
    lines += ["", *_comment(notes.get("energy"))]
    for name, figure in figures.items():
        lines += [f"[energy.{name}]", f"value = {figure.value}", f"source = {_value('', figure.source)}"]
        lines += [f'mark = "{figure.mark}"', ""]
    return "\n".join(lines[:-1]) + "\n"


def of_device(device):
    """The text of a board file that gives this device form again; its figures come without their sources."""
    figures = {
        name: boards.Figure(value, "as it stands on the board, without its source", "M")
        for name, value in device["energy"].items()
    }
    return body(device, figures)


def _comment(text):
    return [f"# {line}" for line in text.splitlines()] if text else []


def _value(key, value):
    if key in HEX:
        return f"0x{value:02x}"
    return json.dumps(value, ensure_ascii=False)
