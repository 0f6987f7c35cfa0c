"""What pots that dry tell of the tray they stand in.

Container capacity is what a pot holds with free water at its foot, and one below that draws
such water up. So what a pot drew from its own store did not stand in the tray, and where all
pots are short of water and still dry as fast as their plants drink, the tray is empty. Both
only where pots stand on the tray's floor (`pots_in_tray`): feet or gravel break the contact.
Doses that are not settled yet stay on the account.
"""

from potreeve.logic import dosing, limits, watch
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

# From dose to dose a pot that keeps so much of its water and falls by so much a typical day does not drift: a fifth
# more than the fastest drift. So many days are remembered, older ones for half (common practice, no source).
_KEEPS_PM = const(700)
_FALLS_PM = const(45)
_FALLS_DAYS = const(5)

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
    all that are tended say it for sure, or tell of it from dose to dose. A plant that wilted has nothing left to draw
    and says nothing. Half is left where any pot's water does not stay: probes that drift alike say the same of a full
    tray, again and again."""
    if not settings["pots_in_tray"] or not state.rig.tray_ul:
        return
    tended = []
    by_doses = []
    held = []
    for index, pot in enumerate(state.pots):
        channel = settings["channels"][index]
        draws = believed[index] and pot.pm > channel["wilting_pm"]
        told = _tells(state, pot, channel) if draws else _NOTHING
        if pot.ladder == HELD:
            held.append(told)
        elif draws:
            tended.append(told)
            by_doses.append(_FOR_SURE if told == _FOR_SURE else _tells_by_doses(state.rig, pot, channel))
    for_sure = tended and min(tended) == _FOR_SURE
    # Watered before they fall far, tended pots tell of what a held one waits for.
    from_dose_to_dose = held and by_doses and min(by_doses) > _NOTHING and max(by_doses) == _FOR_SURE
    if for_sure or from_dose_to_dose or tended + held and min(tended + held) > _NOTHING:
        stay = all([watch.stays(pot) for pot in state.pots])
        _less(state, state.rig.tray_ul if stay else state.rig.tray_ul // 2)
        for pot in state.pots:
            # What told of it once tells nothing of water that comes later.
            pot.high_pm = min(pot.high_pm, pot.pm + _AGAIN_PM) if pot.ladder == HELD else pot.pm
            pot.draw_um = 0
            pot.credit_pm = 0
        forget_falls(state.pots)


def forget_falls(pots):
    """Water came that may be in the tray: what pots drew before says nothing of it. Rations are too small to matter."""
    for pot in pots:
        pot.falls_pm = 0
        pot.falls_um = 0


def remember_fall(rig, pot, channel):
    """As a tended pot's next dose begins: what it drew since its last is added to what it drew before that."""
    pot.falls_pm = clamp(pot.falls_pm + watch.drew_pm(pot, channel), 0, 65535)
    pot.falls_um = clamp(pot.falls_um + pot.draw_um, 0, 65535)
    if pot.falls_um > _FALLS_DAYS * rig.typical_um:
        pot.falls_pm //= 2
        pot.falls_um //= 2


def _tells_by_doses(rig, pot, channel):
    """What a pot tells that is watered before it falls far: from dose to dose it fell as its plant drinks; for sure,
    if it fell far, and faster than a probe may drift."""
    if pot.ladder != TENDED or watch.keeps_pm(pot) < _KEEPS_PM:
        return _NOTHING
    fell_pm = pot.falls_pm + watch.drew_pm(pot, channel)
    um = pot.falls_um + pot.draw_um
    if fell_pm < max(watch.drunk_pm(pot, channel, um) * 3 // 4, _FELL_PM):
        return _NOTHING
    return _FOR_SURE if fell_pm >= max(_FALLS_PM * um // max(1, rig.typical_um), _FELL_FAR_PM) else _LIKELY


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
