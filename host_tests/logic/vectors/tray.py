"""What pots that dry tell of their tray: each threshold and its neighbour.

This pot holds 500 ml: 100 pm are 50 ml. It is due at 850 pm, and 1500 um of demand draw 49 pm.
"""

from potreeve.logic import tray

from vectors.made import changed, make_state, settings

# Fell from 900 to 800 pm over a long time.
DRY = {"known": 1, "high_pm": 900, "pm": 800, "draw_um": 65535}
# Due at 746 pm, or at 837 while it drinks so much.
DEEP = changed(DRY, {"high_pm": 1000, "use_ul_mm": 30000})
# Fell 80 pm in twelve hours of light and 20 in nine of darkness, as far as may be by night; what waits for the tray has
# wilted, and says nothing of it.
BY_DAY = {"known": 1, "pm": 700, "high_pm": 700, "light_pm": 80, "light_s": 43200, "dark_pm": 20, "dark_s": 32400}
WAITING = {"known": 1, "pm": 250, "ladder": 2, "reason": 20}
FULL = {"known": 1, "pm": 851, "high_pm": 851}


def dried(tray_ul, pots, in_tray=True):
    """(tray, what it has heard of) for the first pot"""
    made = make_state({"tray_ul": tray_ul}, *pots)
    tray.dried(made, 0, settings(len(pots), {"pots_in_tray": in_tray}, {}))
    return made.rig.tray_ul, made.pots[0].credit_pm


def dried_at(pms):
    """Tray after a pot was asked at each of these moistures."""
    made = make_state({"tray_ul": 100000}, DRY)
    for pm in pms:
        made.pots[0].pm = pm
        tray.dried(made, 0, settings(1, {"pots_in_tray": True}, {}))
    return made.rig.tray_ul


def fallen(tray_ul, pots, believed=None, in_tray=True):
    """(tray, what each pot has told)"""
    made = make_state({"tray_ul": tray_ul}, *pots)
    tray.fallen(made, settings(len(pots), {"pots_in_tray": in_tray}, {}), believed or [True] * len(pots))
    return made.rig.tray_ul, [pot.credit_pm for pot in made.pots]


def all_dry(tray_ul, pots, believed=None, in_tray=True, rig=None, channel=None):
    made = make_state(changed({"tray_ul": tray_ul}, rig or {}), *pots)
    tray.all_dry(made, settings(len(pots), {"pots_in_tray": in_tray}, channel or {}), believed or [True] * len(pots))
    return made.rig.tray_ul


def told(pots):
    """(tray, [from where each pot falls, the demand since, what it has told])"""
    made = make_state({"tray_ul": 70000}, *pots)
    tray.all_dry(made, settings(len(pots), {"pots_in_tray": True}, {}), [True] * len(pots))
    return made.rig.tray_ul, [(pot.high_pm, pot.draw_um, pot.credit_pm) for pot in made.pots]


def by_day(pots, believed=None, told_ul=50000, tray_ul=70000):
    """(tray, what of it falls tell of from now on, what the first pot has told, how far it fell by day)"""
    made = make_state({"tray_ul": tray_ul, "told_ul": told_ul}, *pots)
    tray.all_dry(made, settings(len(pots), {"pots_in_tray": True}, {}), believed or [True] * len(pots))
    return made.rig.tray_ul, made.rig.told_ul, made.pots[0].credit_pm, made.pots[0].light_pm


def counted(pot, was_pm=720, elapsed_s=1800, rig=None):
    """(fallen by day, for how long, by night, for how long, what of the tray falls tell of)"""
    made = make_state(changed({"up_s": 100000, "lx": 100, "tray_ul": 60000, "told_ul": 50000}, rig or {}),
                      changed({"pm": 700}, pot))
    tray.count_fall(made.rig, made.pots[0], settings(1, {}, {}), 0, (was_pm, elapsed_s))
    told = made.pots[0]
    return told.light_pm, told.light_s, told.dark_pm, told.dark_s, made.rig.told_ul


