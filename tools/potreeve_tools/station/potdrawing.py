"""One pot as a small drawing, filled to its moisture: kin to the sill of the report."""

from html import escape

WIDE, HIGH = 96.0, 74.0
TAPER = 0.11
LEAVES = {"mint": "leaf", "strawberry": "leaf berry", "cherry_tomato": "leaf tall berry"}


def pot(name, plant, moisture_pm, refill_pm, calm):
    """SVG of a pot. moisture_pm, refill_pm: None where not known; calm: False paints the rim as a warning."""
    share = 0.0 if moisture_pm is None else max(0.0, min(1.0, moisture_pm / 1000.0))
    words = (
        f"{name}: no reading one can believe"
        if moisture_pm is None
        else f"{name}: moisture {moisture_pm} per mille of container capacity"
    )
    kind = LEAVES.get(plant, "leaf")
    parts = [_plant(kind), _trapezium(1.0, "soil-dry"), _trapezium(share, "soil-wet")]
    parts.append(f'<rect class="rim{"" if calm else " off"}" x="21" y="64" width="102" height="10" rx="2"/>')
    if refill_pm is not None:
        level = refill_pm / 1000.0
        y = 74 + HIGH * (1 - level)
        parts.append(f'<path class="notch" d="M{112 - (1 - level) * WIDE * TAPER:.1f} {y:.1f}h14"/>')
    return f'<svg class="pot" viewBox="0 0 144 152" role="img" aria-label="{escape(words)}">{"".join(parts)}</svg>'


def _trapezium(level, style):
    inset = WIDE * TAPER
    side = inset * (1.0 - level)
    top, floor = 74 + HIGH * (1 - level), 74 + HIGH
    return (
        f'<path class="{style}" d="M{24 + inset:.1f} {floor:.1f}L{24 + side:.1f} {top:.1f}H{120 - side:.1f}'
        f'L{120 - inset:.1f} {floor:.1f}Z"/>'
    )


def _plant(kind):
    tall = 58.0 if "tall" in kind else 44.0
    parts = []
    for stem in range(-2, 3):
        lean = stem / 2.0
        tip_x, tip_y = 72 + lean * 46, 66 - tall * (1.0 - 0.34 * abs(lean))
        parts.append(
            f'<path class="stem" d="M{72 + lean * 10:.1f} 66Q{72 + lean * 16:.1f} {66 - tall * 0.6:.1f} {tip_x:.1f} '
            f'{tip_y:.1f}"/>'
        )
        for place in (0.5, 0.78, 1.0):
            x, y = 72 + lean * (10 + 36 * place**1.6), 66 - (66 - tip_y) * place
            for turn in (-34, 34):
                parts.append(
                    f'<ellipse class="leaf" cx="{x + turn * 0.13:.1f}" cy="{y:.1f}" rx="6.4" ry="3.2" '
                    f'transform="rotate({turn + lean * 40:.0f} {x + turn * 0.13:.1f} {y:.1f})"/>'
                )
        if "berry" in kind and stem % 2:
            parts.append(f'<circle class="berry" cx="{72 + lean * 30:.1f}" cy="{66 - tall * 0.36:.1f}" r="4"/>')
    return "".join(parts)
