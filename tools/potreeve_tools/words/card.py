"""The card beside the rig, as text and as a drawing of a postcard's size (148 x 105 mm)."""

import textwrap
from html import escape

from potreeve_tools.words import panel

WIDE = 72
TITLE = "What the rig says, and what the button says to it"
MM = (148, 105)


def text(name=None):
    """Lines of the card, at most WIDE characters. name: of the rig, or None."""
    lines = [f"{name}: {TITLE[0].lower()}{TITLE[1:]}" if name else TITLE, "", panel.EACH_LOOK]
    for light, span, means, do in panel.LIGHTS:
        lines.append(f"  {light}, {span}")
        lines += textwrap.wrap(f"{means} {do}", WIDE, initial_indent="      ", subsequent_indent="      ")
    lines += ["", "The button:"]
    for press, says in panel.BUTTON:
        lines += textwrap.wrap(f"{press}: {says}", WIDE, initial_indent="  ", subsequent_indent="      ")
    return lines + ["", *textwrap.wrap(panel.SPILL, WIDE)]


COLOURS = {"green": ("#3f9b57",), "yellow": ("#e0a100",), "green and yellow": ("#3f9b57", "#e0a100"), "none": ("none",)}


def svg(name=None):
    """The card as an SVG of MM millimetres, for printing: black on white, lights as dots."""
    wide, high = MM
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" viewBox="0 0 {wide} {high}" '
        'role="img" '
        f'aria-label="{escape(TITLE)}" font-family="sans-serif" font-size="2.75">',
        f'<rect x="0.2" y="0.2" width="{wide - 0.4}" height="{high - 0.4}" rx="2" fill="#fff" stroke="#888" '
        'stroke-width="0.3"/>',
    ]
    y = _say(parts, 6, 8, name or TITLE, size=4.2, weight="bold")
    y = _say(parts, 6, y + 0.6, panel.EACH_LOOK, fill="#555")
    for light, span, means, do in panel.LIGHTS:
        colours = COLOURS.get(light, ("#3f9b57", "#e0a100"))
        for place, colour in enumerate(colours):
            parts.append(
                f'<circle cx="{8 + 3.6 * place}" cy="{y + 1.2:.1f}" r="1.5" fill="{colour}" stroke="#555" '
                'stroke-width="0.25"/>'
            )
        y = _say(parts, 16, y + 2.0, f"{light}, {span}", weight="bold")
        y = _say(parts, 16, y - 0.4, f"{means} {do}", columns=88)
        y += 0.6
    y = _say(parts, 6, y + 2.2, "The button", weight="bold")
    for press, says in panel.BUTTON:
        y = _say(parts, 6, y - 0.2, f"{press}: {says}", columns=96)
    _say(parts, 6, y + 1.2, panel.SPILL, columns=96, weight="bold")
    return "\n".join([*parts, "</svg>"]) + "\n"


def _say(parts, x, y, words, columns=96, size=None, weight=None, fill="#111"):
    """Add text from (x, y) mm downwards; returns where the next line's base is."""
    style = (f' font-size="{size}"' if size else "") + (f' font-weight="{weight}"' if weight else "")
    for line in textwrap.wrap(words, columns):
        parts.append(f'<text x="{x}" y="{y:.1f}" fill="{fill}"{style}>{escape(line)}</text>')
        y += 3.6
    return y


def html(name=None):
    """A page that prints the card, alone on its sheet."""
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{escape(name or TITLE)}</title>\n'
        "<style>body{margin:10mm}@page{margin:10mm}</style></head>\n<body>\n" + svg(name) + "</body></html>\n"
    )
