"""What pots that dry tell of the tray they stand in.

Container capacity is what a pot holds with free water at its foot, and one below that draws
such water up. So what a pot drew from its own store did not stand in the tray, and where all
pots are short of water and still dry as fast as their plants drink, the tray is empty. Both
only where pots stand on the tray's floor (`pots_in_tray`): feet or gravel break the contact.
Doses that are not settled yet stay on the account.
"""

from potreeve.logic import dosing, limits, reasons, schedule, watch
from potreeve.logic.state import HELD, TENDED
from potreeve.logic.units import clamp, const

# A fall that no noise and no cool night makes; and one that is a plant's whatever it may drink
# by now, for a stressed one drinks less than it used to (both common practice, no source).
_FELL_PM = const(60)
_FELL_FAR_PM = const(150)

# A probe that drifts falls slowly: 22 to 37 per mille a day were the fastest of drawn rigs. One that falls by
# _FELL_PM a typical day does not drift, once it fell by this (common practice, no source).
_FELL_FAST_PM = const(80)

# So far below its stress point a pot would be lifted by free water at its foot: any fall that noise can't make tells
# (common practice, no source).
_FELL_DRY_PM = const(12)

# A pot that reads so far below its fill mark has room for water (common practice, no source).
_ROOM_PM = const(150)

# And a held one falls slowly, the nearer it is to wilting: so much of what it told counts again (common practice, no
# source).
_AGAIN_PM = const(90)

# A plant drinks by day; a probe that drifts does so by night as well. Counted over so much of either, a pot falls by
# night no faster than a third, and not back by more than a quarter, for what a tray brings back it still holds. So far
# for sure; so long is remembered, what is older for half (all common practice, no source).
_LIGHT_S = const(6 * 3600)
_DARK_S = const(3 * 3600)
_NIGHT_SHARE = const(3)
_BACK_SHARE = const(4)
_FELL_SURE_PM = const(100)
_COUNTED_S = const(5 * 86400)
_PM_MOST = const(9999)

# Reasons of a tended pot that is kept from water.
_SHORT = (reasons.TRAY, reasons.DRY, reasons.WAITS)

# What a pot tells, see _tells.
_NOTHING = const(0)
_LIKELY = const(1)
_FOR_SURE = const(2)


def dried(state, index, settings, least_pm=0):
    """What a pot drew from its own store since its last water is taken off the tray's account, once.

    least_pm: the least fall that counts; in a pot that is not short of water, what noise can't do.
    """
    pot = state.pots[index]
    channel = settings["channels"][index]
    if settings["pots_in_tray"] and not any([other.rising for other in state.pots]):
        drew_pm = watch.drew_pm(pot, channel)
        if pot.ladder == HELD or not watch.stays(pot) and pot.pm < channel["fill_pm"] - _ROOM_PM:
            # One whose water did not show, or does not stay though it reads as if there were room for it, may have a
            # reading that drifts: half of its word counts.
            drew_pm //= 2
        if drew_pm > pot.credit_pm + least_pm:
            _less(state, dosing.water_ul(drew_pm - pot.credit_pm, channel))
            pot.credit_pm = drew_pm


def fallen(state, settings, believed):
    """Every pot that fell further than noise can make it tells what it drew, whether it is due or not."""
    for index in range(len(believed)):
        if believed[index]:
            dried(state, index, settings, _FELL_PM)


