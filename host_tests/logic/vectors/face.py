"""The display's pages: which there are, what each says, a sum of all that is drawn, and what presses do."""

from binascii import crc32

from potreeve.logic import face, limits

from vectors.made import make_state, settings

HEAD = {
    "alarm": 0, "errors": 0, "days_left": 64, "battery_mv": 3900, "sleep_s": 1500, "tray_ml": 20, "tub_mark": 0,
    "tub_days": 255,
}
FULL = [0] * limits.BUCKETS
GIVEN = [550] + FULL[1:]
WELL = {"pm": 934, "use_ul_mm": 5000, "spent": GIVEN}
SHORT, LONG = 1, 2
ENERGY = {"active_ua": 67000, "probe_ua": 15000, "display_ua": 4000}


def seen(rig, pots, head, rules, channel):
    whole = dict(HEAD)
    whole.update(head)
    state = make_state(dict({"soc_pm": 720, "typical_um": 3000}, **rig), *pots)
    return face.Seen(state, settings(len(pots), rules, channel), whole)


def listed(rig, pots, head, rules=None):
    """The pages there are."""
    return face.pages(seen(rig, pots, head, rules or {}, {}))


def told(place, rig, pots, head, rules=None, channel=None):
    """The words on one page."""
    it = seen(rig, pots, head, rules or {}, channel or {})
    return [stroke[1] for stroke in face.strokes(it, face.pages(it), place) if stroke[0] in ("text", "big")]


def drawn(rig, pots, head, rules=None, channel=None):
    """A sum of every stroke of every page."""
    it = seen(rig, pots, head, rules or {}, channel or {})
    pages = face.pages(it)
    total = 0
    for place in range(len(pages)):
        for stroke in face.strokes(it, pages, place):
            total = crc32(repr(stroke).encode(), total)
    return total & 0xFFFFFFFF


DRY = {"pm": 330, "use_ul_mm": 0}
HELD = {"ladder": 2, "reason": 20, "pm": 640}
BLIND = {"ladder": 1, "reason": 6, "pm": 500}
NEW = {"ladder": 2, "reason": 24}
CALL = {"alarm": 2, "days_left": 5, "errors": 4 + 1024 + 2048}

VECTORS = (
    ("listed", ({}, (WELL,), {}), [(0, 0), (2, 0), (3, 0)]),
    ("listed", ({}, (WELL, HELD), {"alarm": 2}), [(0, 0), (1, 0), (2, 0), (2, 1), (3, 0), (4, 0)]),
    # Rig first: hold, memory, battery; then pots; then what failed, but for a report and for a file; settings.
    ("listed", ({"hold": 50, "memory": 1}, (BLIND,), CALL, {"insist": True}),
     [(0, 0), (1, 0), (1, 1), (1, 2), (1, 3), (1, 4), (1, 5), (2, 0), (3, 0), (4, 0)]),
    ("listed", ({}, (WELL,), {"alarm": 1, "tub_note": 60}), [(0, 0), (1, 0), (2, 0), (3, 0), (4, 0)]),
    ("told", (0, {}, (WELL, WELL), {}), ["All is well", "93%", "93%"]),
    ("told", (0, {}, (HELD, BLIND, NEW, WELL), {"alarm": 2}), ["Look today: 3", "64%", "?", "?", "?", "?", "93%"]),
    ("told", (0, {"hold": 50}, (WELL,), {"alarm": 1}), ["When you pass: 1", "93%"]),
    ("told", (1, {"hold": 50}, (WELL,), {"alarm": 1}),
     ["The rig", "You hold it: no", "water at all.", "Tray empty? Hold", "the button 2 s:", "go on."]),
    ("told", (1, {}, (HELD,), {"alarm": 2}),
     ["mint", "Water given, but", "no rise seen.", "Check tub, tube", "and its end."]),
    ("told", (1, {}, (WELL,), {}), ["mint", "93%", "due at 85%", "tended", "24h 55 ml"]),
    ("told", (1, {}, ({"reason": 31},), {}), ["mint", "0%", "due at 85%", "day given", "24h 0 ml"]),
    ("told", (1, {}, ({"reason": 32, "pm": 2500},), {}), ["mint", "199%", "due at 85%", "day given", "24h 0 ml"]),
    ("told", (2, {}, (BLIND,), {"alarm": 2}), ["mint", "?", "?", "no reading", "rationed", "24h 0 ml"]),
    ("told", (2, {}, (HELD,), {"alarm": 2}), ["mint", "64%", "due at 85%", "held", "24h 0 ml"]),
    ("told", (2, {}, (WELL,), {}), ["sill", "no tub gauge", "72% 64 days", "room 1480 ml", "look in 25min"]),
    ("told", (2, {}, (WELL,), {"tub_mark": 3, "days_left": 999, "tray_ml": 3000, "sleep_s": 5941}),
     ["sill", "tub ? days", "72%", "room 0 ml", "look in 2 h"]),
    ("told", (2, {}, (WELL,), {"tub_mark": 3, "tub_days": 1, "battery_mv": 0, "sleep_s": 5940}),
     ["sill", "tub 1 day", "battery ?", "room 1480 ml", "look in 99min"]),
    ("told", (2, {}, (WELL,), {"tub_mark": 3, "tub_days": 0}),
     ["sill", "tub 0 days", "72% 64 days", "room 1480 ml", "look in 25min"]),
    ("told", (4, {}, (HELD,), {"alarm": 2}),
     ["Seen to it?", "Press: yes, try", "it all again.", "Wait: leave all", "as it is."]),
    ("drawn", ({}, (WELL, WELL, WELL), {}), "any"),
    ("drawn", ({}, (DRY, WELL), {}), "any"),
    ("drawn", ({}, (HELD, BLIND, NEW, WELL), CALL), "any"),
    ("drawn", ({}, (DRY,), {}, {}, {"plant": "Cherry_Tomato", "pot_ml": 5000}), "any"),
    ("drawn", ({}, ({"pm": -50}, {"pm": 1400}), {}, {}, {"plant": "strawberry"}), "any"),
    ("after", ([(0, 0), (2, 0), (3, 0)], 0, SHORT), (1, 0)),
    ("after", ([(0, 0), (2, 0), (3, 0)], 2, SHORT), (0, 0)),
    ("after", ([(0, 0), (2, 0), (3, 0)], 2, LONG), (-1, LONG)),
    ("after", ([(0, 0), (3, 0), (4, 0)], 2, SHORT), (-1, SHORT)),
    ("after", ([(0, 0), (3, 0), (4, 0)], 2, LONG), (-1, LONG)),
    # Since the last press, since the first, the sleep that follows.
    ("over", (29999, 119999, 1800), False),
    ("over", (30000, 30000, 1800), True),
    ("over", (1000, 120000, 1800), True),
    ("over", (1000, 58999, 60), False),
    ("over", (1000, 59000, 60), True),
    ("over", (0, 0, 0), True),
    ("spent_ms", (0, ENERGY), 0),
    ("spent_ms", (30000, ENERGY), 31464),
    ("spent_ms", (120000, ENERGY), 125854),
    ("spent_ms", (1, ENERGY), 2),
)
