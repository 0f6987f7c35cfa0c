"""Service mode: when to enter it, and when it ends; commanded.py says what it may pump.

In service nothing is pumped but on command. It ends by
itself, so that a rig forgotten in it is tended again.
"""

from potreeve.logic import timekeep

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
    # The start was made for it; the port may not be there again so soon after a reset.
    if mark == MARK_USB or usb and mark not in (MARK_LEAVING, MARK_LEFT):
        return USB
    return NO


def mark_for_tending(mark, usb, early):
    """What the mark becomes when the board tends: a note that service was left
    stands until USB was seen to be absent. early: 1 so soon after a reset that a
    port which is there need not be seen yet."""
    return MARK_LEFT if mark in (MARK_LEAVING, MARK_LEFT) and (usb or early) else NO_MARK


def cause_of(mark, cause):
    """What a start counts as; cause: timekeep.* as the board tells it.

    One that begins or ends service was wanted: it proves no time, but is not held
    against the board as starting over too often.
    """
    return cause if mark in (NO_MARK, MARK_LEFT) else timekeep.BUTTON


def calls(usb, mark):
    """True when a board that tends must turn to service: USB came."""
    return usb == 1 and mark != MARK_LEFT


def idle_s(why):
    """Seconds until service ends by itself when nobody ever talks."""
    return USB_IDLE_S if why == USB else IDLE_S
