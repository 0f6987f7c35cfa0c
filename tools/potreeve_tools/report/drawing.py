"""The sill as a small drawing: each pot to scale, filled to where it ended.

The dark part of the soil stands for the moisture at the end (its height over
the pot's is the share of container capacity), the notch on the wall for the
refill point, the water in the tray for the highest it ever stood.
"""

import math
from html import escape

from potreeve.logic import dosing

WIDTH, FLOOR, PX_CM = 640.0, 208.0, 5.4
# (leaf colour, height of the plant over its pot's, fruit colour or "")
LOOKS = {
    "mint": ("#5d8243", 0.9, ""),
    "strawberry": ("#4f7a3c", 0.6, "#b8372f"),
    "cherry_tomato": ("#47682f", 1.35, "#c5532b"),
}
PLAIN = ("#567a3e", 0.9, "")
DEAD = "#9b8a6a"


def sill(session, outcome):
    """SVG of the rig as it ended, with a text for those who can't see it."""
    specs = session.world.rig.pots
    wide = sum(spec["diameter_cm"] for spec in specs) + 5.0 * (len(specs) - 1)
    scale = min(PX_CM, (WIDTH - 90.0) / wide, 78.0 / max(spec["height_cm"] for spec in specs))
    x = (WIDTH - wide * scale) / 2.0
    parts = [_window()]
    for index, spec in enumerate(specs):
        broad = spec["diameter_cm"] * scale
        parts.append(_pot(session, outcome, index, x, broad, spec["height_cm"] * scale))
        x += broad + 5.0 * scale
    parts.append(_tray(outcome["rig"], wide * scale))
    words = "; ".join(f"{pot['name']} at {_end_pm(session, i)} per mille" for i, pot in enumerate(outcome["pots"]))
    return (
        f'<svg class="sill" viewBox="0 0 {WIDTH:.0f} 250" role="img" aria-label="The sill at the end: {escape(words)}">'
        + "".join(parts)
        + "</svg>"
    )


def _end_pm(session, index):
    return round(session.samples[-1]["pots"][index]["moisture_pm"])


def _window():
    bars = "".join(f'<path d="M{x} 10V{FLOOR - 10:.0f}" />' for x in (110, 230, 410, 530))
    return (
        f'<g fill="none" stroke="#ddd0b6" stroke-width="2"><path d="M30 {FLOOR - 10:.0f}V26L110 10H530L610 '
        f'26V{FLOOR - 10:.0f}" />'
        f'<path d="M30 92L110 84H530L610 92" />{bars}</g>'
        f'<rect x="12" y="{FLOOR:.0f}" width="616" height="7" rx="2" fill="#cdbb98" />'
    )


def _pot(session, outcome, index, x, broad, high):
    pot = outcome["pots"][index]
    channel = session.checked["channels"][index]
    floor = FLOOR - 5.0
    share = max(0.0, min(1.0, _end_pm(session, index) / 1000.0))
    inset = broad * 0.11

    def side(level):
        return inset * (1.0 - level)

    def trapezium(top, colour):
        left, right = x + side(top), x + broad - side(top)
        return (
            f'<path d="M{x + inset:.1f} {floor:.1f}L{left:.1f} {floor - high * top:.1f}H{right:.1f}'
            f'L{x + broad - inset:.1f} {floor:.1f}Z" fill="{colour}" />'
        )

    notch = dosing.refill_point_pm(channel) / 1000.0
    y = floor - high * notch
    rim = (
        f'<rect x="{x - 3:.1f}" y="{floor - high - 8:.1f}" width="{broad + 6:.1f}" height="9" rx="2" fill="#b9633a" />'
    )
    return (
        _plant(session.world.rig.pots[index]["plant"], pot["alive"], x + broad / 2.0, floor - high - 6.0, broad, high)
        + trapezium(1.0, "#d9b08c")
        + trapezium(share, "#6b4a33")
        + rim
        + f'<path d="M{x + broad - side(notch) - 9:.1f} {y:.1f}h12" stroke="#a94f27" stroke-width="2" />'
        + f'<text x="{x + broad / 2:.1f}" y="{FLOOR + 24:.0f}" text-anchor="middle">{escape(pot["name"])}</text>'
        + f'<text x="{x + broad / 2:.1f}" y="{FLOOR + 39:.0f}" text-anchor="middle" '
        f'class="faint">{_end_pm(session, index)} ‰</text>'
    )


def _plant(kind, alive, x, y, broad, high):
    colour, times, fruit = LOOKS.get(kind, PLAIN)
    tall = high * times
    if not alive:
        colour, fruit, tall = DEAD, "", tall * 0.5
    parts = []
    for stem in range(-3, 4):
        lean = stem / 3.0
        tip_x, tip_y = x + lean * broad * 0.62, y - tall * (1.0 - 0.32 * abs(lean))
        parts.append(
            f'<path d="M{x + lean * broad * 0.12:.1f} {y:.1f}Q{x + lean * broad * 0.2:.1f} {y - tall * 0.6:.1f} '
            f'{tip_x:.1f} {tip_y:.1f}" fill="none" stroke="{colour}" stroke-width="1.6" />'
        )
        for place in (0.45, 0.72, 1.0):
            at_x = x + lean * broad * (0.12 + 0.5 * place**1.6)
            at_y = y - (y - tip_y) * place
            for turn in (-32, 32):
                angle = turn + lean * 40.0
                reach = 5.0
                end_x, end_y = at_x + reach * math.sin(math.radians(angle * 2)), at_y
                parts.append(
                    f'<ellipse cx="{end_x:.1f}" cy="{end_y:.1f}" rx="6.2" ry="3.1" fill="{colour}" '
                    f'transform="rotate({angle:.0f} {end_x:.1f} {end_y:.1f})" opacity="0.86" />'
                )
        if fruit and stem % 2:
            parts.append(
                f'<circle cx="{x + lean * broad * 0.34:.1f}" cy="{y - tall * 0.42 - 3 * abs(stem):.1f}" r="3.6" '
                f'fill="{fruit}" />'
            )
    return "".join(parts)


def _tray(rig, broad):
    broad += 44.0
    x = (WIDTH - broad) / 2.0
    share = max(0.0, min(1.0, rig["tray_peak_ml"] / max(1.0, rig["tray_headroom_ml"])))
    water = (
        f'<rect x="{x:.1f}" y="{FLOOR - 13 * share:.1f}" width="{broad:.1f}" height="{13 * share:.1f}" '
        'fill="#2a6788" opacity="0.55" />'
    )
    return (
        water + f'<path d="M{x:.1f} {FLOOR - 13:.0f}V{FLOOR - 1:.0f}H{x + broad:.1f}V{FLOOR - 13:.0f}" fill="none" '
        'stroke="#5b5246" stroke-width="2.4" stroke-linejoin="round" stroke-linecap="round" />'
    )
