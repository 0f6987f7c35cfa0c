"""How much is in the tub, and for how many days: between two floats, by what the pumps took since the last one fell.

A float that is up says that what stands at its mark is left. From one change of the floats to the next the tub is
reckoned: what pulses likely brought, and what goes into the air; how far both are off is learned where two floats fell
one after the other. Where more went than any pump and the air can have taken, it runs: a leak or a siphon. Where the
pumps must have taken more than the floats allow, one of both is wrong: see `stays`.

All ml are what the pumps can reach. Every threshold without a source is common practice.
"""

from potreeve.logic import dosing, proof
from potreeve.logic.record import NOT_RUN
from potreeve.logic.state import TENDED
from potreeve.logic.tub_marks import EMPTY, NO_MARK, bounds, marks
from potreeve.logic.units import DAY_S, HOUR_S, clamp, const, div_near, ease

# Extra.tub_float: believed; stood down although water came; a pattern that can't be.
BELIEVED = 0
LIED = 1
PUZZLES = 2

# Extra.tub_sure, how well the count's beginning is known: no less; filled to the brim, as it seems; a float fell.
LEAST = 0
FILLED = 1
FELL = 2

# Days left that can't be said, and the most that are.
UNKNOWN_DAYS = 255
_MOST_DAYS = const(254)

# Of what stands below the lowest float so much stays, for the count is not that sure.
_STAYS_PM = const(100)

# Marks are measured with a jug, and floats do not sit level: so much of a full tub is no leak.
_SLACK_PM = const(50)

# An open tub indoors loses 1 to 4 mm a day (from memory, indoor practice); a lid leaves some drops. In ul an hour.
_AIR_MOST_CM2 = const(25)
_AIR_USUAL_CM2 = const(6)
_AIR_LID = const(400)

# Pumps bring this share of what was counted, by the level: it counts for no less and no more.
_GONE_LOW_PM = const(600)
_GONE_HIGH_PM = const(1600)

# Until a day has taught: so much of the rations. Plants in drawn rigs drank 0.8 to 2.6 times theirs, 1.42 in the
# median.
_RATION_TIMES_PM = const(1400)

# So many days weigh in what a day takes: plants grow, weather turns (of 3 to 14 the one that was off least in drawn
# rigs).
_DAYS = const(7)
# So many while a pot is held or rationed and that is why less went: it may drink again any day.
_WAIT_DAYS = const(15)

_DRAWN_MOST_UL = const(500000000)

# Where it was measured what pumps take from the tub, its count is not off by more than this: in drawn rigs by 15 % at
# the worst, between floats far apart.
_SURE_PM = const(200)


def see(state, seen, settings):
    """Count what the pumps took since the last wake, and take its mark. seen: Readings.tub_mark."""
    _count(state, settings)
    _mark(state, seen, settings)


def _count(state, settings):
    """Add what the pumps took since the last wake; at the end of a day, learn from it."""
    rig = state.rig
    extra = state.extra
    total_ul = full_ul = 0
    for index, pot in enumerate(state.pots):
        total_ul += pot.total_ul
        if pot.done_ms != NOT_RUN:
            full_ul += pot.done_ms * dosing.flow_ul_s(settings["channels"][index], rig.rest_mv) // 1000
    total_ul %= 0x100000000
    drew_ul = prime_ml = 0
    if extra.tub_mark:
        drew_ul = (total_ul - extra.tub_total_ul) % 0x100000000
        table = settings["tub"]
        prime_ml = clamp(div_near(full_ul - drew_ul, 1000), 0, 1000)
        if table["share_low_pm"]:
            drew_ul = drew_ul // 10 * share_pm(left_ml(state, settings), table) // 100
        else:
            # A tube that did not run empty brings water from the start.
            drew_ul += prime_ml * 500
            prime_ml //= 2
    extra.tub_total_ul = total_ul
    extra.tub_past_cl = clamp(extra.tub_past_cl + div_near(drew_ul, 10000), 0, 255)
    extra.tub_drawn_ul = clamp(extra.tub_drawn_ul + drew_ul, 0, _DRAWN_MOST_UL)
    extra.tub_prime_ml = clamp(extra.tub_prime_ml + prime_ml, 0, 65535)
    extra.tub_today_ul = clamp(extra.tub_today_ul + drew_ul, 0, _DRAWN_MOST_UL)
    if not extra.tub_gone_pm:
        extra.tub_gone_pm = 1000
        extra.tub_air_ul_h = usual_air(settings["tub"])
        for channel in settings["channels"]:
            extra.tub_day_ul += channel["ration_ml"] * _RATION_TIMES_PM
    if rig.up_s - rig.day_s >= DAY_S and rig.up_s >= 2 * DAY_S:
        # Not the first day, whose water a board without a memory counts as given.
        drank_ul = extra.tub_today_ul
        for index, pot in enumerate(state.pots):
            if pot.day_ok and pot.ladder == TENDED:
                # What stands in a pot at the end was not drunk; what stood there before was.
                drank_ul -= dosing.water_ul(pot.pm - pot.day_pm, settings["channels"][index])
        # A fall that is no drink, of a probe pulled out, must not count without end; a hot day's must.
        extra.tub_today_ul = clamp(drank_ul, 0, extra.tub_today_ul + 2 * extra.tub_day_ul)
        _learn_day(extra, any([pot.ladder for pot in state.pots]))


