"""What a tended pot suffers, one thing before the other; each bound by itself is in cycle.py and watch.py."""

from potreeve.logic import suffers

from vectors.made import changed, make_state, settings

# Due at 850 pm, and given water an hour ago.
POT = {"pm": 880, "known": 1, "pulsed": 1, "pulse_s": 396400, "reason": 33}
DRY = {"pm": 400, "dry_s": 21600}
WAITS = {"pm": 800, "pulse_s": 0}
FULL = {"surplus": 400}
LESS = {"learned": 14, "use_ul_mm": 549, "ref_ul_mm": 1000}
THROUGH = {"kept_pm": 499}
WET = {"pm": 1090, "ladder": 2, "reason": 23}


def said(pots, told=None):
    """Each pot's reason."""
    made = make_state({"up_s": 400000}, *[changed(POT, pot) for pot in pots])
    suffers.say(made, settings(len(pots), told or {}, {}))
    return [pot.reason for pot in made.pots]


def all_of(*what):
    pot = {}
    for changes in reversed(what):
        pot.update(changes)
    return pot


VECTORS = (
    # Nothing: the cap that was reached stays said.
    ("said", ([{}],), [33]),
    ("said", ([all_of(DRY, WAITS, FULL, LESS, THROUGH)],), [35]),
    ("said", ([all_of(WAITS, FULL, LESS, THROUGH)],), [38]),
    ("said", ([all_of(FULL, LESS, THROUGH)],), [36]),
    ("said", ([all_of(LESS, THROUGH)],), [9]),
    ("said", ([THROUGH],), [37]),
    # Not of one whose battery is too low, nor of one that is not tended; each pot by itself.
    ("said", ([changed(DRY, {"reason": 34})],), [34]),
    ("said", ([changed(DRY, {"ladder": 1, "reason": 7})],), [7]),
    ("said", ([{}, DRY, THROUGH],), [33, 35, 37]),
    # Wet through thirst, and yet tended: something feeds it.
    ("said", ([{"use_ul_mm": 10000, "thirst_um": 17550}],), [36]),
    ("said", ([{"use_ul_mm": 10000, "thirst_um": 17549}],), [33]),
    # Above container capacity beside one held for being too wet: on the tray's floor alone.
    ("said", ([{"pm": 1000, "pulse_s": 0}, WET], {"pots_in_tray": True}), [36, 23]),
    ("said", ([{"pm": 999, "pulse_s": 0}, WET], {"pots_in_tray": True}), [33, 23]),
    ("said", ([{"pm": 1000, "pulse_s": 0}, WET], {"pots_in_tray": False}), [33, 23]),
)
