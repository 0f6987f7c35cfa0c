"""A board file's pins as a drawing a person wires by (SVG), from the same groups as the table, so they can't disagree:

python -m potreeve_tools.boards.drawing rp2040_wifi > rp2040_wifi.svg
python -m potreeve_tools.boards.drawing my_board.toml > my_board.svg

The drawings beside the board files are made by it (pictures.make does all of them).
"""

import sys
import textwrap
from html import escape

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.boards import circuit, wiring
from potreeve_tools.boards.chips import PICO_HEADER
from potreeve_tools.terminal.faultlist import BadInput

WIDTH, PITCH, TOP = 1000, 23, 96
LEFT, RIGHT = 400, 600
BOX, GAP, MARGIN = 290, 10, 16
LINE = 17
WATER = ("pumps", "pump_enable", "latch_hold")
ESP_LEFT = (*WATER, "button", "leds", "buzzer")
COLOURS = {
    "pumps": "#2a6788",
    "pump_enable": "#a94f27",
    "latch_hold": "#a94f27",
    "i2c": "#6b4a8a",
    "button": "#5b5246",
    "leds": "#5b5246",
    "buzzer": "#5b5246",
}
PLAIN = "#47682f"
INK, FAINT, PAPER, SHEET, BOARD_FILL = "#2d2a26", "#5f584c", "#f5efe3", "#fffdf8", "#dfe5d6"
STYLE = 'font-family="\'DejaVu Sans\', Verdana, sans-serif" font-size="13"'


def places(board):
    """{GPIO: (side, y, number on the header or None)} and [(side, y, text)] of grounds and supplies.

    A 40-pin board is drawn as it lies, seen from above; of other boards only
    the pins in use are drawn, for their makers order them differently.
    """
    groups = wiring.groups(board)
    if board["mcu"].startswith("rp2"):
        found = {}
        for gpio in (pin for group in groups for pin in group.pins):
            found[gpio] = (*_spot(PICO_HEADER[gpio]), PICO_HEADER[gpio])
        fixed = [(*_spot(number), text) for number, text in circuit.PICO_SUPPLIES.items()]
        return found, fixed
    found, used = {}, {"left": 0, "right": 0}
    for group in groups:
        side = "left" if group.key in ESP_LEFT else "right"
        for gpio in group.pins:
            found[gpio] = (side, TOP + 24 + used[side] * PITCH * 1.6, None)
            used[side] += 1
    return found, []


def _spot(number):
    """(side, y) of a pin of the 40-pin header: 1 to 20 down the left, 21 to 40 up the right, USB on top."""
    return ("left", TOP + (number - 1) * PITCH) if number <= 20 else ("right", TOP + (40 - number) * PITCH)


def svg(board):
    """The drawing of a device-form board, as the text of an SVG file."""
    spots, fixed = places(board)
    groups = wiring.groups(board)
    bottom = max(y for _, y, _ in [*spots.values(), *fixed]) + 26
    parts, floor = [], bottom
    for side in ("left", "right"):
        here = [group for group in groups if spots[group.pins[0]][0] == side]
        here.sort(key=lambda group: min(spots[pin][1] for pin in group.pins))
        for group, y, high in _stack(here, spots):
            parts.append(_box(group, side, y, high, spots))
            floor = max(floor, y + high)
    body = _board(board, bottom, fixed) + "".join(parts)
    pumps = next(group for group in groups if group.key == "pumps")
    stage, high = circuit.stage(pumps.pins, board["pins"]["pump_enable"], floor + 34)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {floor + 34 + high:.0f}" {STYLE} role="img" '
        f'aria-label="{escape(_words(board, groups), quote=True)}">\n'
        f'<rect width="100%" height="100%" fill="{PAPER}"/>\n'
        f'<text x="{MARGIN}" y="34" font-size="20" font-weight="bold" fill="{INK}">{escape(board["name"])}: where '
        "each wire goes</text>\n"
        f'<text x="{MARGIN}" y="56" fill="{FAINT}">Made from the board file. GND is common to all. Extra-low '
        "voltage only: battery or USB, "
        "never the mains. Cables in drip loops.</text>\n" + body + stage + "</svg>\n"
    )


def _words(board, groups):
    lines = (
        f"GPIO {', '.join(map(str, group.pins))}: {group.where}{'; ' + group.note if group.note else ''}"
        for group in groups
    )
    return f"Wiring of {board['name']}. " + ". ".join(lines)


def _text(group):
    """[(text, faint)]: the lines of a box."""
    wide = 27 if len(group.pins) > 1 else 33
    lines = [(line, False) for line in textwrap.wrap(group.where, wide)]
    return lines + [(line, True) for line in textwrap.wrap(group.note, wide + 6)]


