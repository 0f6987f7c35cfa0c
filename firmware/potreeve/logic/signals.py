"""What the panel shows after a wake: two LEDs for a moment, and a beep.

A rig that calls beeps only while it is light, and only if its owner lets it.
"""

CALM = 0
NOTE = 1
CALL = 2

FLASH_MS = 150
BEEP_MS = 200


def show(alarm, may_beep, dark):
    """(ok LED 0/1, warning LED 0/1, beep in ms) for an alarm level."""
    if alarm == CALM:
        return 1, 0, 0
    if alarm == NOTE:
        return 1, 1, 0
    return 0, 1, BEEP_MS if may_beep and not dark else 0
