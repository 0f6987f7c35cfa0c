"""What is in the tub and for how many days: each threshold and its neighbour.

A tub of 8 litres, floats at 0.5, 2 and 5 litres. Two pots, one pump known to 200 pm: what was counted as 1000 ml may
have been 800 to 1200. A lid: at most 400 ul an hour go into the air, 9.6 ml a day.
"""

from potreeve.logic import tub

from vectors.made import HALF, TUB, TUB_UP_S, changed, make_tub, with_tub

OPEN = changed(TUB, {"open_cm2": 100})
# Pumps that bring less from little water, and such that bring less altogether.
STEEP = changed(TUB, {"share_full_pm": 1100, "share_low_pm": 600})
LESS = changed(TUB, {"share_full_pm": 900, "share_low_pm": 900})
POTS = ({"total_ul": 5000000}, {"total_ul": 4000000})


def made(memory, rig=None, pots=POTS):
    return make_tub(memory, rig, pots)


def known(state, names):
    return [getattr(state.extra, "tub_" + name) for name in names]


def seen(memory, marks, table=TUB, rig=None):
    """Mark, what it is told from, how sure, air and share after wakes that saw these marks."""
    state = made(memory, rig)
    for mark in marks:
        tub.see(state, mark, with_tub(table))
    return known(state, ("mark", "float", "from_ml", "sure", "air_ul_h", "gone_pm"))


def counted(memory, totals, rig=None, ran_ms=65535, table=TUB):
    """Drawn, today, a day's, total, what primed tubes after wakes with these totals of the first pot."""
    state = made(memory, rig)
    for total in totals:
        state.pots[0].total_ul = total
        state.pots[0].done_ms = ran_ms
        tub.see(state, memory.get("tub_mark", 0), with_tub(table))
    return known(state, ("drawn_ul", "today_ul", "day_ul", "total_ul", "prime_ml"))


def days(lots, rung=0, rose_pm=0):
    """What a day takes, and how many days taught it, after days that took so much, with a pot on this rung that rose
    by so much in each."""
    state = made({"tub_mark": 3, "tub_seen": 3})
    state.pots[1].ladder = rung
    state.pots[1].pm = rose_pm
    state.pots[1].day_ok = 1 if rose_pm else 0
    total = 0
    for up_s, ul in lots:
        state.rig.up_s = up_s
        state.rig.day_s = up_s - 86400
        total += ul
        state.pots[0].total_ul = 5000000 + total
        state.extra.tub_total_ul = state.extra.tub_total_ul or 9000000
        tub.see(state, 3, with_tub(TUB))
    return known(state, ("day_ul", "known"))


def fell(drawn_ml, changes=None, table=TUB, seen=2):
    """How sure, air, share, whether it leaks, after the next float fell with so much counted in ten days."""
    memory = changed(changed(HALF, {"tub_drawn_ul": drawn_ml * 1000}), changes or {})
    state = made(memory)
    tub._mark(state, seen, with_tub(table))
    tub._mark(state, seen, with_tub(table))
    return known(state, ("sure", "air_ul_h", "gone_pm")), state.extra.tub_air_ul_h > tub.most_air(table)


def passed(changes, drew_ml, marks=(3, 2, 2)):
    """What is told to be left, the share, what is still past the mark, in wakes that see these marks, so much pumped
    between each and the next."""
    state = made(changed(HALF, changes))
    for place, mark in enumerate(marks):
        tub.see(state, mark, with_tub(TUB))
        state.pots[0].total_ul += drew_ml[place] * 1000
    return known(state, ("from_ml", "gone_pm", "past_cl"))


def left(changes, table=TUB):
    """(ml, days, whether too much stays)"""
    state = made(changed(HALF, changes))
    checked = with_tub(table)
    return tub.left_ml(state, checked), tub.days_left(state, checked), tub.stays(state, checked)


def owed(*pots):
    """(what pots take beyond what plants drink, days) where 3000 ml are left; pots: (moisture, known, rung)."""
    state = made(changed(HALF, {"tub_air_ul_h": 0}))
    for pot, told in zip(state.pots, pots):
        pot.pm, pot.known, pot.ladder = told
    checked = with_tub(TUB)
    return tub.owed_ml(state, checked), tub.days_left(state, checked)