def _learn_day(extra, waits):
    """A day is over: what it took. waits: whether a pot is held or rationed: it may take more again, or never will."""
    if not waits or extra.tub_today_ul > extra.tub_day_ul:
        if extra.tub_known < _DAYS:
            # The owner's word for the ration counts like one day.
            extra.tub_known += 1
        days = clamp(extra.tub_known + 1, 2, _DAYS)
    else:
        days = _WAIT_DAYS
    extra.tub_day_ul = ease(extra.tub_day_ul, extra.tub_today_ul, days)
    extra.tub_today_ul = 0


def _mark(state, seen, settings):
    """Believe a mark that two wakes in a row saw; begin to count anew where it is another."""
    table = settings["tub"]
    extra = state.extra
    agreed = seen == extra.tub_seen
    extra.tub_seen = seen
    if not agreed:
        return
    if seen == NO_MARK:
        extra.tub_mark = NO_MARK
        return
    if seen > 1 + len(marks(table)):
        if extra.tub_float == BELIEVED:
            extra.tub_float = PUZZLES
        return
    if extra.tub_float == LIED and seen == EMPTY:
        return
    puzzled = extra.tub_float == PUZZLES
    extra.tub_float = BELIEVED
    if seen == extra.tub_mark:
        extra.tub_past_cl = 0
        return
    if puzzled:
        # Whichever float it was, it may not have told of the last change either.
        extra.tub_sure = LEAST
    if seen > extra.tub_mark:
        _filled(extra, seen, table)
    else:
        _fell(state, seen, settings)
    extra.tub_mark = seen
    extra.tub_s = state.rig.up_s
    extra.tub_drawn_ul = 0
    extra.tub_prime_ml = 0
    extra.tub_past_cl = 0


def _filled(extra, seen, table):
    """Somebody filled it: to the brim, if the highest float came up; else at least to its mark."""
    extra.tub_sure = FILLED
    extra.tub_from_ml = table["full_ml"]
    if seen <= len(marks(table)):
        extra.tub_sure = LEAST
        extra.tub_from_ml = bounds(seen, table)[0]


def _fell(state, seen, settings):
    """A float fell: the tub holds what its mark says, less what was pumped since it was last seen up: somewhere in that
    the water passed it. Where the count says; half of it, where the count began nobody knows where. Where two fell at
    once, nobody knows."""
    extra = state.extra
    low_ml, at_ml = bounds(seen, settings["tub"])
    past_ml = extra.tub_past_cl * extra.tub_gone_pm // 100
    left_ml = at_ml - past_ml // 2
    if extra.tub_sure != LEAST:
        left_ml = clamp(_counted_ml(state, extra.tub_gone_pm), at_ml - past_ml, at_ml)
    _learn(state, at_ml, settings)
    extra.tub_sure = FELL
    extra.tub_from_ml = max(0, left_ml)
    if extra.tub_mark - seen > 1:
        extra.tub_sure = LEAST
        extra.tub_from_ml = low_ml


