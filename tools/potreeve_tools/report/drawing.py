"""The sill as a small drawing: each pot to scale, filled to where it ended.

The dark part of the soil stands for the moisture at the end (its height over
the pot's is the share of container capacity), the notch on the wall for the
refill point, the water in the tray for the highest it ever stood. A plant below
its stress point hangs as far as it is on the way to wilting.
"""

import math
import textwrap
from html import escape

from potreeve.logic import dosing

WIDTH, FLOOR, PX_CM = 640.0, 208.0, 5.4
LETTER, LINES_MOST = 11.5, 3
"""Width of a letter at the size a phone gets (px), and the most lines of a name."""
# (leaf colour, height of the plant over its pot's, fruit colour or "")
LOOKS = {
    "mint": ("#5d8243", 0.9, ""),
    "strawberry": ("#4f7a3c", 0.6, "#b8372f"),
    "cherry_tomato": ("#47682f", 1.35, "#c5532b"),
}
PLAIN = ("#567a3e", 0.9, "")
DEAD, PARCHED = "#9b8a6a", "#b59a45"
THIRSTY = 0.15


def sill(session, outcome):
    """SVG of the rig as it ended, with a text for those who can't see it."""
    specs = session.world.rig.pots
    slot = (WIDTH - 60.0) / len(specs)
    scale = min(
        PX_CM,
        (slot - 14.0) / max(spec["diameter_cm"] for spec in specs),
        78.0 / max(spec["height_cm"] for spec in specs),
    )
    parts, words, lowest = [_window()], [], 0
    for index, spec in enumerate(specs):
        broad = spec["diameter_cm"] * scale
        x = 30.0 + slot * index + (slot - broad) / 2.0
        parts.append(_pot(session, outcome, index, x, broad, spec["height_cm"] * scale))
        caption, lines = _caption(session, outcome, index, x + broad / 2.0, slot)
        parts.append(caption)
        lowest = max(lowest, lines)
        words.append(
            f"{outcome['pots'][index]['name']} at {_end_pm(session, index)} per mille{_mood(session, outcome, index)}"
        )
    parts.append(_tray(outcome["rig"]))
    return (
        f'<svg class="sill" viewBox="0 0 {WIDTH:.0f} {FLOOR + 24 + 26 * lowest:.0f}" role="img" '
        f'aria-label="The sill at the end: {escape("; ".join(words))}">' + "".join(parts) + "</svg>"
    )


def thirst(pm, channel):
    """How a plant at this moisture looks: 0 at or above its stress point, 1 at its wilting point and below."""
    stress, wilting = dosing.stress_point_pm(channel), channel["wilting_pm"]
    return max(0.0, min(1.0, (stress - pm) / max(1.0, stress - wilting)))


def _mood(session, outcome, index):
    if not outcome["pots"][index]["alive"]:
        return ", dead"
    return ", thirsty" if thirst(_end_pm(session, index), session.checked["channels"][index]) > THIRSTY else ""


def fitted(name, wide):
    """A name in lines that fit, at most LINES_MOST; what is too long ends with an ellipsis."""
    most = max(4, int(wide / LETTER))
    lines = textwrap.wrap(name, most, max_lines=LINES_MOST - 1, placeholder="…") or [name[:most]]
    return [line if len(line) <= most else line[: most - 1] + "…" for line in lines]


def _caption(session, outcome, index, x, slot):
    """(SVG, number of lines): name, moisture and how it fares under a pot, within its own slot."""
    name = outcome["pots"][index]["name"]
    lines = fitted(name, slot - 8.0)
    mood = f"{_end_pm(session, index)} ‰{_mood(session, outcome, index)}"
    spans = "".join(
        f'<tspan x="{x:.1f}" dy="{"0" if place == 0 else "1.15em"}">{escape(text)}</tspan>'
        for place, text in enumerate(lines)
    )
    lower = fitted(mood, slot - 8.0)
    spans += "".join(f'<tspan x="{x:.1f}" dy="1.15em" class="faint">{escape(text)}</tspan>' for text in lower)
    return (
        f'<text y="{FLOOR + 30:.0f}" text-anchor="middle"><title>{escape(name)}</title>{spans}</text>',
        len(lines) + len(lower),
    )


def _end_pm(session, index):
    return round(session.samples[-1]["pots"][index]["moisture_pm"])


def _window():
    bars = "".join(f'<path d="M{x} 10V{FLOOR - 10:.0f}" />' for x in (110, 230, 410, 530))
    return (
        f'<g fill="none" class="window" stroke-width="2"><path d="M30 {FLOOR - 10:.0f}V26L110 10H530L610 '
        f'26V{FLOOR - 10:.0f}" />'
        f'<path d="M30 92L110 84H530L610 92" />{bars}</g>'
        f'<rect x="12" y="{FLOOR:.0f}" width="616" height="7" rx="2" class="board" />'
    )


