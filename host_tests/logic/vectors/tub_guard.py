"""An empty tub: held, tried, let go; and what a person is told of it."""

from potreeve.logic import extra as extra_module
from potreeve.logic import reasons, tub, tub_guard

from vectors.made import HALF, TUB, TUB_UP_S, changed, make_tub, with_tub

# At the lowest float since ten days; 50 of 500 ml count as nothing.
LOW = changed(HALF, {"tub_mark": 1, "tub_seen": 1, "tub_from_ml": 500, "tub_drawn_ul": 100000})
DRY = changed(LOW, {"tub_drawn_ul": 450000, "tub_air_ul_h": 0})
# More came since than there was.
MUCH = changed(DRY, {"tub_drawn_ul": 1200000})
HELD = {"hold": reasons.TUB_EMPTY, "hold_s": 800000}
# Lifted by 40 pm by 50 ml since the rig was held: a third of what they do is 33.
LIFTED = {
    "ladder": 0, "known": 1, "pulsed": 1, "pulse_s": 850000, "dose_ul": 50000, "start_pm": 600, "pm": 640,
    "total_ul": 5000000, "proof_um": 70,
}
STILL = {"total_ul": 4000000}
POTS = ({"total_ul": 5000000}, STILL)


def made(memory, rig=None, pots=POTS):
    return make_tub(memory, rig, pots)


def step(memory, mark, looked=False, rig=None, pots=({"total_ul": 5000000, "dosing": 1}, STILL)):
    """Days and one, note, hold, since when, whether the float is believed, when it is tried, whether a dose goes on;
    how loudly the tub asks."""
    what = made(memory, rig, pots)
    tub_guard.step(what, mark, looked, with_tub(TUB))
    extra = what.extra
    rig = what.rig
    told = [extra.tub_days, extra.tub_note, rig.hold, rig.hold_s, extra.tub_float, extra.tub_next_s]
    return told + [what.pots[0].dosing, extra_module.level(extra)]


def held(changes, memory=MUCH, rig=HELD):
    """Hold, belief, when it was held and is tried next, who tries, air and demand after a pot's trial."""
    what = made(changed(memory, {"tub_next_s": 940000, "tub_try": 1}), rig, (changed(LIFTED, changes), STILL))
    tub_guard.step(what, 1, False, with_tub(TUB))
    extra = what.extra
    told = (what.rig.hold, extra.tub_float, what.rig.hold_s, extra.tub_next_s, extra.tub_try)
    return told + (extra.tub_air_ul_h, what.pots[0].proof_um)


def noted(changes, memory=HALF):
    what = made(changed(memory, changes))
    checked = with_tub(TUB)
    return tub_guard.note(what, tub.days_left(what, checked), checked)


def trial(memory, asks, rungs=(0, 0), believed=(True, True), rig=None, dosing=1):
    """What was asked of decide, which gives ms to the channel that `asks`; the pulses, who tries, when next, hold."""
    pots = [{"ladder": rung, "dosing": dosing} for rung in rungs]
    what = made(memory, changed(HELD, rig or {}), pots)
    asked = []

    def decide(state, settings, may):
        asked.append((state.rig.hold, list(may)))
        return [1000 if index == asks else 0 for index in range(len(may))]

    pulses = tub_guard.trial(what, with_tub(TUB), list(believed), decide)
    extra = what.extra
    return asked, pulses, extra.tub_try, extra.tub_next_s, what.rig.hold, [pot.dosing for pot in what.pots]


def decided(next_s):
    """ms for two pots that are due, who tries, and the hold, by water's own decision."""
    due = {"known": 1, "pm": 600, "filtered": 34000 * 16, "raw": 34000}
    what = made(changed(DRY, {"tub_next_s": next_s}), changed(HELD, {"soc_pm": 900, "bucket_s": TUB_UP_S}), (due, due))
    return tub_guard.decide(what, with_tub(TUB), [True, True]), what.extra.tub_try, what.rig.hold


EMPTY = reasons.TUB_EMPTY
LIE = (0, 1, TUB_UP_S, TUB_UP_S, 0, 0, 0)
NO = (EMPTY, 0, 800000, 940000, 1, 0, 0)

