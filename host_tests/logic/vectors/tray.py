"""What pots that dry tell of their tray: each threshold and its neighbour.

This pot holds 500 ml: 100 pm are 50 ml. It is due at 850 pm, and 1500 um of demand draw 49 pm.
"""

from potreeve.logic import tray

from vectors.made import CHANNEL, changed, make_state, settings

# Fell from 900 to 800 pm over a long time.
DRY = {"known": 1, "high_pm": 900, "pm": 800, "draw_um": 65535}
# Due at 746 pm, or at 837 while it drinks so much.
DEEP = changed(DRY, {"high_pm": 1000, "use_ul_mm": 30000})
# Fell 130 pm from dose to dose, 20 since the last, in three typical days; and one that may only drift. What waits for
# the tray has wilted, and says nothing of it.
STEADY = {"known": 1, "high_pm": 900, "pm": 880, "draw_um": 1500, "falls_pm": 130, "falls_um": 3000, "kept_pm": 700}
SLOW = changed(STEADY, {"falls_pm": 42, "use_ul_mm": 6000})
WAITING = {"known": 1, "pm": 250, "ladder": 2, "reason": 20}
TYPICAL = {"typical_um": 1500}


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


def by_doses(pots, believed=None, rig=None):
    return all_dry(70000, pots, believed, True, changed(TYPICAL, rig or {}))


def falls_told(pots):
    """What each pot remembers of its falls once it was asked of the tray."""
    made = make_state(changed(TYPICAL, {"tray_ul": 70000}), *pots)
    tray.all_dry(made, settings(len(pots), {"pots_in_tray": True}, {}), [True] * len(pots))
    return [(pot.falls_pm, pot.falls_um) for pot in made.pots]


def forgotten(pots):
    made = make_state({}, *pots)
    tray.forget_falls(made.pots)
    return [(pot.falls_pm, pot.falls_um, pot.high_pm) for pot in made.pots]


def remembered(pot, typical_um=1500):
    made = make_state({"typical_um": typical_um}, changed({"high_pm": 900, "pm": 880, "draw_um": 1500}, pot))
    tray.remember_fall(made.rig, made.pots[0], CHANNEL)
    return made.pots[0].falls_pm, made.pots[0].falls_um


VECTORS = (
    # From dose to dose a tended pot fell by 150 pm, and by 45 a typical day: what a held one waits for is not there.
    ("by_doses", ([STEADY, WAITING],), 0),
    ("by_doses", ([changed(STEADY, {"falls_pm": 129}), WAITING],), 70000),
    ("by_doses", ([changed(STEADY, {"falls_um": 3533}), WAITING],), 0),
    ("by_doses", ([changed(STEADY, {"falls_um": 3534}), WAITING],), 70000),
    ("by_doses", ([STEADY, WAITING], None, {"typical_um": 0}), 70000),
    ("by_doses", ([changed(STEADY, {"kept_pm": 699}), WAITING],), 70000),
    ("by_doses", ([changed(STEADY, {"gain_pm": 999}), WAITING],), 70000),
    ("by_doses", ([STEADY, WAITING], [False, True]), 70000),
    ("by_doses", ([changed(STEADY, {"ladder": 1}), WAITING],), 70000),
    # Nobody waits for it.
    ("by_doses", ([STEADY],), 70000),
    ("by_doses", ([STEADY, STEADY],), 70000),
    # All that are tended agree: fell by three quarters of what they drink, and by 60 pm. One says it for sure.
    ("by_doses", ([STEADY, SLOW, WAITING],), 0),
    ("by_doses", ([STEADY, changed(SLOW, {"falls_pm": 41}), WAITING],), 70000),
    ("by_doses", ([STEADY, changed(SLOW, {"falls_pm": 47, "use_ul_mm": 10000}), WAITING],), 0),
    ("by_doses", ([STEADY, changed(SLOW, {"falls_pm": 46, "use_ul_mm": 10000}), WAITING],), 70000),
    ("by_doses", ([SLOW, WAITING],), 70000),
    ("by_doses", ([changed(DRY, {"pm": 750, "draw_um": 6000}), SLOW, WAITING],), 0),
    ("falls_told", ([STEADY, SLOW, WAITING],), [(0, 0), (0, 0), (0, 0)]),
    ("falls_told", ([SLOW, WAITING],), [(42, 3000), (0, 0)]),
    ("forgotten", ([STEADY, SLOW],), [(0, 0, 900), (0, 0, 900)]),
    # Five typical days are remembered, older ones for half.
    ("remembered", ({"falls_pm": 10, "falls_um": 100},), (30, 1600)),
    ("remembered", ({"falls_pm": 10, "falls_um": 6000},), (30, 7500)),
    ("remembered", ({"falls_pm": 11, "falls_um": 6002},), (15, 3751)),
    ("remembered", ({"falls_pm": 65530, "falls_um": 65000}, 65535), (65535, 65535)),
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
                changed(DRY, {"pm": 751, "draw_um": 6000, "kept_pm": 699}),
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
