"""A pot and its plant in dots: how it looks at a moisture, and whether that can be believed."""

from potreeve.logic import facepot

from vectors.made import make_state, settings

WELL = {"pm": 934, "use_ul_mm": 5000}
HELD = {"ladder": 2, "reason": 20, "pm": 640}
BLIND = {"ladder": 1, "reason": 6, "pm": 500}
NEW = {"ladder": 2, "reason": 24}


class Seen:
    """As much of face.Seen as a pot needs."""

    def __init__(self, pot):
        self.state = make_state({"typical_um": 3000}, pot)
        self.settings = settings(1, {}, {})


def looked(call, pot):
    it = Seen(pot)
    if call == "believed":
        return facepot.believed(it.state.pots[0])
    if call == "due":
        return facepot.due_pm(it, 0)
    return list(facepot.drawn(it, 0, (5, 60, 34, 23), 23))


VECTORS = (
    ("looked", ("believed", WELL), True),
    ("looked", ("believed", HELD), True),
    ("looked", ("believed", BLIND), False),
    ("looked", ("believed", NEW), False),
    ("looked", ("due", WELL), 850),
    ("looked", ("drawn", WELL), "any"),
    ("looked", ("drawn", BLIND), "any"),
    ("thirst_pm", (1000, {"wilting_pm": 250, "depletion_pm": 400}), 0),
    ("thirst_pm", (475, {"wilting_pm": 250, "depletion_pm": 400}), 0),
    ("thirst_pm", (250, {"wilting_pm": 250, "depletion_pm": 400}), 1000),
    ("thirst_pm", (0, {"wilting_pm": 250, "depletion_pm": 400}), 1000),
)
