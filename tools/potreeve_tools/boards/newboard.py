"""A new board's pins: those that are given, and for the rest what the chip's own constraints leave.

Nothing here says whether a pin will do: clash.py does. What comes with Potreeve for the same chip goes first, so that
boards of one chip are wired alike.
"""

import re
import textwrap

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.boards import boardtoml
from potreeve_tools.boards.chips import CHIPS
from potreeve_tools.boards.clash import unfit
from potreeve_tools.terminal.faultlist import BadInput, fault_line, nearest
from potreeve_tools.terminal.files import parse_toml

BASES = {"rp2040": "rp2040_wifi", "rp2350": "rp2350_wifi", "esp32": "esp32"}
"""The board file of each chip that pins, geometry and figures are taken from."""
SPARE = {
    "rp2040": {"pumps": (9, 11), "probes": (28,), "light_adc": (28,)},
    "rp2350": {"pumps": (9, 11), "probes": (28,), "light_adc": (28,)},
    # 16 and 17 belong to the memory on boards with PSRAM; 14 gives pulses at reset on some (from memory).
    "esp32": {"pumps": (17, 16), "probes": (33, 32), "light_adc": (33,)},
}
"""What follows the base's own pins, in this order."""
POTS_MOST = 4
SWITCH_INPUTS = 8
PROBE_UA = 5000
ADDRESSES = {"bme280": 0x76, "sht4x": 0x44, "htu21d": 0x40, "bh1750": 0x23}
CLIMATES, LIGHTS = ("bme280", "sht4x", "htu21d", "none"), ("bh1750", "none")
LISTS = ("pumps", "probes", "probe_select")
ROLES = {
    "pumps": ("drive", "GPIOs of the pumps' gates, channel by channel"),
    "pump_enable": ("drive", "GPIO of the pumps' common master switch"),
    "probe_adc": ("adc", "GPIO behind the probes' analogue switch"),
    "probe_select": ("drive", "GPIOs of the analogue switch's address lines, lowest first"),
    "probes": ("adc", "GPIOs of the probes, channel by channel"),
    "probe_power": ("drive", "GPIO of the probe rail's switch"),
    "battery_adc": ("adc", "GPIO of the battery's divider"),
    "i2c_sda": ("any", "GPIO of I2C data"),
    "i2c_scl": ("any", "GPIO of I2C clock"),
    "button": ("any", "GPIO of the button"),
    "led_ok": ("drive", 'GPIO of the LED "ok"'),
    "led_warn": ("drive", 'GPIO of the LED "warn"'),
    "buzzer": ("drive", "GPIO of the buzzer"),
}
"""Key of [pins]: (what it must do, what it is called when asked for), in the order of wiring."""
NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,39}\Z")
NEEDED = ("pumps", "probes", "probe_adc", "probe_select", "i2c_sda", "i2c_scl")
OTHER_KEYS = ("i2c_id",)


