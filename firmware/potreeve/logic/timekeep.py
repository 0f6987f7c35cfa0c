"""How much time can be proven to have passed since the last wake.

A wall clock proves nothing: it may have been set, lost or leapt. What counts is
a counter that ran through the sleep, or a timer that woke the board.
"""

from potreeve.logic.units import const, div_up

# Why this wake is running.
POWER_ON = 0
WATCHDOG = 1
TIMER = 2
BUTTON = 3
OTHER_RESET = 4
BROWN_OUT = 5
KEPT = 6  # no reset: memory and counter were kept

# Starts nobody planned.
UNPLANNED = (POWER_ON, WATCHDOG, OTHER_RESET, BROWN_OUT)

# A wake timer on an uncalibrated oscillator may be this much early.
TIMER_EARLY_PM = 50


# Boards wake up in 2000 or 2021; nothing before this firmware existed can be true: 2024..2099.
_FROM_S = const(1704067200)
_TO_S = const(4102444800)


def believable(unix_s):
    """Unix seconds of a wall clock if they lie in 2024..2099, else 0."""
    return unix_s if _FROM_S <= unix_s < _TO_S else 0


def proven_s(cause, planned_s, counted_ms):
    """Seconds proven since the last wake began.

    cause: as above; planned_s: the sleep that was asked for; counted_ms: what a
    running counter showed since the last wake, used only where it was KEPT. A
    reset of any other kind proves nothing.
    """
    if cause == KEPT:
        return counted_ms // 1000 if counted_ms > 0 else 0
    if cause == TIMER:
        return planned_s - planned_s * TIMER_EARLY_PM // 1000
    return 0


def ask_s(seconds, cause):
    """The sleep to ask for so that `seconds` will be proven after it.

    cause: of this wake. A board that a timer wakes proves a little less than it
    sleeps, and would look in vain at the end of a soak; whatever woke it this time,
    only one that was KEPT is known to have a counter instead.
    """
    if cause == KEPT:
        return seconds
    return div_up(seconds * 1000, 1000 - TIMER_EARLY_PM)


def safe_sleep_s(decided_s, stored, before_s):
    """Seconds to sleep after a wake that decided on `decided_s`.

    stored: whether its ledger was. Where not, the next start finds the ledger
    before it, whose sleep of `before_s` must not prove more than was slept.
    """
    return before_s if not stored and before_s > decided_s else decided_s
