"""Which doses wait for the night: each threshold and its neighbour."""

from potreeve.logic import nights

from vectors.made import changed, make_state, settings

# By day, over a tray that takes a little less than three times 30 ml; 6.75 s of its pump count for 32.4 ml and bring
# 25 of them, so what is left brings 68.6 ml, or 137 pm.
RIG = {"lx": 100, "up_s": 200000, "tray_ul": 1410001, "typical_um": 1500}
POT = {"pm": 800, "known": 1, "pulsed": 1, "pulse_s": 198800, "nights": 1}
THIRSTY = {"use_ul_mm": 46000}
EVEN = {"pump_spread_pm": 0, "prime_ms": 0}


def waits(rig, pot, channel=None):
    made = make_state(changed(RIG, rig), changed(POT, pot))
    told = settings(1, {}, channel or {})
    return nights.waits(made.rig, made.pots[0], told["channels"][0], told)


VECTORS = (
    ("waits", ({}, {}), True),
    # None of its doses was hidden; it is night; nobody knows whether it is.
    ("waits", ({}, {"nights": 0}), False),
    ("waits", ({"lx": 20}, {}), False),
    ("waits", ({"lx": 21}, {}), True),
    ("waits", ({"lx": -1}, {}), False),
    # Thirty hours after its last pulse dusk must have been.
    ("waits", ({}, {"pulse_s": 92001}), True),
    ("waits", ({}, {"pulse_s": 92000}), False),
    # The tray takes two doses that show.
    ("waits", ({"tray_ul": 1410000}, {}), False),
    # Nothing to wait for in a full one: no night brings a drop.
    ("waits", ({"tray_ul": 1500000}, {}), False),
    ("waits", ({"tray_ul": 1500000}, {"pm": 851}), True),
    # It drinks 137 pm in a day, and 138; with a slower fill of the tube a pulse brings less.
    ("waits", ({}, {"use_ul_mm": 45999}), True),
    ("waits", ({}, THIRSTY), False),
    ("waits", ({"typical_um": 1499}, THIRSTY), True),
    ("waits", ({}, {"use_ul_mm": 45999}, {"prime_ms": 600}), False),
    ("waits", ({"tray_ul": 1411001}, {"use_ul_mm": 45999}), False),
    # All that a tray takes at once, 89 ml, is what it drinks, where a pulse brings what it counts for: 178 pm; not 179.
    ("waits", ({"tray_ul": 1411000}, {"use_ul_mm": 59400}, EVEN), True),
    ("waits", ({"tray_ul": 1411000}, {"use_ul_mm": 59700}, EVEN), False),
    ("waits", ({"tray_ul": 1411001}, {"use_ul_mm": 59400}, EVEN), False),
    # Its last dose was hidden: the next waits, however much it drinks.
    ("waits", ({}, changed(THIRSTY, {"nights": 8})), True),
    ("waits", ({}, changed(THIRSTY, {"nights": 7})), False),
    ("waits", ({"tray_ul": 1410000}, changed(THIRSTY, {"nights": 8})), False),
    # Near full it is in no hurry: above 850 pm, a quarter of the way from 900 down to 700.
    ("waits", ({}, changed(THIRSTY, {"pm": 851})), True),
    ("waits", ({}, changed(THIRSTY, {"pm": 850})), False),
    ("waits", ({}, changed(THIRSTY, {"pm": 851}), {"fill_pm": 901}), False),
    ("waits", ({}, changed(THIRSTY, {"pm": 851}), {"fill_pm": 899}), True),
    ("waits", ({}, changed(THIRSTY, {"pm": 846}), {"depletion_pm": 430}), True),
)
