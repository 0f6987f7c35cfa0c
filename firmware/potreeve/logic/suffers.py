"""What a tended pot suffers without anything being refused, said in its record and by the alarm.

It decides about no water.
"""

from potreeve.logic import closing, dosing, reasons, watch
from potreeve.logic.state import HELD, TENDED
from potreeve.logic.units import DAY_S

# A pot so far below where it is due that got no water for so long calls (common practice, no source).
_WAITS_PM = dosing.LEAST_LIFT_PM
_WAITS_S = 2 * DAY_S


def say(state, settings):
    """Whatever keeps a tended pot dry, its plant suffers; one that waits, is kept full, asks for ever less, or lets its
    water through, as one does that stands in water while its reading drifts, may, unseen. All are said before any cap
    that was reached."""
    wet_tray = _stands_wet(state, settings)
    for index, pot in enumerate(state.pots):
        channel = settings["channels"][index]
        if pot.ladder != TENDED or pot.reason == reasons.BATTERY:
            continue
        if pot.dry_s >= watch.DRY_S:
            pot.reason = reasons.DRY
        elif _waits_long(state.rig, pot, channel):
            pot.reason = reasons.WAITS
        elif watch.kept_full(pot, channel) or wet_tray and watch.over_capacity(pot, channel, state.rig.up_s):
            pot.reason = reasons.KEPT_FULL
        elif watch.asks_less(pot):
            pot.reason = reasons.DRIFTS
        elif closing.runs_through(pot):
            pot.reason = reasons.RUNS_THROUGH


def _waits_long(rig, pot, channel):
    """True for a pot that is far below where it is due and got no water for two days: something keeps it from it, the
    tray's account or a cap, and its reading may be wetter than its soil."""
    due_pm = dosing.due_pm(pot, rig.typical_um, channel)
    return pot.pulsed and rig.up_s - pot.pulse_s >= _WAITS_S and pot.pm <= due_pm - _WAITS_PM


def _stands_wet(state, settings):
    """True when a pot on the tray's floor is held for being too wet: the others may stand in the same water, whose
    plants drown within three days of its first drop."""
    for pot in state.pots:
        if pot.ladder == HELD and pot.reason == reasons.TOO_WET:
            return settings["pots_in_tray"]
    return False