def _learn(state, at_ml, settings):
    """From where the count began down to at_ml: more gone than pumps and air can have taken is a leak; else learn."""
    extra = state.extra
    table = settings["tub"]
    went_ml = extra.tub_from_ml - at_ml
    if extra.tub_sure == LEAST or went_ml <= 0:
        return
    hours = _hours(state)
    # The water passed the mark somewhere in the last of what was pumped.
    drew_ml = max(0, extra.tub_drawn_ul // 1000 - extra.tub_past_cl * 5)
    air_most = most_air(table)
    most_ml = extra.tub_drawn_ul // 1000 + extra.tub_prime_ml
    most_ml = most_ml * (1000 + _spread_pm(settings)) // 1000 + air_most * hours // 1000
    seen_air = (went_ml - drew_ml) * 1000 // (hours if hours else 1)
    slack_ml = _slack_ml(table)
    if extra.tub_sure != FELL:
        # Nobody measured how full it was filled: there half of it may be missing, and thrice as much as elsewhere.
        slack_ml = max(went_ml // 2, 3 * slack_ml)
    if went_ml - most_ml > slack_ml:
        extra.tub_air_ul_h = clamp(seen_air, air_most + 1, 65535)
        return
    weight = 3 if extra.tub_sure == FELL else 1
    if weight == 1 and went_ml * 2 < table["full_ml"]:
        # How full it was filled weighs too much in so little.
        return
    seen_air = clamp(seen_air, 0, air_most)
    before = clamp(extra.tub_air_ul_h, 0, air_most)
    extra.tub_air_ul_h = (before + weight * seen_air) // (1 + weight)
    if drew_ml:
        gone_pm = clamp((went_ml - seen_air * hours // 1000) * 1000 // drew_ml, _GONE_LOW_PM, _GONE_HIGH_PM)
        extra.tub_gone_pm = (extra.tub_gone_pm + weight * gone_pm) // (1 + weight)


def share_pm(ml, table):
    """What pumps take of what is counted, in pm, where so much is left, by what was measured: the lower the water, the
    higher they lift it."""
    low = table["share_low_pm"]
    low_ml = table["mark1_ml"]
    full_ml = table["full_ml"]
    return low + (table["share_full_pm"] - low) * (clamp(ml, low_ml, full_ml) - low_ml) // (full_ml - low_ml)


def usual_air(table):
    """What a tub usually loses to the air, in ul an hour."""
    return _AIR_LID // 4 + _AIR_USUAL_CM2 * table["open_cm2"]


def most_air(table):
    """The most that air takes from a tub, in ul an hour: what goes beyond it runs."""
    return _AIR_LID + _AIR_MOST_CM2 * table["open_cm2"]


def _spread_pm(settings):
    """How far the count of what was pumped may be off: that of the least known pump."""
    return max([channel["pump_spread_pm"] for channel in settings["channels"]])


def _slack_ml(table):
    return table["full_ml"] * _SLACK_PM // 1000


def _hours(state):
    return (state.rig.up_s - state.extra.tub_s) // HOUR_S


def _least_ml(extra, settings):
    """The least that the pumps took since the count began: at their slowest, and of the filling of tubes nothing, where
    nobody measured what they take from the tub."""
    drew_ml = extra.tub_drawn_ul // 1000
    spread_pm = _spread_pm(settings)
    if settings["tub"]["share_low_pm"]:
        spread_pm = min(spread_pm, _SURE_PM)
    else:
        drew_ml -= extra.tub_prime_ml
    return drew_ml * (1000 - spread_pm) // 1000


def _counted_ml(state, pm):
    """What should be left if the pumps took so much of what was counted."""
    extra = state.extra
    gone_ml = extra.tub_drawn_ul // 1000 * pm // 1000 + extra.tub_air_ul_h * _hours(state) // 1000
    return extra.tub_from_ml - gone_ml


def stays(state, settings):
    """True where a float is still up although the pumps must have taken the water from under it."""
    extra = state.extra
    if extra.tub_float or extra.tub_mark <= EMPTY or extra.tub_sure == LEAST:
        return False
    table = settings["tub"]
    return (
        _from_most_ml(extra, table) - _least_ml(extra, settings) + _slack_ml(table) < bounds(extra.tub_mark, table)[0]
    )


def _from_most_ml(extra, table):
    """The most there can have been when the count began: a float fell at its mark, whatever was pumped beyond."""
    return bounds(extra.tub_mark, table)[1] if extra.tub_sure == FELL else extra.tub_from_ml


def more_came(state, settings):
    """True where the pumps must have brought more than there was when the lowest float fell."""
    extra = state.extra
    table = settings["tub"]
    return _least_ml(extra, settings) > _from_most_ml(extra, table) + _slack_ml(table)


def left_ml(state, settings):
    """What is most likely left, in ml; -1 where nothing says so."""
    extra = state.extra
    if not extra.tub_mark or extra.tub_float == LIED:
        return -1
    ml = _counted_ml(state, extra.tub_gone_pm)
    if extra.tub_float or stays(state, settings):
        return ml if ml > 0 else 0
    low_ml, high_ml = bounds(extra.tub_mark, settings["tub"])
    return clamp(ml, low_ml, high_ml)


def days_left(state, settings):
    """Days of water left, to the nearest whole one; UNKNOWN_DAYS where nobody knows."""
    ml = left_ml(state, settings)
    if ml < 0:
        return UNKNOWN_DAYS
    extra = state.extra
    daily_ml = extra.tub_day_ul // 1000 * extra.tub_gone_pm // 1000 + extra.tub_air_ul_h * 24 // 1000
    spare_ml = ml - reserve_ml(settings) - owed_ml(state, settings) * extra.tub_gone_pm // 1000
    return clamp(div_near(max(0, spare_ml), max(1, daily_ml)), 0, _MOST_DAYS)


def owed_ml(state, settings):
    """What pots take beyond what plants drink until the tub is empty: first they are filled up; then one of them, which
    took the last, is full, and the others lack half of what they do when they are due. Known and tended ones alone."""
    owed_ul = due_ul = count = 0
    for pot, channel in zip(state.pots, settings["channels"]):
        if pot.known and pot.ladder == TENDED:
            lacks_ul = dosing.water_ul(channel["fill_pm"] - proof.due_pm(state.rig, pot, channel), channel)
            owed_ul += clamp(dosing.water_ul(channel["fill_pm"] - pot.pm, channel), 0, lacks_ul)
            due_ul += lacks_ul
            count += 1
    return (owed_ul - due_ul * (count - 1) // (2 * count)) // 1000 if count else 0


def reserve_ml(settings):
    """What is left, by the count, when the tub is taken as empty, in ml: the last pulse is not to suck air."""
    low_ml = settings["tub"]["mark1_ml"]
    pulse_ml = max([channel["pulse_ml"] for channel in settings["channels"]])
    return min(low_ml * _STAYS_PM // 1000 + pulse_ml, low_ml // 2)