def _stack(here, spots):
    """[(group, y, height)]: boxes near their pins, none over another, in the pins' order, so that no wires cross."""
    placed = []
    for group in here:
        high = max(len(_text(group)) * LINE + 16, len(group.pins) * LINE + 16)
        middle = sum(spots[pin][1] for pin in group.pins) / len(group.pins)
        placed.append([group, middle - high / 2, high])
    for _ in range(200):
        for one, two in zip(placed, placed[1:], strict=False):
            over = one[1] + one[2] + GAP - two[1]
            if over > 0.01:
                one[1], two[1] = one[1] - over / 2, two[1] + over / 2
        if placed and placed[0][1] < TOP - 24:
            placed[0][1] = TOP - 24
    return placed


def _box(group, side, y, high, spots):
    colour = COLOURS.get(group.key, PLAIN)
    left = MARGIN if side == "left" else WIDTH - MARGIN - BOX
    edge = left + BOX if side == "left" else left
    start = left + (12 if side == "left" or len(group.pins) == 1 else 80)
    lines = "".join(
        f'<text x="{start}" y="{y + 21 + index * LINE:.1f}" fill="{FAINT if faint else INK}"'
        f"{'' if faint else ' font-weight=' + chr(34) + 'bold' + chr(34)} "
        f'font-size="{12 if faint else 12.5}">{escape(text)}</text>'
        for index, (text, faint) in enumerate(_text(group))
    )
    order = sorted(range(len(group.pins)), key=lambda index: spots[group.pins[index]][1])
    step = high / (len(group.pins) + 1)
    wires = ""
    for place, index in enumerate(order):
        wires += _wire(group, index, side, edge, y + step * (place + 1), spots, colour)
    return (
        f'<g data-key="{group.key}"><rect x="{left}" y="{y:.1f}" width="{BOX}" height="{high}" rx="4" fill="{SHEET}" '
        f'stroke="{colour}" stroke-width="1.6"/>{lines}{wires}</g>\n'
    )


def _wire(group, index, side, edge, end_y, spots, colour):
    """One wire from a pin to its box, with the pin's number on the board and its name at the part."""
    gpio, (_, y, number) = group.pins[index], spots[group.pins[index]]
    pin_x = LEFT if side == "left" else RIGHT
    inside = pin_x + (10 if side == "left" else -10)
    anchor = "start" if side == "left" else "end"
    label = f"GP{gpio}" if number else f"GPIO {gpio}"
    count = f'<tspan fill="{FAINT}" font-weight="normal" font-size="11"> ({number})</tspan>' if number else ""
    end = group.ends[index]
    name = ""
    if end and len(group.pins) > 1:
        at = edge - 7 if side == "left" else edge + 7
        name = (
            f'<text x="{at}" y="{end_y + 4:.1f}" font-size="11" fill="{colour}" '
            f'text-anchor="{"end" if side == "left" else "start"}">{escape(end)}</text>'
        )
    return (
        f'<g data-gpio="{gpio}" data-end="{escape(end)}">'
        f'<path d="M{pin_x} {y:.1f}L{edge} {end_y:.1f}" stroke="{colour}" stroke-width="2" fill="none"/>'
        f'<circle cx="{pin_x}" cy="{y:.1f}" r="5" fill="{colour}"/>{name}'
        f'<text x="{inside}" y="{y + 4.5:.1f}" text-anchor="{anchor}" font-weight="bold" '
        f'fill="{INK}">{label}{count}</text></g>'
    )


def _board(board, bottom, fixed):
    middle = (LEFT + RIGHT) / 2
    parts = [
        f'<rect x="{LEFT}" y="{TOP - 22}" width="{RIGHT - LEFT}" height="{bottom - TOP + 22:.0f}" rx="8" '
        f'fill="{BOARD_FILL}" '
        f'stroke="{FAINT}" stroke-width="1.5"/>',
        f'<rect x="{middle - 26}" y="{TOP - 32}" width="52" height="26" rx="3" fill="{SHEET}" stroke="{FAINT}"/>',
        f'<text x="{middle}" y="{TOP - 15}" text-anchor="middle" font-size="11" fill="{FAINT}">USB</text>',
    ]
    for side, y, text in fixed:
        x = LEFT if side == "left" else RIGHT
        inside, anchor = (x + 10, "start") if side == "left" else (x - 10, "end")
        parts.append(
            f'<circle cx="{x}" cy="{y:.1f}" r="4" fill="{SHEET}" stroke="{FAINT}"/>'
            f'<text x="{inside}" y="{y + 4:.1f}" text-anchor="{anchor}" font-size="11" fill="{FAINT}">{text}</text>'
        )
    return "".join(parts) + "\n"


def main(args):
    """Print the drawing of one board; returns the exit code."""
    if len(args) != 1:
        print(__doc__, file=sys.stderr)
        return 2
    try:
        sys.stdout.write(svg(boards.load(args[0]).device_dict()))
    except BadInput as fault:
        print(f"potreeve: {fault}", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