VECTORS = (
    # Below the lowest float, but not empty by the count; 75 ml left, a tenth and a pulse; the very edge of it.
    ("step", (LOW, 1), [2, 60, 0, 0, 0, 0, 1, 2]),
    ("step", (changed(DRY, {"tub_drawn_ul": 424000}), 1), [1, 60, 0, 0, 0, 0, 1, 2]),
    ("step", (changed(DRY, {"tub_drawn_ul": 425000}), 1), [1, 60, EMPTY, TUB_UP_S, 0, TUB_UP_S + 43200, 0, 2]),
    ("step", (DRY, 1), [1, 60, EMPTY, TUB_UP_S, 0, TUB_UP_S + 43200, 0, 2]),
    # Another hold stays; a float that is not believed holds nothing.
    ("step", (DRY, 1, False, {"hold": 50, "hold_s": 7}), [1, 60, 50, 7, 0, 0, 1, 2]),
    ("step", (changed(DRY, {"tub_float": 1}), 1), [0, 63, 0, 0, 1, 0, 1, 1]),
    ("step", (changed(DRY, {"tub_float": 2, "tub_seen": 15}), 15), [1, 63, 0, 0, 2, 0, 1, 2]),
    # Held: it stays so; one wake with the float up is not enough, two are; a pattern that can't be ends it.
    ("step", (DRY, 1, False, HELD), [1, 60, EMPTY, 800000, 0, 0, 1, 2]),
    ("step", (DRY, 2, False, HELD), [1, 60, EMPTY, 800000, 0, 0, 1, 2]),
    ("step", (changed(DRY, {"tub_seen": 2}), 2, False, HELD), [3, 60, 0, 800000, 0, 0, 1, 2]),
    ("step", (changed(DRY, {"tub_seen": 4}), 4, False, HELD), [41, 0, 0, 800000, 0, 0, 1, 0]),
    ("step", (changed(DRY, {"tub_seen": 15}), 15, False, HELD), [1, 63, 0, 800000, 2, 0, 1, 2]),
    ("step", (changed(DRY, {"tub_seen": 0}), 0, False, HELD), [0, 0, 0, 800000, 0, 0, 1, 0]),
    # Whoever presses has filled it, perhaps: tried at once. A press of no one in need changes nothing.
    ("step", (changed(DRY, {"tub_next_s": 940000}), 1, True, HELD), [1, 60, EMPTY, 800000, 0, TUB_UP_S, 1, 2]),
    ("step", (HALF, 3, True), [15, 0, 0, 0, 0, 0, 1, 0]),
    # A float that stayed up, and somebody pressed: then it stands in water that was added.
    ("step", (changed(HALF, {"tub_drawn_ul": 5500000}), 3), [1, 62, 0, 0, 0, 0, 1, 2]),
    ("step", (changed(HALF, {"tub_drawn_ul": 5500000}), 3, True), [11, 0, 0, 0, 0, 0, 1, 0]),
    # A pot that rose since: the float lied, and no leak was there. Each thing that it takes. A pulse from an empty tub
    # is not proven by what a plant drinks.
    ("held", ({},), LIE),
    ("held", ({}, changed(MUCH, {"tub_air_ul_h": 401})), (0, 1, TUB_UP_S, TUB_UP_S, 0, 100, 0)),
    ("held", ({"pm": 633},), LIE),
    ("held", ({"pm": 632},), NO),
    ("held", ({"dose_ul": 20000, "pm": 618},), LIE),
    ("held", ({"dose_ul": 20000, "pm": 617},), NO),
    ("held", ({"dose_ul": 0},), NO),
    ("held", ({"judge": 1},), NO),
    ("held", ({"pulsed": 0},), NO),
    ("held", ({"ladder": 1},), NO),
    ("held", ({"ladder": 2},), NO),
    ("held", ({"pulse_s": 800001},), LIE),
    ("held", ({"pulse_s": 800000},), NO),
    ("held", ({}, MUCH, {"hold": 50}), (50, 0, 0, 940000, 1, 0, 70)),
    # It rose, but may have had what was left: the trial goes on at once, for whoever is due.
    ("held", ({}, changed(DRY, {"tub_drawn_ul": 1125000})), (EMPTY, 0, TUB_UP_S, TUB_UP_S, 0, 0, 0)),
    ("held", ({"pm": 632}, changed(DRY, {"tub_drawn_ul": 1125000})), NO),
    # What a person is told: the loudest first.
    ("noted", ({},), 0),
    ("noted", ({"tub_day_ul": 384000},), 0),
    ("noted", ({"tub_day_ul": 389000},), 60),
    ("noted", ({"tub_air_ul_h": 400},), 0),
    ("noted", ({"tub_air_ul_h": 401},), 61),
    ("noted", ({"tub_air_ul_h": 401, "tub_float": 2},), 61),
    ("noted", ({"tub_air_ul_h": 401, "tub_mark": 0},), 0),
    ("noted", ({"tub_float": 1},), 63),
    ("noted", ({"tub_float": 2},), 63),
    ("noted", ({"tub_drawn_ul": 4252000},), 62),
    ("level", (0, 0), 0),
    ("level", (60, 3), 2),
    ("level", (60, 4), 1),
    ("level", (61, 255), 2),
    ("level", (62, 3), 2),
    ("level", (63, 255), 1),
    ("decided", (TUB_UP_S + 1,), ([0, 0], 0, EMPTY)),
    ("decided", (TUB_UP_S,), ([6750, 0], 1, EMPTY)),
    # Tried half a day later, for eight hours, then once a day.
    ("trial", (changed(DRY, {"tub_next_s": TUB_UP_S + 1}), 0), ([], [0, 0], 0, TUB_UP_S + 1, EMPTY, [1, 1])),
    (
        "trial",
        (changed(DRY, {"tub_next_s": TUB_UP_S}), 0),
        ([(0, [True, True])], [1000, 0], 1, TUB_UP_S + 86400, EMPTY, [1, 1]),
    ),
    (
        "trial",
        (changed(DRY, {"tub_next_s": TUB_UP_S}), -1),
        ([(0, [True, True])], [0, 0], 9, TUB_UP_S + 86400, EMPTY, [1, 1]),
    ),
    # Only the one that began goes on; one that is not believed does not.
    (
        "trial",
        (changed(DRY, {"tub_try": 2, "tub_next_s": TUB_UP_S + 57601}), 1),
        ([(0, [False, True])], [0, 1000], 2, TUB_UP_S + 57601, EMPTY, [1, 1]),
    ),
    (
        "trial",
        (changed(DRY, {"tub_try": 9, "tub_next_s": TUB_UP_S + 57601}), 1, (0, 0), (False, True)),
        ([(0, [False, True])], [0, 1000], 2, TUB_UP_S + 57601, EMPTY, [1, 1]),
    ),
    # After those hours only a dose that began, until it is tried again.
    (
        "trial",
        (changed(DRY, {"tub_try": 2, "tub_next_s": TUB_UP_S + 57600}), 1),
        ([(0, [False, True])], [0, 1000], 2, TUB_UP_S + 57600, EMPTY, [1, 1]),
    ),
    (
        "trial",
        (changed(DRY, {"tub_try": 2, "tub_next_s": TUB_UP_S + 57600}), 1, (0, 0), (True, True), None, 0),
        ([], [0, 0], 0, TUB_UP_S + 57600, EMPTY, [0, 0]),
    ),
    (
        "trial",
        (changed(DRY, {"tub_try": 9, "tub_next_s": TUB_UP_S + 57600}), 1),
        ([], [0, 0], 0, TUB_UP_S + 57600, EMPTY, [0, 0]),
    ),
    (
        "trial",
        (changed(DRY, {"tub_try": 2, "tub_next_s": TUB_UP_S}), 0),
        ([(0, [True, True])], [1000, 0], 1, TUB_UP_S + 86400, EMPTY, [0, 0]),
    ),
    # A ration takes nobody's turn.
    (
        "trial",
        (changed(DRY, {"tub_try": 9, "tub_next_s": TUB_UP_S + 57601}), 1, (0, 1)),
        ([(0, [True, True])], [0, 1000], 9, TUB_UP_S + 57601, EMPTY, [1, 1]),
    ),
)