def unsure(changes, table):
    """Whether too much stays, where the pumps' flow is not known as well."""
    checked = with_tub(table)
    for channel in checked["channels"]:
        channel["pump_spread_pm"] = 300
    return tub.stays(made(changed(HALF, changes)), checked)


def more(changes):
    return tub.more_came(made(changed(HALF, changes)), with_tub(TUB))


VECTORS = (
    # A mark counts once two wakes in a row saw it.
    ("seen", ({}, [4]), [0, 0, 0, 0, 100, 1000]),
    ("seen", ({}, [4, 4]), [4, 0, 8000, 1, 100, 1000]),
    ("seen", ({}, [4, 3, 4]), [0, 0, 0, 0, 100, 1000]),
    ("seen", ({}, [3, 3]), [3, 0, 2000, 0, 100, 1000]),
    ("seen", ({}, [1, 1]), [1, 0, 0, 0, 100, 1000]),
    ("seen", ({}, [4, 4], OPEN), [4, 0, 8000, 1, 700, 1000]),
    ("seen", (HALF, [2]), [3, 0, 5000, 2, 100, 1000]),
    ("seen", (HALF, [2, 3, 2]), [3, 0, 5000, 2, 100, 1000]),
    ("seen", (HALF, [3, 3]), [3, 0, 5000, 2, 100, 1000]),
    # Filled to the brim; to a mark below it.
    ("seen", (HALF, [4, 4]), [4, 0, 8000, 1, 100, 1000]),
    ("seen", (changed(HALF, {"tub_mark": 1}), [3, 3]), [3, 0, 2000, 0, 100, 1000]),
    # Two floats fell at once: at least what the lower one says, which may be nothing.
    ("seen", (changed(HALF, {"tub_mark": 4}), [2, 2]), [2, 0, 500, 0, 4166, 1000]),
    ("seen", (changed(HALF, {"tub_sure": 0}), [1, 1]), [1, 0, 0, 0, 100, 1000]),
    # A pattern that can't be, for two wakes; a mark above the highest float is none; back again.
    ("seen", (HALF, [15]), [3, 0, 5000, 2, 100, 1000]),
    ("seen", (HALF, [15, 15]), [3, 2, 5000, 2, 100, 1000]),
    ("seen", (HALF, [5, 5]), [3, 2, 5000, 2, 100, 1000]),
    ("seen", (HALF, [15, 15, 3, 3]), [3, 0, 5000, 2, 100, 1000]),
    ("seen", (HALF, [15, 15, 2, 2]), [2, 0, 2000, 2, 100, 1000]),
    # No sensor any more; one that lied stays a liar until it is seen up.
    ("seen", (HALF, [0, 0]), [0, 0, 5000, 2, 100, 1000]),
    ("seen", (changed(HALF, {"tub_mark": 1, "tub_float": 1}), [1, 1]), [1, 1, 5000, 2, 100, 1000]),
    ("seen", (changed(HALF, {"tub_mark": 1, "tub_float": 1}), [15, 15]), [1, 1, 5000, 2, 100, 1000]),
    ("seen", (changed(HALF, {"tub_mark": 1, "tub_float": 1}), [2, 2]), [2, 0, 500, 0, 100, 1000]),
    # The water passed the mark somewhere in what was pumped since it was last seen up: where the count says, within
    # that; in the midst of it where the count's beginning is not known. What is learned goes by the midst.
    ("passed", ({"tub_drawn_ul": 2950000}, (100, 0, 0)), [1926, 1000, 0]),
    ("passed", ({"tub_drawn_ul": 2950000}, (60, 40, 0)), [1926, 1000, 0]),
    ("passed", ({"tub_drawn_ul": 2950000}, (0, 0, 100)), [2000, 1000, 0]),
    ("passed", ({"tub_drawn_ul": 2000000}, (100, 0, 0)), [2000, 1312, 0]),
    ("passed", ({"tub_drawn_ul": 3100000}, (100, 0, 0)), [1900, 964, 0]),
    ("passed", ({"tub_drawn_ul": 2950000, "tub_sure": 0}, (100, 0, 0)), [1950, 1000, 0]),
    ("passed", ({}, (100, 90, 0), (3, 2)), [5000, 1000, 10]),
    ("passed", ({}, (100, 90, 0), (3, 2, 3)), [5000, 1000, 19]),
    ("passed", ({"tub_past_cl": 250}, (100, 0), (2, 3)), [5000, 1000, 255]),
    ("passed", ({"tub_past_cl": 250}, (100, 100), (15, 15)), [5000, 1000, 255]),
    # Counting: from when a mark is known, what all pots got; a counter that goes round; each day a seventh.
    ("counted", (HALF, [5100000, 5150000]), [2150000, 150000, 200000, 9150000, 0]),
    ("counted", (HALF, [5100000], {"day_s": TUB_UP_S - 86400}), [2100000, 0, 185715, 9100000, 0]),
    ("counted", (HALF, [5100000], {"day_s": TUB_UP_S - 86399}), [2100000, 100000, 200000, 9100000, 0]),
    ("counted", (changed(HALF, {"tub_total_ul": 4294967295}), [0]), [6000001, 4000001, 200000, 4000000, 0]),
    ("counted", (changed(HALF, {"tub_drawn_ul": 499999999}), [5100000]), [500000000, 100000, 200000, 9100000, 0]),
    ("counted", ({}, [5100000]), [0, 0, 70000, 9100000, 0]),
    # A pulse of 27 s at 4 ml/s is 108 ml, 8 more than counted; half of it counts. One that brought less
    # than counted, and one that did not run.
    ("counted", (HALF, [5100000], None, 27000), [2104000, 104000, 200000, 9100000, 4]),
    ("counted", (HALF, [5100000], None, 25125), [2100500, 100500, 200000, 9100000, 0]),
    ("counted", (HALF, [5100000], None, 25124), [2100000, 100000, 200000, 9100000, 0]),
    ("counted", (HALF, [5100000], None, 20000), [2100000, 100000, 200000, 9100000, 0]),
    ("counted", ({}, [5100000], None, 27000), [0, 0, 70000, 9100000, 0]),
    # By what was measured: 2976 of 8000 ml are left, 600 + 500 * 2476 / 7500 pm; a full tub, one at its lowest
    # mark, below it.
    ("counted", (HALF, [5100000], None, 27000, STEEP), [2076500, 76500, 200000, 9100000, 8]),
    ("counted", (HALF, [5100000], None, 27000, LESS), [2090000, 90000, 200000, 9100000, 8]),
    ("share_pm", (2976, STEEP), 765),
    ("share_pm", (8000, STEEP), 1100),
    ("share_pm", (9000, STEEP), 1100),
    ("share_pm", (500, STEEP), 600),
    ("share_pm", (0, STEEP), 600),
    ("share_pm", (-1, STEEP), 600),
    ("share_pm", (4250, LESS), 900),
    # The ration, times 1.4, is like one day's word; then each day weighs less, down to a seventh; never the first day.
    ("days", ([(172800, 90000)],), [80000, 1]),
    ("days", ([(172799, 90000)],), [70000, 0]),
    # A pot that is held or rationed takes less for a while: that is learned three times as slowly.
    ("days", ([(172800, 49000)], 2), [68600, 0]),
    ("days", ([(172800, 49000)], 1), [68600, 0]),
    ("days", ([(172800, 49000)], 0), [59500, 1]),
    ("days", ([(172800, 90000)], 2), [80000, 1]),
    ("days", ([(172800, 90000), (259200, 130000)],), [96666, 2]),
    # What a pot of 500 ml per 1000 pm holds more in the evening was not drunk, what it holds less was; that says little
    # where it is beyond all measure, and nothing of one that is held.
    ("days", ([(172800, 90000)], 0, 40), [70000, 1]),
    ("days", ([(172800, 90000)], 0, -40), [90000, 1]),
    ("days", ([(172800, 90000)], 0, 200), [35000, 1]),
    # No more than twice a day's beyond what was pumped.
    ("days", ([(172800, 90000)], 0, -279), [149750, 1]),
    ("days", ([(172800, 90000)], 0, -280), [150000, 1]),
    ("days", ([(172800, 90000)], 0, -281), [150000, 1]),
    ("days", ([(172800, 90000)], 2, 40), [80000, 1]),
    ("days", ([(day * 86400, 100000) for day in range(2, 8)],), [95714, 6]),
    ("days", ([(day * 86400, 100000) for day in range(2, 9)],), [96326, 7]),
    ("days", ([(day * 86400, 100000) for day in range(2, 10)],), [96850, 7]),
    # From 5 down to 2 litres, 3000 ml. 2368 counted are at most 2842 and 96 of air: 62 missing are within 400 of slack.
    ("fell", (3000,), ([2, 25, 1000], False)),
    ("fell", (2900,), ([2, 325, 1000], False)),
    ("fell", (2368,), ([2, 325, 1169], False)),
    ("fell", (2087,), ([2, 325, 1293], False)),
    ("fell", (2086,), ([2, 3808, 1000], True)),
    ("fell", (3500,), ([2, 25, 892], False)),
    ("fell", (9000,), ([2, 25, 700], False)),
    ("fell", (0,), ([2, 12500, 1000], True)),
    # Nothing was pumped: nothing is learned of pumps.
    ("fell", (0, {"tub_from_ml": 2100}), ([2, 325, 1000], False)),
    # An open tub of 100 cm2: up to 2900 ul an hour.
    ("fell", (2600, None, OPEN), ([2, 1274, 1000], False)),
    ("fell", (1587, None, OPEN), ([2, 2200, 1338], False)),
    ("fell", (1586, None, OPEN), ([2, 5891, 1000], True)),
    # What primed tubes and was not counted may all have been pumped: no leak up to there.
    ("fell", (1587, {"tub_prime_ml": 500}), ([2, 325, 1450], False)),
    ("fell", (1586, {"tub_prime_ml": 500}), ([2, 5891, 1000], True)),
    # After a leak the next clean span counts from the most that air can take.
    ("fell", (3000, {"tub_air_ul_h": 9000}), ([2, 100, 1000], False)),
    # Filled, as it seems: half of it may be missing; nothing is learned of so little, something of half a tub. Only the
    # least known: nothing is told.
    ("fell", (1170, {"tub_sure": 1}), ([2, 100, 1000], False)),
    # It may have been filled less by 15 % of a full tub, which is more than half of what stands above a high float.
    ("fell", (170, {"tub_sure": 1, "tub_from_ml": 3500}), ([2, 100, 1000], False)),
    ("fell", (169, {"tub_sure": 1, "tub_from_ml": 3500}), ([2, 5545, 1000], True)),
    ("fell", (3500, {"tub_sure": 1, "tub_from_ml": 5999}), ([2, 100, 1000], False)),
    ("fell", (3200, {"tub_sure": 1, "tub_from_ml": 6000}), ([2, 250, 1110], False)),
    ("fell", (1169, {"tub_sure": 1}), ([2, 7629, 1000], True)),
    ("fell", (0, {"tub_sure": 0}), ([2, 100, 1000], False)),
    # All in one night.
    ("fell", (10, {"tub_s": TUB_UP_S}), ([2, 65535, 1000], True)),
    # 2000 of 5000 ml gone in ten days, 24 into the air; 75 ml stay below the lowest float. 202 ml a day.
    # A pot lacks 25 ml when it is due, at 850 of 900 pm. Both were just filled; both are due, or drier; one of each;
    # one is not known, one rationed: of those nothing is owed.
    ("owed", ((950, 1, 0), (950, 1, 0)), (-13, 15)),
    ("owed", ((900, 1, 0), (900, 1, 0)), (-13, 15)),
    ("owed", ((850, 1, 0), (850, 1, 0)), (37, 14)),
    ("owed", ((851, 1, 0), (850, 1, 0)), (37, 14)),
    ("owed", ((852, 1, 0), (850, 1, 0)), (36, 14)),
    ("owed", ((600, 1, 0), (600, 1, 0)), (37, 14)),
    ("owed", ((300, 1, 0), (1200, 1, 0)), (12, 15)),
    ("owed", ((600, 1, 0), (600, 0, 0)), (25, 15)),
    ("owed", ((600, 1, 0), (600, 1, 2)), (25, 15)),
    ("owed", ((600, 0, 0), (600, 0, 0)), (0, 15)),
    ("left", ({},), (2976, 14, False)),
    ("left", ({"tub_gone_pm": 1200},), (2576, 10, False)),
    ("left", ({"tub_air_ul_h": 1000},), (2760, 12, False)),
    ("left", ({"tub_day_ul": 0},), (2976, 254, False)),
    ("left", ({"tub_day_ul": 0, "tub_air_ul_h": 0},), (3000, 254, False)),
    # Never less than the float says, nor more: until the least that was pumped says that it sticks.
    ("left", ({"tub_drawn_ul": 3200000},), (2000, 10, False)),
    ("left", ({"tub_drawn_ul": 4251000},), (2000, 10, False)),
    ("left", ({"tub_drawn_ul": 4252000},), (724, 3, True)),
    ("left", ({"tub_drawn_ul": 6000000},), (0, 0, True)),
    ("left", ({"tub_drawn_ul": 4252000, "tub_sure": 1},), (724, 3, True)),
    ("left", ({"tub_drawn_ul": 4252000, "tub_sure": 0},), (2000, 10, False)),
    ("left", ({"tub_drawn_ul": 4252000, "tub_mark": 1},), (500, 2, False)),
    ("left", ({"tub_from_ml": 9000},), (5000, 24, False)),
    # The least that was pumped is without what primed tubes, but where it was measured what comes.
    ("left", ({"tub_drawn_ul": 4252000, "tub_prime_ml": 1},), (2000, 10, False)),
    ("left", ({"tub_drawn_ul": 4253000, "tub_prime_ml": 1},), (723, 3, True)),
    ("left", ({"tub_drawn_ul": 4252000, "tub_prime_ml": 1}, LESS), (724, 3, True)),
    # Pumps that are known to 300 pm: what they take was measured better than that.
    ("unsure", ({"tub_drawn_ul": 4251000}, TUB), False),
    ("unsure", ({"tub_drawn_ul": 4858000}, TUB), False),
    ("unsure", ({"tub_drawn_ul": 4859000}, TUB), True),
    ("unsure", ({"tub_drawn_ul": 4251000}, LESS), False),
    ("unsure", ({"tub_drawn_ul": 4252000}, LESS), True),
    # Floats that puzzle: the count alone. One that lied, or none: nobody knows.
    ("left", ({"tub_float": 2, "tub_drawn_ul": 4251000},), (725, 3, False)),
    ("left", ({"tub_float": 1},), (-1, 255, False)),
    ("left", ({"tub_mark": 0},), (-1, 255, False)),
    ("left", ({"tub_mark": 1, "tub_from_ml": 500, "tub_drawn_ul": 300000},), (176, 1, False)),
    ("left", ({"tub_mark": 1, "tub_from_ml": 500, "tub_drawn_ul": 300000, "tub_day_ul": 60000},), (176, 2, False)),
    # More came since the lowest float fell than there was, and 400 ml of slack.
    ("more", ({"tub_mark": 1, "tub_from_ml": 500, "tub_drawn_ul": 1125000},), False),
    ("more", ({"tub_mark": 1, "tub_from_ml": 500, "tub_drawn_ul": 1127000},), True),
    ("usual_air", (TUB,), 100),
    ("usual_air", (OPEN,), 700),
    ("most_air", (TUB,), 400),
    ("most_air", (OPEN,), 2900),
    # A tenth of what stands below the lowest float, and a pulse of 25 ml; no more than half of it.
    ("reserve_ml", (with_tub(TUB),), 75),
    ("reserve_ml", (with_tub(changed(TUB, {"mark1_ml": 63})),), 31),
    ("reserve_ml", (with_tub(changed(TUB, {"mark1_ml": 62})),), 31),
    ("reserve_ml", (with_tub(changed(TUB, {"mark1_ml": 0})),), 0),
)
