"""Doses that wait for the night.

By day a plant may drink as fast as a dose spreads: it hides the rise, and what nothing showed stays on the tray's
account. Where the tray takes two doses that is no matter. Over a small one the next has to wait until the pot drew as
much from its own store; by night nothing drinks a dose away.
"""

from potreeve.logic import dosing, limits, schedule, watch
from potreeve.logic.units import DAY_S, HOUR_S, const

# Doses that a pot waits with, once its plant hid one (common practice, no source).
DOSES = 8

# What a dose by night must be able to show, where its plant hides some by day (common practice, no source).
SHOWS_PM = 40

# No dose by night lies further before the next dusk, which clouds move (common practice, no source).
_DUSK_S = DAY_S + 6 * HOUR_S

# One is in no hurry in this last part of the way from its refill point to its fill mark (common practice, no source).
_NEAR_FULL = const(4)


def waits(rig, pot, channel, settings):
    """True by day for a pot whose plant lately hid a dose, where the tray does not take two that show, each counted for
    half more than it brings.

    Not past the next dusk. And one that is no longer near full waits only with the dose after a hidden one, or where a
    night brings what it drinks in a day: one that drank twice that waited each day, and died.
    """
    if not pot.nights or not schedule.is_day(rig, settings) or rig.up_s - pot.pulse_s >= _DUSK_S:
        return False
    room_ul = limits.headroom_ul(rig, settings)
    if room_ul >= 3 * dosing.water_ul(dosing.ENOUGH_PM, channel):
        return False
    if pot.nights == DOSES:
        return True
    near_pm = channel["fill_pm"] - (channel["fill_pm"] - dosing.refill_point_pm(channel)) // _NEAR_FULL
    day_ul = dosing.water_ul(watch.drunk_pm(pot, channel, rig.typical_um), channel)
    return pot.pm > near_pm or day_ul <= _brings_ul(rig, room_ul, channel)


def _brings_ul(rig, room_ul, channel):
    """What a pot gets of what the tray takes at once, in ul: pulses bring less than they count for. A night brings no
    more, for a dose is settled by morning."""
    ms = dosing.pulse_ms(channel["pulse_ml"] * 1000, dosing.NEVER_S, channel, rig.rest_mv)
    likely_ul = dosing.likely_ul(ms, dosing.NEVER_S, channel, rig.rest_mv)
    return room_ul // 1000 * (likely_ul * 1000 // dosing.most_ul(ms, channel, rig.rest_mv))
