"""Floats in the reservoir: what their contacts say.

Each rises and falls with the surface, a little late: reed floats have a few millimetres of play (common practice, no
source).
"""

from potreeve.logic.tub_marks import NO_MARK, float_mark, strip_mark

PLAY_MM = 2.0
LOWEST_MM = 12.0
"""Where nothing is said: the lowest float so far above the inlet, the others evenly up to HIGHEST of the tub."""
HIGHEST = 0.8

# A capacitive strip reads less the deeper it stands, as the probes do (figures ours).
STRIP_DRY_RAW, STRIP_RAW_MM, STRIP_NOISE_RAW = 48000.0, 60.0, 40.0


def heights(reservoir, count):
    """Heights of `count` floats above the tub's floor, mm: the rig file's floats_mm, or where people put them."""
    said = reservoir["floats_mm"]
    if said:
        return sorted(said)[:count]
    low = reservoir["inlet_mm"] + LOWEST_MM
    high = HIGHEST * reservoir["height_mm"]
    if count == 1:
        return [low + 0.1 * (high - low)]
    return [low + (high - low) * place / (count - 1) for place in range(count)]


class Floats:
    """The floats of one tub. stuck: {place: (up or not, Fault)}."""

    def __init__(self, heights_mm):
        self.heights_mm = list(heights_mm)
        self.up = [False] * len(self.heights_mm)
        self.stuck = {}

    def pattern(self, level_mm):
        """Contacts as bits, bit 0 the lowest, 1 up, for a level above the tub's floor; stuck ones count as bites where
        they lie."""
        bits = 0
        for place, height in enumerate(self.heights_mm):
            if level_mm >= height + PLAY_MM / 2.0:
                self.up[place] = True
            elif level_mm < height - PLAY_MM / 2.0:
                self.up[place] = False
            says = self.up[place]
            if place in self.stuck:
                says, fault = self.stuck[place]
                fault.bit += says != self.up[place]
            bits |= says << place
        return bits

    def marks_ml(self, reservoir):
        """What the pumps can reach when each float falls, ml, from below."""
        fall = [height - PLAY_MM / 2.0 - reservoir.inlet_mm for height in self.heights_mm]
        return [max(0.0, mm) * reservoir.area_cm2 / 10.0 for mm in fall]


class TubSensor:
    """Part of the World: what a board with floats or a strip in its tub sees of them."""

    def _build_tub_sensor(self, reservoir):
        extras = self.board.get("extras", {})
        self.tub_kind = extras.get("tub_kind", "none")
        count = len(extras["tub_pins"]) if self.tub_kind == "floats" else 0
        self.floats = Floats(heights(reservoir, count))
        self._strip_noise = self.stream("strip in the tub")
        # {kind: (Fault, level when it began, reading when it began)}
        self.strip_faults = {}

    @property
    def tub_level_mm(self):
        """Where the water stands above the tub's floor."""
        return self.reservoir.water_ml * 10.0 / self.reservoir.area_cm2

    def tub_sense(self):
        """The floats' contacts as bits, or a strip's reading 0..65535; 0 without either."""
        return self._strip_raw() if self.tub_kind == "strip" else self.floats.pattern(self.tub_level_mm)

    def _strip_raw(self):
        """A strip's reading; a film on it is wet no higher than the water once stood."""
        seen_mm = self.tub_level_mm
        if "strip_film" in self.strip_faults:
            fault, began_mm, _ = self.strip_faults["strip_film"]
            film_mm = min(fault.params["mm"], max(0.0, began_mm - seen_mm))
            fault.bit += film_mm > 0.0
            seen_mm += film_mm
        raw = round(STRIP_DRY_RAW - STRIP_RAW_MM * seen_mm + self._strip_noise.gauss(0.0, STRIP_NOISE_RAW))
        if "strip_stuck" in self.strip_faults:
            fault, began_mm, stuck_raw = self.strip_faults["strip_stuck"]
            fault.bit += abs(self.tub_level_mm - began_mm) > PLAY_MM
            return stuck_raw
        return raw

    def tub_mark(self, settings):
        """Readings.tub_mark of all that, as hal/tub.py makes it; settings: checked ones, for a strip."""
        self.settle()
        if self.tub_kind == "floats":
            return float_mark(self.tub_sense(), len(self.floats.heights_mm))
        return strip_mark(self.tub_sense(), settings.get("tub")) if self.tub_kind == "strip" else NO_MARK
