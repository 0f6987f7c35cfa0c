"""When to wake next: soaks, night, thirst near, weak batteries."""

from potreeve.logic import schedule

from vectors.made import make_state, settings

# This pot is due at 820 pm.
CALM = {"pm": 870}


def wake_s(rig, pots, dark, weak):
    return schedule.next_wake_s(make_state(rig, *pots), settings(len(pots), {}, {}), dark, weak)


VECTORS = (
    ("wake_s", ({}, (CALM,), False, False), 1800),
    ("wake_s", ({}, (CALM,), True, False), 3600),
    ("wake_s", ({}, (CALM,), False, True), 3600),
    ("wake_s", ({}, (CALM,), True, True), 7200),
    ("wake_s", ({}, ({"pm": 860},), True, False), 3600),
    ("wake_s", ({}, ({"pm": 859},), True, False), 1800),
    ("wake_s", ({}, ({"pm": -500},), True, False), 1800),
    # One that drinks much is due at 860.
    ("wake_s", ({"typical_um": 1500}, ({"pm": 899, "use_ul_mm": 60000},), True, False), 1800),
    ("wake_s", ({"typical_um": 1500}, ({"pm": 900, "use_ul_mm": 60000},), True, False), 3600),
    ("wake_s", ({}, ({"pm": 859, "ladder": 1},), True, False), 3600),
    ("wake_s", ({}, (CALM, {"pm": 859}), True, False), 1800),
    ("wake_s", ({}, (CALM, {"pm": 750, "dosing": 1}), True, True), 1200),
    ("wake_s", ({"hold": 50}, ({"pm": 850, "dosing": 1},), False, False), 1800),
)