def _pot(session, outcome, index, x, broad, high):
    pot = outcome["pots"][index]
    channel = session.checked["channels"][index]
    floor = FLOOR - 5.0
    share = max(0.0, min(1.0, _end_pm(session, index) / 1000.0))
    inset = broad * 0.11

    def side(level):
        return inset * (1.0 - level)

    def trapezium(top, kind):
        left, right = x + side(top), x + broad - side(top)
        return (
            f'<path d="M{x + inset:.1f} {floor:.1f}L{left:.1f} {floor - high * top:.1f}H{right:.1f}'
            f'L{x + broad - inset:.1f} {floor:.1f}Z" class="{kind}" />'
        )

    notch = dosing.refill_point_pm(channel) / 1000.0
    y = floor - high * notch
    rim = f'<rect x="{x - 3:.1f}" y="{floor - high - 8:.1f}" width="{broad + 6:.1f}" height="9" rx="2" class="rim" />'
    look = 0.0 if not pot["alive"] else thirst(_end_pm(session, index), channel)
    return (
        _plant(
            session.world.rig.pots[index]["plant"], pot["alive"], look, x + broad / 2.0, floor - high - 6.0, broad, high
        )
        + trapezium(1.0, "pot")
        + trapezium(share, "soil")
        + rim
        + f'<path d="M{x + broad - side(notch) - 9:.1f} {y:.1f}h12" class="notch" stroke-width="2" />'
    )


def mixed(one, two, share):
    """A colour between two, "#rrggbb" each."""
    pairs = zip(*([int(text[at : at + 2], 16) for at in (1, 3, 5)] for text in (one, two)), strict=True)
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in pairs)


def _plant(kind, alive, look, x, y, broad, high):
    """Stems and leaves. look: thirst from 0 to 1; stems sink, leaves hang and pale with it."""
    colour, times, fruit = LOOKS.get(kind, PLAIN)
    tall = high * times
    if not alive:
        colour, fruit, tall, look = DEAD, "", tall * 0.5, 0.8
    else:
        colour = mixed(colour, PARCHED, 0.75 * look)
    parts = []
    for stem in range(-3, 4):
        lean = stem / 3.0
        tip_x = x + lean * broad * (0.62 + 0.1 * look)
        tip_y = y - tall * (1.0 - 0.32 * abs(lean)) * (1.0 - 0.62 * look)
        bend_y = y - tall * 0.6 * (1.0 + 0.15 * look)
        parts.append(
            f'<path d="M{x + lean * broad * 0.12:.1f} {y:.1f}Q{x + lean * broad * 0.2:.1f} {bend_y:.1f} '
            f'{tip_x:.1f} {tip_y:.1f}" fill="none" stroke="{colour}" stroke-width="1.6" />'
        )
        for place in (0.45, 0.72, 1.0):
            at_x = x + lean * broad * (0.12 + (0.5 + 0.1 * look) * place**1.6)
            at_y = y - (y - tip_y) * place * (1.0 if place == 1.0 else 1.0 + 0.5 * look)
            for turn in (-32, 32):
                # A leaf that hangs points down on both sides of its stem.
                angle = (turn + lean * 40.0) * (1.0 - look) + (75.0 if turn > 0 else 105.0) * look
                end_x = at_x + 5.0 * math.sin(math.radians((turn + lean * 40.0) * 2))
                end_y = at_y + 5.0 * look
                parts.append(
                    f'<ellipse cx="{end_x:.1f}" cy="{end_y:.1f}" rx="6.2" ry="{3.1 - 1.2 * look:.1f}" fill="{colour}" '
                    f'transform="rotate({angle:.0f} {end_x:.1f} {end_y:.1f})" opacity="0.86" />'
                )
        if fruit and stem % 2:
            fruit_y = y - (tall * 0.42 + 3 * abs(stem)) * (1.0 - 0.5 * look)
            parts.append(f'<circle cx="{x + lean * broad * 0.34:.1f}" cy="{fruit_y:.1f}" r="3.6" fill="{fruit}" />')
    return f'<g class="plant" data-thirst="{look:.2f}">{"".join(parts)}</g>'


def _tray(rig):
    broad, x = WIDTH - 44.0, 22.0
    share = max(0.0, min(1.0, rig["tray_peak_ml"] / max(1.0, rig["tray_headroom_ml"])))
    water = (
        f'<rect x="{x:.1f}" y="{FLOOR - 13 * share:.1f}" width="{broad:.1f}" height="{13 * share:.1f}" class="water" />'
    )
    return (
        water + f'<path d="M{x:.1f} {FLOOR - 13:.0f}V{FLOOR - 1:.0f}H{x + broad:.1f}V{FLOOR - 13:.0f}" fill="none" '
        'class="tray" '
        'stroke-width="2.4" stroke-linejoin="round" stroke-linecap="round" />'
    )
