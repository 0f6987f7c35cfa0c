"""What pots that dry tell of the tray they stand in.

Container capacity is what a pot holds with free water at its foot, and one below that draws
such water up. So what a pot drew from its own store did not stand in the tray, and where all
pots are short of water and still dry as fast as their plants drink, the tray is empty. Both
only where pots stand on the tray's floor (`pots_in_tray`): feet or gravel break the contact.
Doses that are not settled yet stay on the account.
"""

from potreeve.logic import dosing, limits, watch
from potreeve.logic.units import clamp

# A fall that no noise and no cool night makes (common practice, no source).
FELL_PM = 60


def dried(state, index, settings):
    """A pot is due: what it drew since its last water is taken off the tray's account, once."""
    pot = state.pots[index]
    channel = settings["channels"][index]
    drew_ul = dosing.water_ul(watch.drew_pm(pot, channel), channel)
    pot.high_pm = pot.pm
    pot.draw_um = 0
    if settings["pots_in_tray"] and not any([other.rising for other in state.pots]):
        _less(state, drew_ul)


def all_dry(state, settings, believed):
    """Every pot that can be believed is due, fell well, and by at least half of what its plant drinks:
    then nothing is left in the tray."""
    if not settings["pots_in_tray"] or not state.rig.tray_ul or not any(believed):
        return
    for index, pot in enumerate(state.pots):
        channel = settings["channels"][index]
        if not believed[index]:
            continue
        drew_pm = watch.drew_pm(pot, channel)
        dry = pot.pm <= dosing.due_pm(pot, state.rig.typical_um, channel)
        if not dry or drew_pm < FELL_PM or 2 * drew_pm < watch.drunk_pm(pot, channel, pot.draw_um):
            return
    _less(state, state.rig.tray_ul)


def _less(state, water_ul):
    rig = state.rig
    rig.tray_ul = clamp(rig.tray_ul - water_ul, limits.open_ul(rig, state.pots), rig.tray_ul)
