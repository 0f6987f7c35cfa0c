"""How loudly the rig asks for a person, and what the panel does about it.

CALM: nothing to do. NOTE: see to it when you pass. CALL: a plant or the rig needs a
person. A rig that calls beeps only while it is light, and only if its owner lets it.
"""

from potreeve.logic import errors, reasons
from potreeve.logic.state import TENDED

CALM = 0
NOTE = 1
CALL = 2

# A call is to be seen from across the room (common practice, no source).
FLASH_MS = (150, 150, 1000)
BEEP_MS = 400

# Days of watering left at which a battery is asked for: a week's notice (common practice, no source).
BATTERY_CALL_DAYS = 7

# Reasons of a pot that is tended, and still needs a person. Not those of a cap that was
# reached: a cap that starves a pot shows as DRY.
CALLING = (reasons.BATTERY, reasons.DRY, reasons.DRIFTS, reasons.KEPT_FULL, reasons.RUNS_THROUGH, reasons.WAITS)
NOTING = (reasons.TRAY,)

RIG_CALLS = (
    reasons.REBOOTS,
    reasons.DAMAGED,
    reasons.STRAYS,
    reasons.RISING,
    reasons.WET_TRAY,
    reasons.WET_DENIED,
    reasons.TUB_EMPTY,
)

# A report that could not be sent is sent later.
_CALM_FAULTS = errors.RADIO


def pot_level(ladder, reason):
    """How loudly a pot asks, by its rung and its reason."""
    if ladder != TENDED or reason in CALLING:
        return CALL
    return NOTE if reason in NOTING else CALM


def rig_level(hold, memory, faults, days):
    """How loudly the rig as a whole asks: its hold, its memory, errors.* seen, days of watering left."""
    if hold in RIG_CALLS or faults & errors.LEDGER or days <= BATTERY_CALL_DAYS:
        return CALL
    if memory or hold or faults & ~_CALM_FAULTS:
        return NOTE
    return CALM


def show(alarm, may_beep, dark):
    """(ok LED 0/1, warning LED 0/1, beep in ms, LEDs in ms) for an alarm level."""
    beep_ms = BEEP_MS if alarm == CALL and may_beep and not dark else 0
    return int(alarm != CALL), int(alarm != CALM), beep_ms, FLASH_MS[alarm]
