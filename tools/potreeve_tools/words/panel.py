"""What the rig's lights, its buzzer and its button say: the one source of the card, of help and of guides.

Times come from the firmware's own numbers.
"""

from potreeve.logic import debounce, servicing, signals

_SHORT_S = signals.FLASH_MS[signals.CALM] / 1000
_LONG_S = signals.FLASH_MS[signals.CALL] / 1000
_HOLD_S = debounce.LONG_MS // 1000
_BEEP_S = signals.BEEP_MS / 1000

LIGHTS = (
    ("green", f"a moment ({_SHORT_S:g} s)", "All is well.", "There is nothing to do."),
    (
        "green and yellow",
        f"a moment ({_SHORT_S:g} s)",
        "A note: the rig is held by you, its memory was lost, older or insisted-on settings run, or the tray may "
        "be full.",
        "See to it when you pass: potreeve status.",
    ),
    (
        "yellow",
        f"{_LONG_S:g} s; by day a beep ({_BEEP_S:g} s)",
        "A call: a pot is held, rationed or dry; the tray's sensor feels water; the battery has a week left; or the "
        "rig is at fault.",
        "Look today: tub, tubes, probes; then potreeve status.",
    ),
    (
        "both, blinking",
        "without a pause",
        "Service: a person or a cable is there. No pump runs but on command.",
        f"It ends by itself, {servicing.IDLE_S // 60} minutes after the last word.",
    ),
    ("none", "for hours", "The battery is flat, or the board is off.", "Change or charge the battery."),
)
"""(light, how long, what it means, what to do), at each look; the calmest first."""

BUTTON = (
    (
        "short",
        "I have seen it: a held pot is tried again, within every cap. Wakes a board. A display it turns; its last page "
        "asks.",
    ),
    (f"{_HOLD_S} seconds", "Hold: no water at all until you press so again, or a day has passed."),
    (f"{_HOLD_S} seconds, again", "Go on: the tray is empty, and everything was seen to."),
    ("while it starts", f"Held for {servicing.HOLD_MS // 1000} s from the start: service, until both lights blink."),
)
"""(how long, what it says to the rig)."""

SPILL = (
    "Water where it should not be: pull the battery's plug. No pump runs then; a tube that siphons is lifted out "
    "of the "
    "tub."
)
EACH_LOOK = "At each look, every half hour by day:"
