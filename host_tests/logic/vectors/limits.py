"""The rolling day's buckets, the room left, and a tray that dries."""

from potreeve.logic import limits

from vectors.made import make_state, settings

NONE = [0] * 13
FULL = list(range(1, 14))


def rolled(spent, started_s, up_s):
    """(new start, the pot's buckets)"""
    made = make_state({}, {"spent": list(spent)})
    return limits.roll(made.pots, started_s, up_s), made.pots[0].spent


def spent(first, water_ul):
    made = make_state({}, {"spent": [first] + [0] * 12})
    limits.spend(made.pots[0], water_ul)
    return made.pots[0].spent[0], limits.spent_ul(made.pots[0])


def filled(day_ml):
    made = make_state({}, {}, {})
    limits.fill_day(made.pots, settings(2, {}, {"day_ml": day_ml}))
    return [limits.spent_ul(pot) for pot in made.pots]


def headroom(tray_ul):
    return limits.headroom_ul(make_state({"tray_ul": tray_ul}, {}).rig, settings(1, {}, {}))


def sick_room(tray_ul, well, in_tray=False):
    made = make_state({"tray_ul": tray_ul}, {})
    return limits.sick_room_ul(made.rig, well, settings(1, {"pots_in_tray": in_tray}, {}))


def half_room(tray_ul):
    return limits.half_room_ul(make_state({"tray_ul": tray_ul}, {}).rig, settings(1, {}, {}))


def lets_through(kept_pm, ladder):
    return limits.lets_through(make_state({}, {"kept_pm": kept_pm, "ladder": ladder}).pots[0])


def leaks(kept, rungs, index=0, pm=701, in_tray=True):
    pots = make_state({}, *[{"kept_pm": kept_pm, "ladder": rung} for kept_pm, rung in zip(kept, rungs)]).pots
    pots[index].pm = pm
    return limits.leaks(pots, index, settings(len(pots), {"pots_in_tray": in_tray}, {}))


def open_share(tray_ul, closing, most_ul):
    made = make_state({"tray_ul": tray_ul}, *[{"closing": one, "dose_most_ul": most_ul} for one in closing])
    return limits.open_ul(made.rig, made.pots)


def room(tray_ul, spents, changes, kept_pm=1000):
    made = make_state({"tray_ul": tray_ul}, *[{"spent": [tenths] + [0] * 12} for tenths in spents])
    made.pots[0].kept_pm = kept_pm
    return limits.room_ul(made.rig, made.pots, 0, settings(len(spents), changes, {}))


