"""A person stands before the display: pages until nobody turns them any more, or for so long at the most.

Loaded when a press asks for it, once the wake's work is done: the pumps are off, the record is written, and nothing
that happens here is longer than the sleep that follows. What a press says is decided in logic/face.py.
"""

import gc

from potreeve import owed
from potreeve.logic import debounce, record
from potreeve.logic.units import const

_STEP_MS = const(50)

# What decided this wake's water, and is not needed before the next.
_DECIDED = "cycle battery demand energy ladder proof schedule tray water watch"


def light(session, line, sleep_s):
    """Show how the rig is; line: this wake's record; sleep_s: how long it may last.

    session.told: the press that the next wake counts, at once; lights: whether that wake shows what came of it;
    lit_s: whole seconds that are taken off the sleep.
    """
    rig = session.rig
    clock = rig.clock
    began = clock.ticks_ms()
    if not rig.power.keeps_ram:
        session.let_go()
        for name in _DECIDED.split():
            rig.forget("potreeve.logic", name)
    gc.collect()
    # Not before there is room for it.
    from potreeve.logic import face

    try:
        _turn(session, face, face.Seen(session.state, session.settings, record.decode(line)[0]), sleep_s)
    finally:
        lit_ms = clock.ticks_diff(clock.ticks_ms(), began)
        session.lit_s = lit_ms // 1000
        # Its time is in the books by the note below, and not a second time by the wake's own.
        session.began_ms = clock.ticks_add(session.began_ms, lit_ms)
        try:
            rig.display.off()
        finally:
            owed.add(rig.store, face.spent_ms(lit_ms, rig.board["energy"]))


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
