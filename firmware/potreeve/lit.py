"""A person stands before the display: pages until nobody turns them any more, or for so long at the most.

Loaded when somebody presses, where there is a display. It is lit once the wake's work is done: the pumps are off, the
record is written, and nothing that happens here is longer than the sleep that follows. What is shown, and what a press
says to it, is decided in logic/face.py.
"""

import gc

from potreeve import owed
from potreeve.logic import debounce, errors, recorded, timekeep
from potreeve.logic.units import const

_STEP_MS = const(50)

# What decided this wake's water, and is not needed before the next.
_DECIDED = "cycle battery demand energy ladder proof schedule tray water watch wet tub tub_guard"


def look(session, pressed):
    """The press that this wake counts. A short one lights a display that answers, and says no more: what is wrong must
    be seen before it can be seen to.

    session.lights: debounce.SHORT where a press was held back for it, LONG where it only shows what came of one.
    """
    if session.rig.display.answers():
        session.lights = pressed
        if pressed == debounce.SHORT:
            return debounce.NONE
    return pressed


def make_room(session):
    """Let go of what is done with."""
    session.let_go()
    for name in _DECIDED.split():
        session.rig.forget("potreeve.logic", name)


def light(session, line, sleep_s):
    """Show how the rig is; line: this wake's record; sleep_s: how long it may last.

    session.told: the press that the next wake counts, at once; lights: whether that wake shows what came of it;
    lit_s: whole seconds that are taken off the sleep.
    """
    rig = session.rig
    clock = rig.clock
    began = clock.ticks_ms()
    # Until a page was shown, a press counts as on a board without a display: at once, and in the dark.
    session.told = debounce.NONE if session.lights == debounce.LONG else session.lights
    session.lights = debounce.NONE
    head = recorded.decode(line)[0]
    if not rig.power.keeps_ram:
        make_room(session)
        if head["cause"] == timekeep.KEPT:
            # The second wake of one start: the first let go of the sensors of air and light, which did not fail.
            head["errors"] &= ~(errors.CLIMATE | errors.LIGHT)
    # Where the collector is off, nothing may be collected.
    if gc.isenabled():
        gc.collect()
    try:
        # Not before there is room for it.
        from potreeve.logic import face

        _turn(session, face, face.Seen(session.state, session.settings, head), sleep_s)
        lit_ms = clock.ticks_diff(clock.ticks_ms(), began)
        owed.add(rig.store, face.spent_ms(lit_ms, rig.board["energy"]))
        session.lit_s = lit_ms // 1000
        # Its time is in the books by that note, and not a second time by the wake's own.
        session.began_ms = clock.ticks_add(session.began_ms, lit_ms)
    finally:
        for name in ("face", "facepot", "facewords"):
            rig.forget("potreeve.logic", name)
        rig.forget("potreeve", "lit")
        rig.display.off()


def _turn(session, face, seen, sleep_s):
    """Pages, as presses ask for them. face: the module."""
    rig = session.rig
    clock = rig.clock
    pages = face.pages(seen)
    place = 0
    began = clock.ticks_ms()
    while place >= 0:
        rig.power.feed()
        rig.display.show(face.strokes(seen, pages, place))
        # It was seen: from here on a press is what the page says it is.
        session.told = debounce.NONE
        turned = clock.ticks_ms()
        pressed = debounce.NONE
        while not pressed:
            now = clock.ticks_ms()
            if face.over(clock.ticks_diff(now, turned), clock.ticks_diff(now, began), sleep_s):
                return
            clock.sleep_ms(_STEP_MS)
            rig.power.feed()
            pressed = session._button()
        place, session.told = face.after(pages, place, pressed)
    session.lights = debounce.LONG
