"""A pot with its plant, in dots, like the report's sill: filled to its moisture, a notch where water is due.

Strokes as in face.py, whose `Seen` is handed on.
"""

from potreeve.logic import dosing, reasons
from potreeve.logic.state import RATIONED
from potreeve.logic.units import clamp

# Height of a plant above its pot, in tenths of the pot's, and whether it bears fruit; as in the report's drawing.
_LOOKS = {"mint": (9, 0), "strawberry": (6, 1), "cherry tomato": (13, 1)}
_PLAIN = (9, 0)


def believed(pot):
    """True where the pot's moisture is one that its probe can be believed to tell."""
    return pot.ladder != RATIONED and pot.reason not in (reasons.NOT_CALIBRATED,)


def due_pm(seen, index):
    """Moisture at which the pot is watered again."""
    return dosing.due_pm(seen.state.pots[index], seen.state.rig.typical_um, seen.settings["channels"][index])


def thirst_pm(pm, channel):
    """How a plant looks at this moisture: 0 at its stress point and above, 1000 at its wilting point and below."""
    stress_pm = dosing.stress_point_pm(channel)
    return clamp((stress_pm - pm) * 1000 // clamp(stress_pm - channel["wilting_pm"], 1, 1000), 0, 1000)


def drawn(seen, index, place, most):
    """A pot with its plant. place: (left edge of its rim, floor, breadth, height); most: the highest a plant may be."""
    pot, channel = seen.state.pots[index], seen.settings["channels"][index]
    x, floor, broad, high = place
    slant = broad // 8
    top = floor - high
    pm = clamp(pot.pm, 0, 1000)
    if believed(pot):
        # Wet soil, in every other row.
        for up in range(2, (high - 4) * pm // 1000 + 1, 2):
            side = slant * (high - up) // high
            yield "hline", x + side + 2, floor - up, broad - 2 * side - 3, 1
    else:
        yield "text", "?", x + broad // 2 - 4, floor - high // 2 - 3, 1
    yield "line", x, top, x + slant, floor, 1
    yield "line", x + broad, top, x + broad - slant, floor, 1
    yield "hline", x + slant, floor, broad - 2 * slant + 1, 1
    yield "fill_rect", x - 1, top - 1, broad + 3, 3, 1
    # The notch outside, at the height where water is due.
    notch = floor - (high - 4) * clamp(due_pm(seen, index), 0, 1000) // 1000
    yield "hline", x + broad, notch, 4, 1
    tenths, fruit = _LOOKS.get(channel["plant"].lower().replace("_", " "), _PLAIN)
    tall = clamp(high * tenths // 10, 0, most)
    yield from _plant((x + broad // 2, top - 2, broad), tall, fruit, thirst_pm(pot.pm, channel) if believed(pot) else 0)


def _plant(place, tall, fruit, thirst):
    """Stems, leaves, fruit. place: (middle, foot, breadth of the pot); thirst: 0..1000; stems sink and leaves hang."""
    x, foot, broad = place
    for stem in (-2, -1, 0, 1, 2):
        reach = stem * broad * (220 + thirst // 20) // 1000
        rise = tall * (1000 - 150 * (stem if stem > 0 else -stem)) // 1000
        rise = rise * (1000 - 600 * thirst // 1000) // 1000
        bend_x, bend_y = x + reach // 3, foot - rise * 2 // 3
        tip_x, tip_y = x + reach, foot - rise
        yield "line", x + stem, foot, bend_x, bend_y, 1
        yield "line", bend_x, bend_y, tip_x, tip_y, 1
        if thirst > 300:
            # A leaf that hangs.
            yield "vline", tip_x - 1, tip_y, 4, 1
            yield "vline", tip_x + 1, tip_y, 3, 1
        else:
            yield "ellipse", tip_x, tip_y, 3, 1, 1, 1
            yield "ellipse", bend_x + stem, bend_y + 1, 2, 1, 1, 1
        if fruit and stem in (-1, 1):
            yield "ellipse", x + reach * 2 // 3 + 2 * stem, foot - rise // 3, 1, 1, 1, 1
