"""When to wake next: soaks, night, thirst near, weak batteries."""

from potreeve.logic import schedule

from vectors.made import make_state, settings

# This pot is due at 850 pm.
CALM = {"pm": 890}


def wake_s(rig, pots, dark, weak, channel=None):
    return schedule.next_wake_s(make_state(rig, *pots), settings(len(pots), {}, channel or {}), dark, weak)


def is_day(lx):
    return schedule.is_day(make_state({"lx": lx}, CALM).rig, settings(1, {}, {}))


def is_dark(lx):
    return schedule.is_dark(make_state({"lx": lx}, CALM).rig, settings(1, {}, {}))


def is_weak(soc_pm):
    return schedule.is_weak(make_state({"soc_pm": soc_pm}, CALM).rig, settings(1, {}, {}))


VECTORS = (
    # Below 20 lx it is dark; below twice the reserve of 80 pm the battery is weak.
    ("is_day", (0,), False),
    ("is_day", (20,), False),
    ("is_day", (21,), True),
    ("is_dark", (0,), True),
    ("is_dark", (19,), True),
    ("is_dark", (20,), False),
    ("is_dark", (-1,), False),
    ("is_weak", (159,), True),
    ("is_weak", (160,), False),
    ("wake_s", ({}, (CALM,), False, False), 1800),
    ("wake_s", ({}, (CALM,), True, False), 3600),
    ("wake_s", ({}, (CALM,), False, True), 3600),
    ("wake_s", ({}, (CALM,), True, True), 7200),
    ("wake_s", ({}, ({"pm": 890},), True, False), 3600),
    ("wake_s", ({}, ({"pm": 889},), True, False), 1800),
    ("wake_s", ({}, ({"pm": -500},), True, False), 1800),
    # One that may dry far is due at 746, and at 837 where it drinks much.
    ("wake_s", ({}, ({"pm": 786},), True, False, {"depletion_pm": 600}), 3600),
    ("wake_s", ({}, ({"pm": 785},), True, False, {"depletion_pm": 600}), 1800),
    ("wake_s", ({"typical_um": 1500}, ({"pm": 876, "use_ul_mm": 30000},), True, False, {"depletion_pm": 600}), 1800),
    ("wake_s", ({"typical_um": 1500}, ({"pm": 877, "use_ul_mm": 30000},), True, False, {"depletion_pm": 600}), 3600),
    ("wake_s", ({}, ({"pm": 889, "ladder": 1},), True, False), 3600),
    ("wake_s", ({}, (CALM, {"pm": 889}), True, False), 1800),
    ("wake_s", ({}, (CALM, {"pm": 750, "dosing": 1}), True, True), 1200),
    ("wake_s", ({"hold": 50}, ({"pm": 850, "dosing": 1},), False, False), 1800),
)
