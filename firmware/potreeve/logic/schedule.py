"""When to wake next."""

from potreeve.logic import dosing
from potreeve.logic.state import TENDED
from potreeve.logic.units import const

# Nearer to its refill point than this, a pot is looked at by the short interval
# even in the dark.
_NEAR_PM = const(40)

# A rig that may not pump and a battery near its reserve look less often.
_SLOW_TIMES = const(2)


def is_dark(rig, settings):
    """True at night, by the light seen last."""
    return 0 <= rig.lx < settings["dark_lx"]


def is_day(rig, settings):
    """True while daylight is seen. Unknown light is none: what waits for the night shall not wait for ever."""
    return rig.lx > settings["dark_lx"]


def is_weak(rig, settings):
    """True when the battery is near its reserve."""
    return rig.soc_pm < 2 * settings["battery_reserve_pm"]


def next_wake_s(state, settings, dark, weak):
    """Seconds to sleep.

    dark: True at night; weak: True when the battery is near its reserve. While
    a pulse soaks, it is the soak; else the day or night interval, doubled for a
    weak battery.
    """
    rig = state.rig
    for pot in state.pots:
        if pot.dosing and not rig.hold:
            return settings["soak_s"]
    wake_s = settings["wake_s"]
    if dark and not _near(state, settings):
        wake_s = settings["night_wake_s"]
    if weak:
        wake_s *= _SLOW_TIMES
    return wake_s


def _near(state, settings):
    for index, pot in enumerate(state.pots):
        due_pm = dosing.due_pm(pot, state.rig.typical_um, settings["channels"][index])
        if pot.ladder == TENDED and pot.pm - due_pm < _NEAR_PM:
            return True
    return False