VECTORS = (
    # A tended pot fell by 100 pm, by night no faster than a third: what was there when that was first counted is gone.
    ("by_day", ([BY_DAY, WAITING],), (20000, 20000, 0, 0)),
    ("by_day", ([changed(BY_DAY, {"light_pm": 79}), WAITING],), (70000, 50000, 0, 79)),
    ("by_day", ([changed(BY_DAY, {"light_pm": 80, "dark_pm": 21}), WAITING],), (70000, 50000, 0, 80)),
    ("by_day", ([changed(BY_DAY, {"dark_s": 32399}), WAITING],), (70000, 50000, 0, 80)),
    ("by_day", ([changed(BY_DAY, {"light_s": 43800}), WAITING],), (70000, 50000, 0, 80)),
    # Nor back by more than a quarter.
    ("by_day", ([changed(BY_DAY, {"light_pm": 136, "dark_pm": -34}), WAITING],), (20000, 20000, 0, 0)),
    ("by_day", ([changed(BY_DAY, {"light_pm": 136, "dark_pm": -35}), WAITING],), (70000, 50000, 0, 136)),
    # Six hours of light, three of darkness.
    ("by_day", ([changed(BY_DAY, {"light_s": 21600, "dark_s": 21600}), WAITING],), (20000, 20000, 0, 0)),
    ("by_day", ([changed(BY_DAY, {"light_s": 21599, "dark_s": 21600}), WAITING],), (70000, 50000, 0, 80)),
    ("by_day", ([changed(BY_DAY, {"light_pm": 100, "dark_pm": 0, "dark_s": 10800}), WAITING],), (20000, 20000, 0, 0)),
    ("by_day", ([changed(BY_DAY, {"light_pm": 100, "dark_pm": 0, "dark_s": 10799}), WAITING],), (70000, 50000, 0, 100)),
    # No more than is there; half where any pot's water does not stay; what stands open remains.
    ("by_day", ([BY_DAY, WAITING], None, 50000, 30000), (0, 0, 0, 0)),
    ("by_day", ([BY_DAY, changed(WAITING, {"kept_pm": 499})],), (45000, 45000, 0, 0)),
    ("by_day", ([BY_DAY, changed(WAITING, {"closing": 1, "dose_most_ul": 30000})],), (30000, 0, 0, 0)),
    # What it drew so far is heard of.
    ("by_day", ([changed(BY_DAY, {"high_pm": 730, "draw_um": 65535}), WAITING],), (20000, 20000, 30, 0)),
    ("by_day", ([changed(BY_DAY, {"high_pm": 730, "draw_um": 65535, "credit_pm": 31}), WAITING],),
     (20000, 20000, 31, 0)),
    # Somebody waits for it: one that is held, or short of room or of water.
    ("by_day", ([BY_DAY],), (70000, 50000, 0, 80)),
    ("by_day", ([changed(BY_DAY, {"reason": 33})],), (20000, 20000, 0, 0)),
    ("by_day", ([changed(BY_DAY, {"reason": 35})],), (20000, 20000, 0, 0)),
    ("by_day", ([changed(BY_DAY, {"reason": 38})],), (20000, 20000, 0, 0)),
    ("by_day", ([changed(BY_DAY, {"reason": 34})],), (70000, 50000, 0, 80)),
    # One that fell by 60 pm agrees; one that is due and did not may drift or drain, one that is not may stand in water.
    ("by_day", ([BY_DAY, changed(BY_DAY, {"light_pm": 60, "dark_pm": 0}), WAITING],), (20000, 20000, 0, 0)),
    ("by_day", ([changed(BY_DAY, {"light_pm": 60, "dark_pm": 0}), WAITING],), (70000, 50000, 0, 60)),
    ("by_day", ([BY_DAY, changed(BY_DAY, {"dark_pm": 70}), WAITING],), (20000, 20000, 0, 0)),
    ("by_day", ([BY_DAY, FULL, WAITING],), (70000, 50000, 0, 80)),
    ("by_day", ([BY_DAY, changed(FULL, {"pm": 850, "high_pm": 850}), WAITING],), (20000, 20000, 0, 0)),
    ("by_day", ([BY_DAY, changed(FULL, {"light_pm": 60, "light_s": 43200, "dark_s": 32400}), WAITING],),
     (20000, 20000, 0, 0)),
    ("by_day", ([BY_DAY, changed(FULL, {"light_pm": 59, "light_s": 43200, "dark_s": 32400}), WAITING],),
     (70000, 50000, 0, 80)),
    ("by_day", ([BY_DAY, WAITING], [False, True]), (70000, 50000, 0, 80)),
    ("by_day", ([changed(BY_DAY, {"pm": 250}), WAITING],), (70000, 50000, 0, 80)),
    # A fall counts by day or by night, once its own water has spread, 6720 s, and while nothing else lifts it.
    ("counted", ({},), (20, 1800, 0, 0, 50000)),
    ("counted", ({}, 720, 1800, {"lx": 20}), (0, 0, 20, 1800, 50000)),
    ("counted", ({"light_pm": -30, "light_s": 100}, 690), (-40, 1900, 0, 0, 50000)),
    ("counted", ({"pulsed": 1, "pulse_s": 91480},), (20, 1800, 0, 0, 50000)),
    ("counted", ({"pulsed": 1, "pulse_s": 91481},), (0, 0, 0, 0, 50000)),
    ("counted", ({"ladder": 2},), (0, 0, 0, 0, 50000)),
    ("counted", ({"rising": 1},), (0, 0, 0, 0, 50000)),
    ("counted", ({"judge": 1},), (0, 0, 0, 0, 50000)),
    ("counted", ({}, 720, 1800, {"tray_ul": 40000}), (20, 1800, 0, 0, 40000)),
    # Five days are remembered, older ones for half; and no more than a field holds.
    ("counted", ({"light_pm": 80, "light_s": 200000, "dark_pm": -21, "dark_s": 230200},),
     (100, 201800, -21, 230200, 50000)),
    ("counted", ({"light_pm": 80, "light_s": 200000, "dark_pm": -21, "dark_s": 230201},),
     (50, 100900, -11, 115100, 50000)),
    ("counted", ({"light_pm": 9990},), (9999, 1800, 0, 0, 50000)),
    ("counted", ({"dark_pm": -9990}, 680, 1800, {"lx": 20}), (0, 0, -9999, 1800, 50000)),
    # What it drew of its own store did not stand in the tray; counted once.
    ("dried", (70000, [DRY]), (20000, 100)),
    ("dried", (70000, [changed(DRY, {"credit_pm": 60})]), (50000, 100)),
    ("dried", (70000, [changed(DRY, {"credit_pm": 100})]), (70000, 100)),
    ("dried", (70000, [changed(DRY, {"gain_pm": 2000})]), (45000, 50)),
    ("dried", (70000, [changed(DRY, {"draw_um": 1500})]), (45500, 49)),
    ("dried", (30000, [DRY]), (0, 100)),
    ("dried", (0, [DRY]), (0, 100)),
    # A reading that wavers is no second drink.
    ("dried_at", ([800, 810, 800],), 50000),
    ("dried_at", ([800, 810, 790],), 45000),
    ("dried", (70000, [changed(DRY, {"credit_pm": 101})]), (70000, 101)),
    # Not where pots stand on feet, nor while any pot rises; and what an open dose stands for stays.
    ("dried", (70000, [DRY], False), (70000, 0)),
    ("dried", (70000, [changed(DRY, {"rising": 1})]), (70000, 0)),
    ("dried", (70000, [DRY, {"rising": 1}]), (70000, 0)),
    ("dried", (70000, [DRY, {"closing": 1, "dose_most_ul": 30000}]), (30000, 100)),
    ("dried", (70000, [DRY, {"closing": 1, "dose_most_ul": 20000}]), (20000, 100)),
    ("dried", (70000, [DRY, {"closing": 1, "dose_most_ul": 90000}]), (70000, 100)),
    # Every believed pot tells, due or not, once it fell by more than 60 pm since it last told.
    ("fallen", (70000, [changed(DRY, {"pm": 840})]), (70000, [0])),
    ("fallen", (70000, [changed(DRY, {"pm": 839})]), (39500, [61])),
    ("fallen", (70000, [changed(DRY, {"pm": 780, "credit_pm": 60})]), (70000, [60])),
    ("fallen", (70000, [changed(DRY, {"pm": 779, "credit_pm": 60})]), (39500, [121])),
    ("fallen", (70000, [changed(DRY, {"high_pm": 1000, "pm": 900})]), (20000, [100])),
    ("fallen", (170000, [DRY, DRY]), (70000, [100, 100])),
    ("fallen", (170000, [DRY, DRY], [False, True]), (120000, [0, 100])),
    ("fallen", (170000, [DRY, DRY], [True, False]), (120000, [100, 0])),
    ("fallen", (170000, [changed(DRY, {"pm": 840}), DRY]), (120000, [0, 100])),
    ("fallen", (70000, [DRY], None, False), (70000, [0])),
    ("fallen", (70000, [DRY, {"rising": 1}]), (70000, [0, 0])),
    # All dry: due, and fallen by half of what the plant should have drunk, which counts as 60 to 150 pm.
    ("all_dry", (70000, [changed(DRY, {"pm": 751})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 750})]), 0),
    ("all_dry", (70000, [changed(DRY, {"pm": 802, "draw_um": 6000})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 801, "draw_um": 6000})]), 0),
    ("all_dry", (70000, [changed(DRY, {"pm": 850, "high_pm": 909, "draw_um": 3000})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 850, "high_pm": 910, "draw_um": 3000})]), 0),
    ("all_dry", (70000, [changed(DRY, {"pm": 851, "high_pm": 1020})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 850, "high_pm": 1020})]), 0),
    ("all_dry", (70000, [changed(DEEP, {"pm": 838})], None, True, {"typical_um": 1500}, {"depletion_pm": 600}), 70000),
    ("all_dry", (70000, [changed(DEEP, {"pm": 837})], None, True, {"typical_um": 1500}, {"depletion_pm": 600}), 0),
    ("all_dry", (70000, [changed(DEEP, {"pm": 837})], None, True, {}, {"depletion_pm": 600}), 70000),
    # One below its stress point would be lifted by water at its foot: 12 pm tell, or half of what it should have drunk.
    ("all_dry", (70000, [changed(DRY, {"pm": 300, "high_pm": 311, "dry_s": 1, "draw_um": 700})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 300, "high_pm": 312, "dry_s": 1, "draw_um": 700})]), 0),
    ("all_dry", (70000, [changed(DRY, {"pm": 300, "high_pm": 312, "draw_um": 700})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 475, "high_pm": 523, "dry_s": 1, "draw_um": 3000})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 475, "high_pm": 524, "dry_s": 1, "draw_um": 3000})]), 0),
    # A plant near wilting draws less, and less is asked of it.
    ("all_dry", (70000, [changed(DRY, {"pm": 430, "high_pm": 468, "dry_s": 1, "draw_um": 3000})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 430, "high_pm": 469, "dry_s": 1, "draw_um": 3000})]), 0),
    # A held pot may have a reading that drifts: it empties no tray, and half of its fall counts.
    ("all_dry", (70000, [changed(DRY, {"pm": 750, "ladder": 2})]), 70000),
    # But one that fell far, by three quarters of what its plant drinks, stands in no water: 6000 um draw 200 pm.
    ("all_dry", (70000, [changed(DRY, {"pm": 750, "ladder": 2, "draw_um": 6000})]), 0),
    ("all_dry", (70000, [changed(DRY, {"pm": 751, "ladder": 2, "draw_um": 6000})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 750, "ladder": 2, "draw_um": 6100})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 741, "ladder": 2, "draw_um": 6400})]), 0),
    ("all_dry", (70000, [changed(DRY, {"pm": 742, "ladder": 2, "draw_um": 6400})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 750, "ladder": 2, "draw_um": 3000})]), 0),
    ("all_dry", (70000, [changed(DRY, {"pm": 751, "ladder": 2, "draw_um": 3000})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 750, "ladder": 2, "draw_um": 6000})], [False]), 70000),
    (
        "all_dry",
        (70000, [changed(DRY, {"pm": 740}), changed(DRY, {"pm": 250, "ladder": 2, "draw_um": 6000})]),
        70000,
    ),
    # So may one of whose water less and less shows, short of water by its reading or not.
    # And then half is left, though it be another pot whose water does not stay.
    ("all_dry", (70000, [changed(DRY, {"pm": 750, "kept_pm": 499, "draw_um": 6000})]), 35000),
    ("all_dry", (70000, [changed(DRY, {"pm": 750, "kept_pm": 500, "draw_um": 6000})]), 0),
    ("all_dry", (70001, [changed(DRY, {"pm": 750, "draw_um": 6000}),
                         changed(DRY, {"pm": 750, "kept_pm": 499, "draw_um": 6000})]), 35001),
    ("all_dry", (70000, [changed(DRY, {"pm": 751, "kept_pm": 499, "draw_um": 6000})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 800, "kept_pm": 500, "draw_um": 6000})]), 0),
    (
        "all_dry",
        (70000, [changed(DRY, {"pm": 300, "high_pm": 312, "dry_s": 1, "draw_um": 700, "kept_pm": 499})]),
        70000,
    ),
    ("all_dry", (70000, [changed(DRY, {"pm": 834, "kept_pm": 769, "gain_pm": 650, "draw_um": 6000})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 834, "kept_pm": 770, "gain_pm": 650, "draw_um": 6000})]), 0),
    # What told of it once tells nothing of water that comes later.
    ("told", ([changed(DRY, {"pm": 750}), {"high_pm": 800, "pm": 700, "draw_um": 3000, "credit_pm": 20}],),
     (0, [(750, 0, 0), (700, 0, 0)])),
    ("told", ([changed(DRY, {"pm": 751})],), (70000, [(900, 65535, 0)])),
    # Of a held one 90 pm count again.
    ("told", ([changed(DRY, {"pm": 750, "ladder": 2, "draw_um": 6000})],), (0, [(840, 0, 0)])),
    ("told", ([changed(DRY, {"pm": 750, "draw_um": 6000}), {"high_pm": 789, "pm": 700, "ladder": 2}],),
     (0, [(750, 0, 0), (789, 0, 0)])),
    ("all_dry", (70000, [changed(DRY, {"pm": 750}), changed(DRY, {"pm": 750, "ladder": 2})]), 70000),
    # Where tended ones fell so far, held ones are not asked; with none of them, all held ones are.
    ("all_dry", (70000, [changed(DRY, {"pm": 750, "draw_um": 6000}), changed(DRY, {"pm": 750, "ladder": 2})]), 0),
    ("all_dry", (70000, [changed(DRY, {"pm": 751, "draw_um": 6000}), changed(DRY, {"pm": 750, "ladder": 2})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 750, "draw_um": 6000}), changed(DRY, {"pm": 250, "ladder": 2})]), 0),
    (
        "all_dry",
        (
            70000,
            [
                changed(DRY, {"pm": 750, "draw_um": 6000}),
                changed(DRY, {"pm": 751, "draw_um": 6000}),
                changed(DRY, {"pm": 750, "ladder": 2}),
            ],
        ),
        70000,
    ),
    (
        "all_dry",
        (70000, [changed(DRY, {"pm": 750, "ladder": 2, "draw_um": 6000}), changed(DRY, {"pm": 750, "ladder": 2})]),
        70000,
    ),
    (
        "all_dry",
        (70000, [changed(DRY, {"pm": 750, "ladder": 2, "draw_um": 6000}), changed(DRY, {"pm": 851, "draw_um": 6000})]),
        70000,
    ),
    ("dried", (70000, [changed(DRY, {"ladder": 2})]), (45000, 50)),
    # So does that of one whose water does not stay though it reads as if there were room for it: 150 pm.
    ("dried", (70000, [changed(DRY, {"high_pm": 850, "pm": 749, "kept_pm": 499})]), (45000, 50)),
    ("dried", (70000, [changed(DRY, {"high_pm": 850, "pm": 749, "kept_pm": 500})]), (19500, 101)),
    ("dried", (70000, [changed(DRY, {"high_pm": 850, "pm": 750, "kept_pm": 499})]), (20000, 100)),
    ("fallen", (70000, [changed(DRY, {"pm": 780, "ladder": 2})]), (70000, [0])),
    ("fallen", (70000, [changed(DRY, {"pm": 778, "ladder": 2})]), (39500, [61])),
    # A wilted plant has nothing left to draw, and says nothing of the tray; where all are wilted, nobody does.
    ("all_dry", (70000, [changed(DRY, {"pm": 750}), changed(DRY, {"pm": 250, "high_pm": 260})]), 0),
    ("all_dry", (70000, [changed(DRY, {"pm": 750}), changed(DRY, {"pm": 251, "high_pm": 260})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 250})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 251})]), 0),
    # Every one that can be believed, at least one.
    ("all_dry", (70000, [changed(DRY, {"pm": 750}), changed(DRY, {"pm": 750})]), 0),
    ("all_dry", (70000, [changed(DRY, {"pm": 750}), changed(DRY, {"pm": 751})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 751}), changed(DRY, {"pm": 750})]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 751}), changed(DRY, {"pm": 750})], [False, True]), 0),
    ("all_dry", (70000, [changed(DRY, {"pm": 750}), changed(DRY, {"pm": 751})], [True, False]), 0),
    ("all_dry", (70000, [changed(DRY, {"pm": 750})], [False]), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 750})], None, False), 70000),
    ("all_dry", (0, [changed(DRY, {"pm": 750})]), 0),
    # One that is not due yet tells as well, where it fell by three quarters of what its plant drinks, and by 60 pm a
    # typical day, 80 at the least and 150 at the most.
    ("all_dry", (70000, [changed(DEEP, {"pm": 865, "draw_um": 3000})], None, True, {"typical_um": 1500}), 0),
    ("all_dry", (70000, [changed(DEEP, {"pm": 866, "draw_um": 3000})], None, True, {"typical_um": 1500}), 70000),
    ("all_dry", (70000, [changed(DEEP, {"pm": 920, "draw_um": 1500})], None, True, {"typical_um": 1500}), 0),
    ("all_dry", (70000, [changed(DEEP, {"pm": 921, "draw_um": 1500})], None, True, {"typical_um": 1500}), 70000),
    ("all_dry", (70000, [changed(DEEP, {"pm": 920, "draw_um": 1500, "gain_pm": 1010})], None, True,
                 {"typical_um": 1500}), 70000),
    ("all_dry", (70000, [changed(DEEP, {"high_pm": 1080, "pm": 930, "draw_um": 4500, "use_ul_mm": 20000})], None, True,
                 {"typical_um": 1500}), 0),
    ("all_dry", (70000, [changed(DEEP, {"high_pm": 1080, "pm": 931, "draw_um": 4500, "use_ul_mm": 20000})], None, True,
                 {"typical_um": 1500}), 70000),
    ("all_dry", (70000, [changed(DEEP, {"high_pm": 1080, "pm": 931, "draw_um": 4500, "use_ul_mm": 20000})], None, True,
                 {"typical_um": 0}), 70000),
    ("all_dry", (70000, [changed(DRY, {"pm": 750, "closing": 1, "dose_most_ul": 30000})]), 30000),
)
