"""What pots that dry tell of the tray they stand in.

Container capacity is what a pot holds with free water at its foot, and one below that draws
such water up. So what a pot drew from its own store did not stand in the tray, and where all
pots are short of water and still dry as fast as their plants drink, the tray is empty. Both
only where pots stand on the tray's floor (`pots_in_tray`): feet or gravel break the contact.
Doses that are not settled yet stay on the account.
"""

from potreeve.logic import dosing, limits, watch
from potreeve.logic.state import HELD
from potreeve.logic.units import clamp, const

# A fall that no noise and no cool night makes; and one that is a plant's whatever it may drink
# by now, for a stressed one drinks less than it used to (both common practice, no source).
_FELL_PM = const(60)
_FELL_FAR_PM = const(150)

# So far below its stress point a pot would be lifted by free water at its foot: any fall that noise can't make tells
# (common practice, no source).
_FELL_DRY_PM = const(12)


def dried(state, index, settings, least_pm=0):
    """What a pot drew from its own store since its last water is taken off the tray's account, once.

    least_pm: the least fall that counts; in a pot that is not short of water, what noise can't do.
    """
    pot = state.pots[index]
    channel = settings["channels"][index]
    if settings["pots_in_tray"] and not any([other.rising for other in state.pots]):
        drew_pm = watch.drew_pm(pot, channel)
        if pot.ladder == HELD:
            # One whose water did not show may have a reading that drifts: half of its word counts.
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
    """Every pot that can be believed, and is not wilted, is due and fell by half of what its plant drinks, or far: then
    nothing is left in the tray. Where those that are tended fell far, and as fast as their plants drink, held ones are
    not asked."""
    if not settings["pots_in_tray"] or not state.rig.tray_ul or not any(believed):
        return
    empty = silent = well = False
    far = True
    for index, pot in enumerate(state.pots):
        channel = settings["channels"][index]
        if not believed[index] or pot.pm <= channel["wilting_pm"]:
            # A plant that has nothing left to draw falls no more: it says nothing.
            silent = silent or pot.ladder == HELD
            continue
        fell_pm = pot.high_pm - pot.pm
        asks_pm = watch.asked_pm(pot, channel) * dosing.draws_pm(pot.pm, channel)
        # Of one whose water did not show, or does less and less, the reading may drift towards dry while it stands in
        # water: it must have fallen far, and nearly as fast as its plant drinks.
        far_pm = max(asks_pm * 3 // 4000, _FELL_FAR_PM)
        tells = pot.pm <= dosing.due_pm(pot, state.rig.typical_um, channel)
        if pot.ladder == HELD or limits.lets_through(pot) and not pot.dry_s:
            tells = tells and fell_pm >= far_pm
        else:
            least_pm = _FELL_DRY_PM if pot.dry_s else _FELL_PM
            tells = tells and watch.drew_pm(pot, channel) >= clamp(asks_pm // 2000, least_pm, _FELL_FAR_PM)
        if pot.ladder == HELD:
            silent = silent or not tells
        elif not tells:
            return
        else:
            well = True
            far = far and fell_pm >= far_pm
        empty = empty or tells
    if empty and (not silent or well and far):
        _less(state, state.rig.tray_ul)


def _less(state, water_ul):
    rig = state.rig
    rig.tray_ul = clamp(rig.tray_ul - water_ul, limits.open_ul(rig, state.pots), rig.tray_ul)
