"""Service mode: when to enter it, when it ends, and what it may pump.

In service no watchdog runs and nothing is pumped but on command. It ends by
itself, so that a rig forgotten in it is tended again.
"""

from potreeve.logic import battery, cycle, dosing, limits, reasons, timekeep
from potreeve.logic.state import HELD, copy
from potreeve.logic.units import clamp

# Why the board is in service; NO: it tends.
NO = 0
ASKED = 1
BUTTON = 2
USB = 3

# What the mark in the data folder says: nothing; service was asked for; it was
# asked for because USB came; it is being left, and the start that follows is
# no accident; it was left while USB was there.
NO_MARK = ""
MARK_ASKED = "asked"
MARK_USB = "usb"
MARK_LEAVING = "leaving"
MARK_LEFT = "left"

# Held for so long at boot, the button means service.
HOLD_MS = 1000

# With nobody talking, service ends after this. USB alone may be the rig's
# supply, so it is given less.
IDLE_S = 900
USB_IDLE_S = 300

# What a person at the rig may run into a cup, per channel and press of the
# button, when the day's caps leave nothing.
CUP_MS = 10000


def watches_button(cause):
    """True when a press at this start can mean service; cause: timekeep.*. A
    press that woke the board belongs to the wake cycle."""
    return cause != timekeep.BUTTON


def enter(mark, held, usb):
    """NO, ASKED, BUTTON or USB.

    mark: as above; held: 1 if the button was held for HOLD_MS at boot; usb: 1
    if present.
    """
    if mark == MARK_ASKED:
        return ASKED
    if held:
        return BUTTON
    if usb and mark not in (MARK_LEAVING, MARK_LEFT):
        return USB
    return NO


def mark_for_tending(mark, usb):
    """What the mark becomes when the board tends: a note that service was left
    stands until USB was seen to be absent."""
    return MARK_LEFT if mark in (MARK_LEAVING, MARK_LEFT) and usb else NO_MARK


def cause_of(mark, cause):
    """What a start counts as; cause: timekeep.* as the board tells it.

    One that ends service was wanted: it proves no time, but is not held against
    the board as starting over too often.
    """
    return timekeep.BUTTON if mark == MARK_LEAVING else cause


def calls(usb, mark):
    """True when a board that tends must turn to service: USB came."""
    return usb == 1 and mark != MARK_LEFT


def idle_s(why):
    """Seconds until service ends by itself when nobody ever talks."""
    return USB_IDLE_S if why == USB else IDLE_S


def open_pulse(before, index, ms, settings, battery_mv, cup_ms):
    """(state, ms, reason, cup) of a pulse a person commands; `before` is left alone.

    ms: asked for, cut to the pump's longest pulse; battery_mv: at rest; cup_ms:
    what may still run into a cup, 0 where the tube is in its pot. The same caps
    as in a wake: the most the pulse can bring is charged to the pot's day, the
    rig's day and the tray, and the intent is opened, all to be stored first.
    Refused: ms is 0 and reason says why. cup: 1 when only the cup allows it;
    then the pot's day is charged, but not the tray.
    """
    state = copy(before)
    cycle.remember(state, settings)
    rig = state.rig
    pot = state.pots[index]
    channel = settings["channels"][index]
    rig.rest_mv = battery_mv
    rig.soc_pm = battery.charge_pm(battery_mv, rig.used_uah, settings)
    ms = clamp(ms, 0, channel["pulse_max_ms"])
    reason = _refusal(rig, pot, cup_ms)
    if reason:
        return state, 0, reason, 0
    if not battery.can_pump(rig.rest_mv, rig.sag_mv, rig.soc_pm, settings):
        return state, 0, reasons.BATTERY, 0
    most_ul = dosing.most_ul(ms, channel, rig.rest_mv)
    room_ul, bound = limits.room_ul(rig, state.pots, index, settings)
    cup = 0
    # Nobody knows what a pump brings that was never measured: into a cup, or not at all.
    unknown = channel["pump_ul_s"] == 0
    if unknown or most_ul > room_ul:
        if ms > cup_ms:
            return state, 0, reasons.NOT_CALIBRATED if unknown else _BOUNDS[bound], 0
        cup = 1
    limits.spend(pot, most_ul)
    if not cup:
        rig.tray_ul += most_ul
    pot.intent_ms = ms
    pot.pulse_s = rig.up_s
    pot.pulsed = 1
    pot.dosing = 0
    return state, ms, reasons.NONE, cup


def _refusal(rig, pot, cup_ms):
    """Why nothing may be pumped whatever the amount, or NONE.

    What holds a pot or the rig is about the water in it; a cup takes none.
    """
    if rig.hold == reasons.DAMAGED:
        return rig.hold
    if cup_ms:
        return reasons.NONE
    if rig.hold:
        return rig.hold
    if pot.ladder == HELD and pot.reason != reasons.NOT_CALIBRATED:
        return pot.reason
    return reasons.NONE


_BOUNDS = {limits.POT_DAY: reasons.POT_DAY, limits.RIG_DAY: reasons.RIG_DAY, limits.TRAY: reasons.TRAY}
