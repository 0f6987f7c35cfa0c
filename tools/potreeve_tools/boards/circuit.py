"""What the drawing shows beside the wires: the supplies of the usual 40-pin board, and one pump's circuit."""

from html import escape

INK, FAINT, CLAY, WATER, SHEET = "#2d2a26", "#5f584c", "#a94f27", "#2a6788", "#fffdf8"
PICO_SUPPLIES = {
    3: "GND (3)",
    8: "GND (8)",
    13: "GND (13)",
    18: "GND (18)",
    23: "GND (23)",
    28: "GND (28)",
    33: "AGND (33)",
    36: "3V3 out (36)",
    38: "GND (38)",
    39: "VSYS (39)",
}
"""Header numbers of the usual 40-pin RP2 board (its maker's pin-out, from memory): what is no GPIO and of use here."""


def stage(gates, master, y):
    """(SVG, height): from the battery to one pump and back to ground.

    gates: the pumps' pins; master: the switch's pin.
    """
    line = y + 74
    parts = [
        f'<text x="16" y="{y + 8}" font-size="15" font-weight="bold" fill="{INK}">The circuit of one pump: '
        "both switches must be on for water</text>",
        _box(16, line, 120, "battery +", "pumps' voltage"),
        _wire(136, 162, line),
        _box(162, line, 116, "fuse", "beside the battery"),
        _wire(278, 304, line),
        _box(304, line, 168, "master switch", "load switch, high = on", CLAY),
        _wire(472, 530, line),
        _box(530, line, 130, "pump", "flyback diode across", WATER),
        _wire(660, 716, line),
        _box(716, line, 158, "N-MOSFET", "logic level", WATER),
        _wire(874, 910, line),
        f'<text x="918" y="{line + 5}" font-weight="bold" fill="{INK}">GND</text>',
        _diode(530, 660, line - 26),
        _gate(
            388,
            line,
            f"GPIO {master}" if master >= 0 else "no pin in this board file",
            "its resistor keeps it off in reset",
            CLAY,
        ),
        _gate(795, line, f"GPIO {', '.join(map(str, gates))}", "its resistor to GND keeps it off in reset", WATER),
    ]
    return "".join(parts) + "\n", 176


def _box(x, line, wide, title, note, colour=FAINT):
    return (
        f'<rect x="{x}" y="{line - 20}" width="{wide}" height="42" rx="4" fill="{SHEET}" stroke="{colour}" '
        'stroke-width="1.5"/>'
        f'<text x="{x + wide / 2}" y="{line - 2}" text-anchor="middle" font-weight="bold" font-size="12.5" '
        f'fill="{INK}">{escape(title)}</text>'
        f'<text x="{x + wide / 2}" y="{line + 14}" text-anchor="middle" font-size="11" '
        f'fill="{FAINT}">{escape(note)}</text>'
    )


def _wire(start, end, y):
    return f'<path d="M{start} {y}H{end}" stroke="{INK}" stroke-width="2"/>'


def _diode(left, right, y):
    """A diode across the pump, its band towards the battery."""
    middle = (left + right) / 2
    return (
        f'<path d="M{left - 14} {y + 26}V{y}H{middle - 8}M{middle + 8} {y}H{right + 14}V{y + 26}" fill="none" '
        f'stroke="{INK}" stroke-width="1.5"/><path d="M{middle + 8} {y - 8}V{y + 8}L{middle - 8} {y}Z" fill="{INK}"/>'
        f'<path d="M{middle - 8} {y - 8}V{y + 8}" stroke="{INK}" stroke-width="2.5"/>'
    )


def _gate(x, line, title, note, colour):
    return (
        f'<path d="M{x} {line + 22}V{line + 46}" stroke="{colour}" stroke-width="2"/>'
        f'<text x="{x}" y="{line + 62}" text-anchor="middle" font-weight="bold" font-size="12.5" '
        f'fill="{INK}">{escape(title)}</text>'
        f'<text x="{x}" y="{line + 79}" text-anchor="middle" font-size="11" fill="{FAINT}">{escape(note)}</text>'
    )