VECTORS = (
    ("rolled", (FULL, 0, 0), (0, FULL)),
    ("rolled", (FULL, 0, 7319), (0, FULL)),
    ("rolled", (FULL, 0, 7320), (7320, [0] + FULL[:12])),
    ("rolled", (FULL, 0, 14639), (7320, [0] + FULL[:12])),
    ("rolled", (FULL, 0, 87840), (87840, [0] * 12 + [1])),
    ("rolled", (FULL, 0, 95159), (87840, [0] * 12 + [1])),
    ("rolled", (FULL, 0, 95160), (95160, NONE)),
    ("rolled", (FULL, 0, 1073741823), (1073741520, NONE)),
    ("rolled", (FULL, 7320, 0), (7320, FULL)),
    ("rolled", (FULL, 4294965600, 4294967295), (4294965600, FULL)),
    ("spent", (0, 0), (0, 0)),
    ("spent", (0, 1), (1, 100)),
    ("spent", (0, 100), (1, 100)),
    ("spent", (0, 101), (2, 200)),
    ("spent", (65534, 100), (65535, 6553500)),
    ("spent", (65535, 100), (65535, 6553500)),
    ("spent", (0, 1073741823), (65535, 6553500)),
    ("filled", (200,), [200000, 200000]),
    ("filled", (5,), [5000, 5000]),
    ("filled", (3000,), [3000000, 3000000]),
    ("filled", (7000,), [6553500, 6553500]),
    ("open_share", (100000, (1, 0), 30000), 30000),
    ("open_share", (100000, (1, 1), 30000), 60000),
    ("open_share", (50000, (1, 1), 30000), 50000),
    ("open_share", (50000, (0, 0), 30000), 0),
    ("open_share", (0, (1, 1), 30000), 0),
    ("room", (0, (0,), {}), (200000, 1)),
    ("room", (0, (1999,), {}), (100, 1)),
    ("room", (0, (2000,), {}), (0, 1)),
    ("room", (0, (2001,), {}), (0, 1)),
    ("room", (0, (0, 2001), {}), (199900, 2)),
    ("room", (0, (0, 4000), {}), (0, 2)),
    ("room", (0, (0, 9000), {}), (0, 2)),
    ("room", (1400000, (0,), {}), (100000, 3)),
    ("room", (1500000, (0,), {}), (0, 3)),
    ("room", (4294967295, (0,), {}), (0, 3)),
    ("room", (0, (0,), {"rig_day_ml": 5}), (5000, 2)),
    ("room", (1499999, (0,), {}), (1, 3)),
    # Where two caps leave the same, the pot's own is the one named.
    ("room", (0, (0,), {"rig_day_ml": 200}), (200000, 1)),
    ("room", (1300000, (0,), {}), (200000, 1)),
    # A pot of whose water less than half is seen to stay may use half of the tray beside one that keeps its own.
    ("room", (550000, (0, 0), {}, 499), (200000, 1)),
    ("room", (550001, (0, 0), {}, 499), (199999, 3)),
    ("room", (749999, (0, 0), {}, 499), (1, 3)),
    ("room", (750000, (0, 0), {}, 499), (0, 3)),
    ("room", (750000, (0, 0), {}, 500), (200000, 1)),
    ("room", (750000, (0,), {}, 499), (200000, 1)),
    ("lets_through", (499, 0), True),
    ("lets_through", (500, 0), False),
    ("lets_through", (0, 1), False),
    ("lets_through", (0, 2), False),
    ("leaks", ((500, 500), (0, 0)), False),
    ("leaks", ((499, 500), (0, 0)), True),
    ("leaks", ((500, 499), (0, 0), 1), True),
    ("leaks", ((499, 499), (0, 0)), False),
    ("leaks", ((499,), (0,)), False),
    # A dry one that stands in the tray draws up what ran through; on feet it does not.
    ("leaks", ((499, 500), (0, 0), 0, 700), False),
    ("leaks", ((499, 500), (0, 0), 0, 700, False), True),
    ("leaks", ((499, 500), (0, 0), 0, 701, False), True),
    # Only among tended pots: a held or rationed one has a room of its own, and asks for none of this.
    ("leaks", ((0, 1000), (0, 1)), False),
    ("leaks", ((0, 1000), (0, 2)), False),
    ("leaks", ((0, 1000), (1, 0)), False),
    ("leaks", ((0, 1000), (2, 0)), False),
    ("leaks", ((0, 0, 1000), (0, 1, 0)), True),
    ("half_room", (0,), 750000),
    ("half_room", (749999,), 1),
    ("half_room", (750000,), 0),
    ("half_room", (1500000,), 0),
    ("headroom", (0,), 1500000),
    ("headroom", (1499999,), 1),
    ("headroom", (1500000,), 0),
    ("headroom", (4294967295,), 0),
    # For water that nothing shows to be in a pot: half of the tray beside tended pots, all of it without them or where
    # pots stand in it. (limits.sick_room_ul)
    ("sick_room", (0, False), 1500000),
    ("sick_room", (1499999, False), 1),
    ("sick_room", (1500001, False), 0),
    ("sick_room", (0, True), 750000),
    ("sick_room", (749999, True), 1),
    ("sick_room", (750001, True), 0),
    ("sick_room", (0, True, True), 1500000),
    ("sick_room", (1500001, True, True), 0),
    ("dry_tray", (1000000, 900, 500, 0, 86400), (955000, 0)),
    ("dry_tray", (1000000, 1, 1, 0, 86400), (1000000, 86400)),
    ("dry_tray", (1000000, 1, 1, 777600, 86400), (999999, 0)),
    ("dry_tray", (1000000, 900, 500, 0, 0), (1000000, 0)),
    ("dry_tray", (1000000, 900, 0, 5, 86400), (1000000, 5)),
    ("dry_tray", (0, 900, 500, 9, 86400), (0, 0)),
    ("dry_tray", (-1, 900, 500, 9, 86400), (0, 0)),
    ("dry_tray", (5, 900, 500, 0, 86400), (0, 0)),
    ("dry_tray", (10, 20000, 1000, 0, 14400), (0, 288000)),
)