def all_dry(state, settings, believed):
    """Where every pot that says anything tells of an empty tray, nothing is left in it; held ones are not asked where
    all that are tended say it for sure. A plant that wilted has nothing left to draw and says nothing. Half is left
    where any pot's water does not stay: probes that drift alike say the same of a full tray, again and again."""
    if not settings["pots_in_tray"] or not state.rig.tray_ul:
        return
    tended = []
    held = []
    by_day = []
    for index, pot in enumerate(state.pots):
        channel = settings["channels"][index]
        draws = believed[index] and pot.pm > channel["wilting_pm"]
        told = _tells(state, pot, channel) if draws else _NOTHING
        if pot.ladder == HELD:
            held.append(told)
        elif draws:
            tended.append(told)
            told = _FOR_SURE if told == _FOR_SURE else _tells_by_day(pot)
            # One that is dry and tells nothing may drift or drain; one that is not may stand in water.
            if told or pot.pm > dosing.due_pm(pot, state.rig.typical_um, channel):
                by_day.append(told)
    stay = all([watch.stays(pot) for pot in state.pots])
    if tended and min(tended) == _FOR_SURE or tended + held and min(tended + held) > _NOTHING:
        _less(state, state.rig.tray_ul if stay else state.rig.tray_ul // 2)
        for pot in state.pots:
            # What told of it once tells nothing of water that comes later.
            pot.high_pm = min(pot.high_pm, pot.pm + _AGAIN_PM) if pot.ladder == HELD else pot.pm
            pot.draw_um = 0
            pot.credit_pm = 0
        _count_anew(state)
    elif by_day and min(by_day) > _NOTHING and max(by_day) == _FOR_SURE and _waited_for(state):
        _less(state, state.rig.told_ul if stay else state.rig.told_ul // 2)
        for index, pot in enumerate(state.pots):
            pot.credit_pm = max(pot.credit_pm, watch.drew_pm(pot, settings["channels"][index]))
        _count_anew(state)


def _waited_for(state):
    """True where a pot is held, or short of room in the tray or of water: for others its account may stay."""
    return any([pot.ladder == HELD or pot.reason in _SHORT for pot in state.pots])


def _count_anew(state):
    """Count falls from here on: they tell of what is on the account now, and settled."""
    rig = state.rig
    rig.told_ul = rig.tray_ul - limits.open_ul(rig, state.pots)
    for pot in state.pots:
        pot.light_pm = pot.light_s = pot.dark_pm = pot.dark_s = 0


def count_fall(rig, pot, settings, index, before):
    """How far a tended pot fell by itself, by day and by night. before: (its moisture at the last wake in pm, for how
    long that lies back in s)."""
    was_pm, elapsed_s = before
    rig.told_ul = min(rig.told_ul, rig.tray_ul)
    spread = watch.has_spread(pot, rig.up_s - elapsed_s, dosing.spread_s(settings["channels"][index]))
    if pot.ladder != TENDED or pot.rising or pot.judge or not spread:
        return
    if schedule.is_day(rig, settings):
        pot.light_pm = clamp(pot.light_pm + was_pm - pot.pm, -_PM_MOST, _PM_MOST)
        pot.light_s += elapsed_s
    else:
        pot.dark_pm = clamp(pot.dark_pm + was_pm - pot.pm, -_PM_MOST, _PM_MOST)
        pot.dark_s += elapsed_s
    if pot.light_s + pot.dark_s > _COUNTED_S:
        pot.light_pm //= 2
        pot.light_s //= 2
        pot.dark_pm //= 2
        pot.dark_s //= 2


def _tells_by_day(pot):
    """What a tended pot tells that is watered before it falls far: it fell by day, as its plant drinks, and by night
    neither as fast nor back."""
    fell_pm = pot.light_pm + pot.dark_pm
    if pot.light_s < _LIGHT_S or pot.dark_s < _DARK_S or fell_pm < _FELL_PM:
        return _NOTHING
    # In steps of ten minutes, that no product is too large for a board.
    by_night = pot.dark_pm * (pot.light_s // 600) * _NIGHT_SHARE
    if by_night > pot.light_pm * (pot.dark_s // 600) or -pot.dark_pm * _BACK_SHARE > pot.light_pm:
        return _NOTHING
    return _FOR_SURE if fell_pm >= _FELL_SURE_PM else _LIKELY


def _tells(state, pot, channel):
    """What a pot tells of the tray being empty: it is due, and fell by half of what its plant drinks, or far; or, due
    or not, it fell fast.

    Of one whose water did not show, or does less and less, the reading may drift towards dry while it stands in water:
    it must have fallen far or fast, and nearly as fast as its plant drinks.
    """
    asks_pm = watch.asked_pm(pot, channel) * dosing.draws_pm(pot.pm, channel)
    days_pm = _FELL_PM * pot.draw_um // max(1, state.rig.typical_um)
    if watch.drew_pm(pot, channel) >= max(asks_pm * 3 // 4000, clamp(days_pm, _FELL_FAST_PM, _FELL_FAR_PM)):
        return _FOR_SURE
    if pot.pm > dosing.due_pm(pot, state.rig.typical_um, channel):
        return _NOTHING
    if pot.high_pm - pot.pm >= max(asks_pm * 3 // 4000, _FELL_FAR_PM):
        return _FOR_SURE
    if pot.ladder == HELD or not watch.stays(pot):
        return _NOTHING
    least_pm = _FELL_DRY_PM if pot.dry_s else _FELL_PM
    return _LIKELY if watch.drew_pm(pot, channel) >= clamp(asks_pm // 2000, least_pm, _FELL_FAR_PM) else _NOTHING


def _less(state, water_ul):
    rig = state.rig
    rig.tray_ul = clamp(rig.tray_ul - water_ul, limits.open_ul(rig, state.pots), rig.tray_ul)
