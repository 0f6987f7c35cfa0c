"""A rig with a display, and a person before it: for the tests of both."""

import kit
from fake_rig import FakeRig
from potreeve.logic import reasons, state
from ticks import PERIOD as TICKS

SETTLED_MS = 300
UA = 4000


class Glass:
    """rig.display that notes what is shown; fails from so many strokes on, or does not answer."""

    def __init__(self, rig, answers=True, strokes=None):
        self.rig, self.there, self.left = rig, answers, strokes
        self.pages = []
        self.lit = False

    def answers(self):
        self.rig.events.append(("asked",))
        if not self.there:
            raise OSError(5)
        return 1

    def show(self, strokes):
        assert not self.rig.pumping
        self.rig.events.append(("show",))
        words = []
        for stroke in strokes:
            if self.left is not None:
                self.left -= 1
                if self.left < 0:
                    raise OSError(5)
            if stroke[0] in ("text", "big"):
                words.append(stroke[1])
        self.pages.append(words)
        self.lit = True

    def off(self):
        self.rig.events.append(("dark",))
        self.lit = False
        if self.left is not None and self.left < 0:
            raise OSError(5)


def standing(answers=True, strokes=None, keeps_ram=1, pms=None, held=False, wired=True, **more):
    """A rig with a display, its first pot held if asked for."""
    rig = FakeRig(2, kit.make_data(2), keeps_ram=keeps_ram, **more)
    rig.pms = pms or [960, 960]
    rig.board["energy"] = {**kit.ENERGY, "display_ua": UA}
    made = kit.make_state(2)
    if held:
        made.pots[0].ladder, made.pots[0].reason = state.HELD, reasons.NO_RISE
        made.pots[0].unproven = 3
    rig.keep_state(made)
    if wired:
        rig.display = Glass(rig, answers, strokes)
    return rig


def presses(rig, *spans):
    """Close the contact during (from_ms, to_ms), counted from now."""
    start_ms = rig.now_ms

    def level(now_ms):
        at = (now_ms - start_ms) % TICKS
        return int(any(low <= at < high for low, high in spans))

    rig.level = level


def at(rig, *kinds):
    """Places of the first events of these kinds."""
    names = [event[0] for event in rig.events]
    return [names.index(kind) for kind in kinds]


def turning(rig, session, times, first_ms=300, then_ms=200):
    """One wake, lit by a press and turned so many times."""
    spans = [(0, first_ms)]
    # Each press waits until the page before it has stood for a second.
    for turn in range(times):
        begin = 8000 + 1500 * turn
        spans.append((begin, begin + then_ms))
    presses(rig, *spans)
    return session.wake()
