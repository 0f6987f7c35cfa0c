"""What a rig may have besides: a sensor in the tray, one in the tub, one in the soil.

The tray's: two wires whose tips stand a little above its floor, 100 k across their far end, read through 47 k (see
firmware/potreeve/hal/wet.py), or a float there whose contact closes over 10 k. Water between the wires has some
kilohms: two thin wires a centimetre apart in tap water of 500 uS/cm, by the cell constant of parallel wires.

The soil's: a DS18B20, good to half a degree from -10 to 85 degC (data sheet, from memory), set to ten bits.
"""

from potreeve.logic import ds18b20

SERIES_OHM = 47_000.0
END_OHM = 100_000.0
FLOAT_OHM = 10_000.0
SUPPLY_MV = 3_300.0
OPEN_OHM = 1e9
DAY_S = 86_400.0
SOIL_OFF_C = 0.5
# As the chip has it after a start: 85 degC.
NOT_MEASURED = 0x0550


class Extras:
    """Part of the World: what these sensors give, by the board file's table [extras]."""

    def _build_extras(self, rig, board):
        wired = board.get("extras", {})
        self.extra_faults = []
        self._tray_spec = rig.tray_sensor if wired.get("tray_probe") else None
        self._extras_rng = self.stream("extras")
        rng = self.stream("extras as built")
        # Resistors of one per cent, water as the tap gives it.
        self._ohms = [ohm * rng.uniform(0.99, 1.01) for ohm in (SERIES_OHM, END_OHM, FLOAT_OHM)]
        self._water_ohm = rng.uniform(2_000.0, 12_000.0)
        self.soil_wired = wired.get("soil_pin", -1) >= 0
        self._soil_off_c = self.stream("soil sensor as built").uniform(-SOIL_OFF_C, SOIL_OFF_C)
        self._adc_most_mv = board.get("adc", {}).get("vref_mv", SUPPLY_MV)

    def sense_extras(self):
        """Whole numbers: millivolts on the tray sensor's wire, driven forth and back, and what the tub's gives."""
        state = self.electronics.state(self.now_s)
        rnd = self._extras_rng
        if state == "mad":
            return [rnd.randrange(3300), rnd.randrange(3300), self.tub_sense()]
        if state == "silent" or self._tray_spec is None:
            return [0, 0, self.tub_sense()]
        return [*self._tray_mv(), self.tub_sense()]

    def soil_scratchpad(self):
        """The nine bytes of the soil's thermometer once it has measured; b"" where nothing answers."""
        state = self.electronics.state(self.now_s)
        if state == "mad":
            return self._extras_rng.randbytes(9)
        if state == "silent" or not self.soil_wired:
            return b""
        self.settle()
        faults = {fault.kind: fault for fault in self.extra_faults if fault.kind.startswith("soil_")}
        for fault in faults.values():
            fault.bit += 1
        if "soil_sensor_off" in faults:
            return b""
        if "soil_sensor_shorted" in faults:
            return bytes(9)
        # Quarters of a degree; what would be finer stays as it was.
        sixteenths = round((self.soil_c + self._soil_off_c) * 4) * 4
        if "soil_sensor_stuck" in faults:
            sixteenths = NOT_MEASURED
        made = (sixteenths & 0xFFFF).to_bytes(2, "little") + bytes((0x7F, 0x80, 0x3F, 0xFF, 0x0C, 0x10))
        made += bytes((ds18b20.crc8(made),))
        if "soil_sensor_garbled" in faults:
            place = self._extras_rng.randrange(9)
            made = made[:place] + bytes((made[place] ^ 1 << self._extras_rng.randrange(8),)) + made[place + 1 :]
        return made

    def soil_sense(self):
        """What it says as a list of one whole number, -1 where nothing answers; empty where none is wired."""
        said = self.soil_scratchpad()
        return [int.from_bytes(said, "little") if said else -1] if self.soil_wired else []

    @property
    def tray_wires_wet(self):
        """Whether the tray's water truly reaches the wires of its sensor."""
        return self._tray_spec is not None and self.tray.level_mm >= self._tray_spec["reach_mm"]

    def _tray_mv(self):
        series, end, contact = self._ohms
        wires = self._wires_ohm(end, contact)
        share = wires / (wires + series)
        forth, back = SUPPLY_MV * share, SUPPLY_MV * (1.0 - share)
        return [max(0, min(int(self._adc_most_mv), round(mv + self._extras_rng.gauss(0, 4.0)))) for mv in (forth, back)]

    def _wires_ohm(self, end, contact):
        """Ohms between the two wires at the board, mishaps and all."""
        wet = self.tray_wires_wet
        faults = {fault.kind: fault for fault in self.extra_faults}
        for kind, is_wet in (("tray_float_up", True), ("tray_float_down", False)):
            if kind in faults:
                faults[kind].bit += wet != is_wet
                wet = is_wet
        if "tray_sensor_lies" in faults:
            fault = faults["tray_sensor_lies"]
            lie = self._extras_rng.random() * 1000.0 < fault.params["wet_pm"]
            fault.bit += wet != lie
            wet = lie
        across = contact if self._tray_spec["kind"] == "float" else self._water_ohm
        ways = [across] if wet else []
        film = faults.get("tray_sensor_film")
        if film:
            film.bit += not wet
            ways.append(film.params["ohm"])
        ohm = 1.0 / (1.0 / end + sum(1.0 / way for way in ways))
        worn = faults.get("tray_sensor_corroded")
        if worn:
            worn.bit += 1
            ohm += worn.params["ohm_per_day"] * (self.now_s - worn.start_s) / DAY_S
        for kind, instead in (("tray_sensor_shorted", 1.0), ("tray_sensor_broken", OPEN_OHM)):
            if kind in faults:
                faults[kind].bit += 1
                ohm = instead
        return ohm
