"""One push button, from raw levels to presses.

Windows: a press counts after 30 ms of steady contact, a release after 200 ms.
Ganssle, "A Guide to Debouncing" (2004, rev. 2008; quoted second-hand) measured
closings that bounced for up to 11.3 ms and one opening that bounced for
157 ms; the release window covers that worst switch.
"""

PRESS_MS = 30
RELEASE_MS = 200
LONG_MS = 2000

NONE = 0
SHORT = 1
LONG = 2

# (stable level, ms the raw level has differed from it, ms it was seen down; the
# wait for a release to prove itself is not part of the press)
START = (0, 0, 0)


def update(state, level, dt_ms):
    """One sample of the button.

    state: tuple as START; level: 1 pressed, 0 not; dt_ms: since the last
    sample, 1..1000. Returns (state, event): SHORT when a press shorter than
    LONG_MS is released, LONG once as soon as LONG_MS is reached, else NONE.
    """
    stable, differs_ms, held_ms = state
    event = NONE
    differs_ms = differs_ms + dt_ms if level != stable else 0
    if stable:
        if level:
            if held_ms < LONG_MS <= held_ms + dt_ms:
                event = LONG
            held_ms += dt_ms
        elif differs_ms >= RELEASE_MS:
            if held_ms < LONG_MS:
                event = SHORT
            stable, differs_ms, held_ms = 0, 0, 0
    elif differs_ms >= PRESS_MS:
        stable, differs_ms, held_ms = 1, 0, differs_ms
    return (stable, differs_ms, held_ms), event


def going_on(held_ms):
    """The state in which a press has lasted so long already."""
    return 1, 0, held_ms if held_ms < LONG_MS else LONG_MS - 1


def event(held_ms):
    """What a press is that was not watched, but is known to have lasted so long."""
    if held_ms < PRESS_MS:
        return NONE
    return SHORT if held_ms < LONG_MS else LONG


def idle(state):
    """True when nothing is pressed and nothing is being decided."""
    return state[0] == 0 and state[1] == 0