class Plan:
    """A board in the making. pins, sensors: as given so far; `suggested`: keys whose pins were not given.

    mcu: of CHIPS; pots: 1 to 4. Raises BadInput where a key or a pin won't do.
    """

    def __init__(self, where, name, mcu, pots, pins=None, sensors=None, micropython="", soil_pin=-1):
        self.where, self.name, self.mcu, self.pots = where, name, mcu, pots
        self.base = boards.load(BASES[mcu])
        self.given = dict(pins or {})
        self.soil_pin = soil_pin
        self.sensors = {"climate": "bme280", "light": "bh1750", **(sensors or {})}
        self.micropython = micropython or self.base.data["micropython"]
        self.suggested = []
        self._i2c_id = self.given.get("i2c_id", self._bus())

    # ---- what it needs -------------------------------------------------------------------

    @property
    def data(self):
        """The tables that clash.py looks at."""
        return {**self.base.data, "mcu": self.mcu, "micropython": self.micropython}

    def by_switch(self):
        """Whether its probes sit behind an analogue switch: where a chip has too few inputs, or where one is given."""
        if self.given.get("probe_select") or self.given.get("probe_adc", -1) >= 0:
            return True
        probes = self.given.get("probes")
        if probes:
            return self.mcu != "esp32" and max(probes) < SWITCH_INPUTS
        return bool(self.base.data["pins"]["probe_select"])

    def needs(self):
        """Keys of ROLES that this board has wires for."""
        bus = self.sensors["climate"] != "none" or self.sensors["light"] == "bh1750"
        out = {"probe_adc", "probe_select"} if not self.by_switch() else set()
        if not bus and self.given.get("i2c_sda", -1) < 0:
            out |= {"i2c_sda", "i2c_scl"}
        return [key for key in ROLES if key not in out]

    # ---- suggestions ---------------------------------------------------------------------

    def suggest(self, key):
        """What to give a key that is not given: a list for LISTS, else a GPIO; raises BadInput where none is left."""
        if key == "probes" and self.by_switch():
            return list(range(self.pots))
        count = {"pumps": self.pots, "probes": self.pots, "probe_select": 3}.get(key, 1)
        found = []
        for pin in self._candidates(key):
            if len(found) < count and pin not in found and self.will_do(key, pin) and pin not in self._used(but=key):
                found.append(pin)
        if len(found) < count:
            raise BadInput(
                [
                    fault_line(
                        f"{self.where} [pins]",
                        key,
                        found if key in LISTS else -1,
                        f"the pins that are given leave {len(found)} of {count} that would do",
                        "free some pins, or have fewer pots" if key in NEEDED else f"do without: --pin {key}=none",
                    )
                ]
            )
        return found if key in LISTS else found[0]

    def will_do(self, key, pin):
        """Whether a pin can do a key's job by itself."""
        chip = CHIPS[self.mcu]
        if key in ("i2c_sda", "i2c_scl") and chip.fixed_i2c:
            place = 2 * self._i2c_id + (key == "i2c_scl")
            return pin in chip.pins and pin % 4 == place
        return not unfit(key, pin, ROLES[key][0], self.data)[0] and not self.wet_on_serial(key, pin)

    def wrong(self, key, value):
        """Faults of one answer: pins that can't do the job, that have another use, or that are too few. "none" is
        fine where a board can do without."""
        faults, pins = [], _listed(value)
        count = {"pumps": self.pots, "probes": self.pots}.get(key)
        if count and len(pins) != count:
            faults.append(fault_line(self.where, key, value, f"{len(pins)} pins for {count} pots", f"give {count}"))
        used = self._used(but=key)
        for pin in pins:
            what, remedy = unfit(key, pin, ROLES[key][0], self.data)
            if pin in used or pins.count(pin) > 1:
                what, remedy = "has another use already", "give each wire a pin of its own"
            elif not what and not self.will_do(key, pin):
                what, remedy = "not for this wire", f"e.g. {self.suggest(key)}"
            if what:
                faults.append(fault_line(self.where, key, pin, what, remedy))
        return faults

    def wet_on_serial(self, key, pin):
        """True for what moves water on a pin of the first serial port: that may talk at a start."""
        return key.startswith("pump") and pin in CHIPS[self.mcu].serial

    def _bus(self):
        """Which I2C a given data pin belongs to."""
        pin = self.given.get("i2c_sda", self.given.get("i2c_scl", -1))
        return pin // 2 % 2 if CHIPS[self.mcu].fixed_i2c and isinstance(pin, int) and pin >= 0 else 0

    def _candidates(self, key):
        chip, own = CHIPS[self.mcu], self.base.data["pins"]
        first = own[key] if isinstance(own[key], list) else [own[key]]
        if key == "probes" and own["probe_select"]:
            first = [26]
        wanted = {pin for other in ROLES if other != key for pin in _listed(own.get(other, -1))}
        rest = sorted(chip.pins - chip.serial, key=lambda pin: (pin in chip.boot, pin in wanted, pin))
        return [*first, *SPARE[self.mcu].get(key, ()), *rest, *sorted(chip.serial & chip.pins)]

    def _used(self, but):
        """Pins that have another use."""
        return set(_listed(self.soil_pin)) | {
            pin
            for key, value in self.given.items()
            if key != but and key in ROLES and not (key == "probes" and self.by_switch())
            for pin in _listed(value)
        }

    # ---- the result ----------------------------------------------------------------------

    def fill(self):
        """Give every key that is not given what is suggested; returns self. Raises BadInput."""
        # What only few pins can do goes first.
        needed = self.needs()
        order = sorted(needed, key=lambda key: ("adc", "drive", "any").index(ROLES[key][0]))
        for key in order:
            if key not in self.given:
                self.given[key] = self.suggest(key)
                self.suggested.append(key)
        return self

    def text(self):
        """The board file. Raises BadInput with every fault that the checker finds in it."""
        faults, text = self._faults(), self._text()
        try:
            boards.parse(parse_toml(text, self.where), self.where)
        except BadInput as fault:
            faults += fault.faults
        if faults:
            raise BadInput(faults)
        return text

    def _faults(self):
        where, faults = self.where, []
        if not NAME.match(self.name):
            faults.append(fault_line(where, "name", self.name, "no name", "letters, digits, _ . -, at most 40"))
        elif self.name in boards.names():
            faults.append(
                fault_line(where, "name", self.name, "a board of Potreeve's has that name", "give another by --name")
            )
        if not NAME.match(self.micropython):
            faults.append(fault_line(where, "micropython", self.micropython, "no name of a build", "e.g. RPI_PICO_W"))
        for key in self.given:
            if key not in ROLES and key not in OTHER_KEYS:
                faults.append(
                    fault_line(
                        f"{where} [pins]",
                        key,
                        self.given[key],
                        "unknown key" + nearest(key, ROLES),
                        f"give one of {', '.join(ROLES)}",
                    )
                )
        for key in ("pumps", "probes"):
            count = len(self.given.get(key, ()))
            if count != self.pots:
                faults.append(
                    fault_line(
                        f"{where} [pins]",
                        key,
                        self.given.get(key),
                        f"{count} for {self.pots} pots",
                        "a pot is a pump and a probe: give one for each",
                    )
                )
        for key in ("pumps", "pump_enable"):
            for place, pin in enumerate(_listed(self.given.get(key, -1))):
                if self.wet_on_serial(key, pin):
                    name = f"{key}[{place}]" if key in LISTS else key
                    faults.append(
                        fault_line(
                            f"{where} [pins]",
                            name,
                            pin,
                            "a pin of the first serial port, which may pulse at a start",
                            "use another pin for anything that moves water",
                        )
                    )
        return faults

    def device(self):
        """Device form of the board, as far as it is given."""
        pins = {key.name: key.default for key in boards.SECTIONS["pins"] if isinstance(key.default, int | list)}
        pins |= {key: value for key, value in self.given.items() if key in pins or key in LISTS}
        pins |= {"probe_kind": "analogue", "i2c_id": self._i2c_id}
        device = {**self.base.device_dict(), "name": self.name, "micropython": self.micropython, "pins": pins}
        device["sensors"] = {**device["sensors"], **self.sensors}
        for kind in ("climate", "light"):
            if f"{kind}_address" not in self.sensors and device["sensors"][kind] in ADDRESSES:
                device["sensors"][f"{kind}_address"] = ADDRESSES[device["sensors"][kind]]
        if self.soil_pin >= 0:
            device["extras"] = {"soil_pin": self.soil_pin}
        return device

    def figures(self):
        """{name: Figure}: those of the chip's board file, each marked as assumed."""
        found = {}
        for name, figure in self.base.energy.items():
            value, source = figure.value, f"{figure.source} ({figure.mark} there)"
            if name == "probe_ua":
                value, source = PROBE_UA * self.pots, f"{self.pots} x 5 mA, common practice, no source"
            found[name] = boards.Figure(value, f"assumed as for {self.base.name}, not measured: {source}"[:400], "M")
        return found

    def _text(self):
        device, base = self.device(), self.base.name
        notes = {
            "flash": f"Assumed as for {base}: the file system of that MicroPython build.",
            "heap": f"Assumed as for {base}.",
            "adc": f"Assumed as for {base}.",
            "energy": "What things draw. value: uA, uAh or ms. EVERY FIGURE IS ASSUMED: it is that of another board "
            "with the\nsame chip. Measure yours with a meter in the battery's lead and write it down, with source "
            "and mark\n(V read in the source, T measured on a desk, D worked out, M from memory). Days left follow "
            "from them.",
        }
        pots = "one pot" if self.pots == 1 else f"{self.pots} pots"
        return (
            f"# {self.name}: {self.mcu}, {pots}. Written by potreeve board new; nothing of it has run on a physical "
            f"board.\n#\n{boardtoml.cautions(base)}#\n{boardtoml.table(device)}#\n{self._chosen()}\n\n"
            + boardtoml.body(device, self.figures(), notes)
        )

    def _chosen(self):
        words = f"Chosen from what the chip leaves: {', '.join(self.suggested) or 'nothing'}. All else was given."
        return "\n".join(f"# {line}" for line in textwrap.wrap(words + " Look through it before you wire.", 110))


def _listed(value):
    """A key's pins as a list, without those that are not wired."""
    return [pin for pin in (value if isinstance(value, list) else [value]) if isinstance(pin, int) and pin >= 0]
