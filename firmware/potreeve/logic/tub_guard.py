"""What follows from the tub's level: what a person is told, and when pumps are kept from running dry.

A float can stick. Stuck up, it hides an empty tub: count and level part (`tub.stays`), the days left are those of the
count, and pots whose water does not show are held as ever. Stuck down, it would keep water from plants for ever: so an
empty tub is tried once a day with one pot's water. Pots that rise by more than can have been left prove the float
wrong, until it is seen up.
"""

from potreeve.logic import dosing, reasons, signals, tub, water
from potreeve.logic.state import RATIONED, TENDED
from potreeve.logic.tub_marks import EMPTY, bounds
from potreeve.logic.units import DAY_S, const

# A person is told so many days before the end, and called.
LOW_DAYS = 7
CALL_DAYS = 3

# An empty tub is tried half a day after it was found so, then once a day, for so long: what it takes to see a rise.
_FIRST_TRY_S = const(43200)
_TRY_S = const(28800)
_ANY_POT = const(9)

# A rise that no noise makes, and this share of what the dose should have done, says that water came.
_CAME_PM = const(18)
_CAME_SHARE = const(3)


def step(state, seen, looked, settings):
    """Take the mark that this wake saw; hold the rig for an empty tub, or end that.

    seen: Readings.tub_mark; looked: whether a person pressed the button. Days left and what is asked for stand in
    `extra` then. To be called before the cycle learns from a day.
    """
    extra = state.extra
    if looked:
        _looked(state, settings)
    tub.see(state, seen, settings)
    _hold(state, settings)
    days = tub.days_left(state, settings)
    extra.tub_days = (days + 1) % 256
    extra.tub_note = note(state, days, settings)


def note(state, days, settings):
    """What the tub asks a person for: reasons.TUB_* or NONE. An empty one is a hold, and no note."""
    extra = state.extra
    table = settings["tub"]
    if extra.tub_mark and extra.tub_air_ul_h > tub.most_air(table):
        return reasons.TUB_LEAK
    if extra.tub_float:
        return reasons.TUB_FLOAT
    if tub.stays(state, settings):
        return reasons.TUB_STAYS
    return reasons.TUB_LOW if days <= LOW_DAYS else reasons.NONE


def level(what, days):
    """How loudly a note is told, with so many days left: signals.*"""
    if what == reasons.TUB_LEAK or what and days <= CALL_DAYS:
        return signals.CALL
    return signals.NOTE if what else signals.CALM


def _looked(state, settings):
    """A person pressed the button: leaks are seen to, and a float that stays up stands in water that was added."""
    rig = state.rig
    extra = state.extra
    table = settings["tub"]
    _no_leak(extra, settings)
    if tub.stays(state, settings):
        extra.tub_sure = tub.LEAST
        extra.tub_from_ml = bounds(extra.tub_mark, table)[0]
        extra.tub_s = rig.up_s
        extra.tub_drawn_ul = 0
        extra.tub_prime_ml = 0
    if rig.hold == reasons.TUB_EMPTY:
        extra.tub_next_s = rig.up_s


def _no_leak(extra, settings):
    """What was told of a leak is over, or never was."""
    if extra.tub_air_ul_h > tub.most_air(settings["tub"]):
        extra.tub_air_ul_h = tub.usual_air(settings["tub"])


def _hold(state, settings):
    """Hold the rig while the lowest float says that the tub is empty, and no pot proves it wrong."""
    rig = state.rig
    extra = state.extra
    empty = extra.tub_mark == EMPTY and not extra.tub_float
    empty = empty and tub.left_ml(state, settings) <= tub.reserve_ml(settings)
    if rig.hold == reasons.NONE and empty:
        rig.hold = reasons.TUB_EMPTY
        rig.hold_s = rig.up_s
        extra.tub_try = 0
        extra.tub_next_s = rig.up_s + _FIRST_TRY_S
        for pot in state.pots:
            pot.dosing = 0
    elif rig.hold == reasons.TUB_EMPTY:
        if empty and _came(state, settings):
            # Water came: a little may have been left, so the trial goes on, until it was more than that.
            rig.hold_s = rig.up_s
            extra.tub_next_s = rig.up_s
            extra.tub_try = 0
            if tub.more_came(state, settings):
                extra.tub_float = tub.LIED
                _no_leak(extra, settings)
                empty = False
        if not empty:
            rig.hold = reasons.NONE
        for pot in state.pots:
            # Pulses from an empty tub are not proven by what a plant drinks.
            pot.proof_um = 0


def _came(state, settings):
    """True where a pulse of a trial lifted its pot."""
    for index, pot in enumerate(state.pots):
        tried = pot.pulsed and pot.pulse_s > state.rig.hold_s and not pot.judge and pot.ladder == TENDED
        if tried and pot.dose_ul:
            told_pm = dosing.rise_pm(pot.dose_ul, pot.gain_pm, settings["channels"][index])
            if pot.pm - pot.start_pm >= max(_CAME_PM, told_pm // _CAME_SHARE):
                return True
    return False


def decide(state, settings, believed):
    """What decides about water instead of water.decide while the rig is held for its tub."""
    return trial(state, settings, believed, water.decide)


def trial(state, settings, believed, how):
    """Pulses of a rig that is held for its tub: once a day one pot tries whether a float lies; rations go on then, too.

    how: water.decide. Within every cap and law of a pot that is not held.
    """
    rig = state.rig
    extra = state.extra
    count = len(state.pots)
    if extra.tub_try and rig.up_s >= extra.tub_next_s - DAY_S + _TRY_S:
        # A dose that began goes on to its end: what its plant drinks until tomorrow would pass for a rise.
        if extra.tub_try == _ANY_POT or not state.pots[extra.tub_try - 1].dosing or rig.up_s >= extra.tub_next_s:
            extra.tub_try = 0
            for pot in state.pots:
                pot.dosing = 0
    if not extra.tub_try and rig.up_s >= extra.tub_next_s:
        extra.tub_try = _ANY_POT
        extra.tub_next_s = rig.up_s + DAY_S
    if not extra.tub_try:
        return [0] * count
    may = [believed[index] and extra.tub_try in (index + 1, _ANY_POT) for index in range(count)]
    rig.hold = reasons.NONE
    pulses = how(state, settings, may)
    rig.hold = reasons.TUB_EMPTY
    for index in range(count):
        if pulses[index] and state.pots[index].ladder != RATIONED:
            extra.tub_try = index + 1
    return pulses
