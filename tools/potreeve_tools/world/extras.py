"""What a rig may have besides: a sensor in the tray, one in the tub."""

from potreeve.logic.tub_marks import NO_MARK, float_mark, strip_mark

# A capacitive strip reads less the deeper it stands, as the probes do (figures ours).
STRIP_DRY_RAW, STRIP_RAW_MM, STRIP_NOISE_RAW = 48000.0, 60.0, 40.0


def read_tub(extras, sense, settings):
    """Readings.tub_mark from what the tub's sensor gives, as hal/tub.py makes it. extras: the board's table."""
    kind = extras.get("tub_kind", "none")
    if kind == "floats":
        return float_mark(sense, len(extras["tub_pins"]))
    return strip_mark(sense, settings.get("tub")) if kind == "strip" else NO_MARK


class Extras:
    """Part of the World: what these sensors give, by the board file's table [extras]."""

    def sense_extras(self):
        """Whole numbers: the tray's sensor driven forth and back, each 0..65535, and what the tub's gives."""
        return [0, 0, self.tub_sense()]

    def tub_sense(self):
        """What the tub's sensor gives: the floats' contacts as bits, or a strip's reading 0..65535; 0 without one."""
        tub = self.reservoir
        level_mm = tub.water_ml * 10.0 / tub.area_cm2
        if self.tub_kind == "strip":
            return round(STRIP_DRY_RAW - STRIP_RAW_MM * level_mm + self._strip_noise.gauss(0.0, STRIP_NOISE_RAW))
        return self.floats.pattern(level_mm)

    def tub_mark(self, settings):
        """Readings.tub_mark of the tub's sensor; settings: checked ones, for a strip."""
        self.settle()
        return read_tub(self.board.get("extras", {}), self.tub_sense(), settings)
