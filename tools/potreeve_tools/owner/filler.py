"""Somebody simulated who fills a tub jug by jug, and how well people read rulers, cups and jugs."""

from potreeve.logic.tub_keys import MARKS

from potreeve_tools.owner import calibrate_talk
from potreeve_tools.world.floats import PLAY_MM, heights

# As full as people fill it.
FULL_TUB = 0.9

# A ruler beside a pot, one standard deviation in each length; pots taper, and a tray's floor is no rectangle.
RULER_ERROR = 0.02
# A measuring cup is read to about this, a kitchen scale shows whole grams (common practice, no source).
CUP_ERROR_ML = 1.0
# A jug's scale, one standard deviation; and how far the water stands above a float before it is noticed (ours).
JUG_ERROR = 0.02
# Meanwhile tubes without a valve have run back.
STOOD_S = 600.0
FLOAT_SEEN_MM = 1.0


def read_cup(ml, rng, scale):
    """(ul, how well) of a cup that is weighed, or read by eye."""
    if not scale:
        ml = max(0.0, ml + rng.gauss(0.0, CUP_ERROR_ML)) if ml else 0.0
    return calibrate_talk.parse_amount(f"{round(ml)} {'g' if scale else 'ml'}")


class Filler:
    """Somebody who empties the tub and fills it again with a jug; answers as calibrate_talk does with a person.

    scale: there is a kitchen scale, on which cups are weighed.
    """

    def __init__(self, world, rng, scale=False):
        self.world, self._rng, self._scale = world, rng, scale
        self._next = self._seen = 0

    def say(self, text="", **style):
        """Nobody listens."""

    def confirm(self, name, question):
        """Do what is asked and say yes; to a lid what is true."""
        tub = self.world.reservoir
        if name == "empty":
            tub.water_ml = tub.inlet_mm * tub.area_cm2 / 10.0
        elif name == "stood":
            self.world.advance(STOOD_S)
        elif name == "ready":
            self._seen = len(self.world.deliveries)
        return tub.lid if name == "lid" else True

    def amount_ul(self, name, question):
        """What came into a cup, as it is read: (ul, how well); then it is poured back into the tub."""
        ml = sum(d[3] for d in self.world.deliveries[self._seen :])
        self.world.reservoir.put(ml)
        return read_cup(ml, self._rng, self._scale)

    def litres(self, name, question):
        """Pour until the next float comes up, or to where it always will be full; whole ml as the jug shows them."""
        tub = self.world.reservoir
        marks_mm = self.world.floats.heights_mm or heights(self.world.rig.reservoir, MARKS)
        if name == "back_ml":
            down_mm = marks_mm[self._next - 1] - PLAY_MM / 2.0 - FLOAT_SEEN_MM
            return self._read(tub.take(tub.water_ml - down_mm * tub.area_cm2 / 10.0))
        until_mm = FULL_TUB * tub.height_mm
        if name == "poured_ml":
            until_mm = marks_mm[self._next] + PLAY_MM / 2.0 + FLOAT_SEEN_MM
            self._next += 1
        ml = max(1.0, until_mm * tub.area_cm2 / 10.0 - tub.water_ml)
        tub.put(ml)
        return self._read(ml)

    def _read(self, ml):
        return max(1, round(ml * (1.0 + self._rng.gauss(0.0, JUG_ERROR))))

    def whole(self, name, question, low, high):
        """The tub's surface by a ruler."""
        area = self.world.reservoir.area_cm2 * (1.0 + self._rng.gauss(0.0, 2 * RULER_ERROR))
        return max(low, min(high, round(area)))
