"""Board files: what a board is, where its wires go, and what it draws.

`load("rp2040_wifi")` or `load("my/board.toml")` gives a validated `Board`;
`Board.device_dict()` is what the firmware reads as /board.json.
"""

import json
from dataclasses import dataclass
from pathlib import Path

from potreeve_tools.boards import extras
from potreeve_tools.boards.chips import CHIPS
from potreeve_tools.boards.clash import contradictions
from potreeve_tools.image import places
from potreeve_tools.terminal.faultlist import BadInput, Key, check_table, fault_line, nearest, read_toml

BOARDS_DIR = places.BOARDS
DRAWN = ("esp32", "latched", "rp2040_wifi", "rp2350_wifi")
"""Boards that lots are drawn from: one that comes later must not change what a seed draws."""
MARKS = ("V", "T", "D", "M")
PIN = dict(kind="int", low=-1, high=48, default=-1)

TOP = (
    Key("name", "str", 1, 40, help="the board's name"),
    Key("mcu", "choice", choices=tuple(CHIPS)),
    Key("micropython", "str", 1, 60, help="name of the MicroPython build, e.g. RPI_PICO_W"),
    Key("keeps_ram", "bool", help="true if sleep keeps the memory"),
    Key("latch", "bool", help="true if an external clock cuts the power between wakes"),
    Key("wdt_max_ms", "int", 1000, 600_000, unit="ms", help="longest watchdog time-out"),
    Key("sleep_max_ms", "int", 1000, 500_000_000, unit="ms", help="longest single sleep"),
)
SECTIONS = {
    "flash": (
        Key("block_bytes", "int", 256, 65536, unit="bytes"),
        Key("blocks", "int", 16, 16384),
        Key("prog_bytes", "int", 1, 4096, unit="bytes"),
        Key("read_bytes", "int", 1, 4096, unit="bytes"),
        Key("lookahead_bytes", "int", 8, 4096, unit="bytes"),
    ),
    "heap": (Key("bytes", "int", 32768, 16_777_216, unit="bytes"),),
    "pins": (
        Key("probe_kind", "choice", choices=("analogue", "pulses")),
        Key("probes", "list", 0, 48, item="int", length=(0, 8), help="one per channel"),
        Key(
            "probe_select",
            "list",
            0,
            48,
            default=[],
            item="int",
            length=(0, 3),
            help="address lines of an analogue switch, lowest first",
        ),
        Key("probe_adc", **PIN, help="input behind the analogue switch"),
        Key("probe_power", **PIN),
        Key("probe_settle_ms", "int", 0, 2000, default=100, unit="ms"),
        # Nine windows make a burst, which must stay below the watchdog.
        Key("probe_window_ms", "int", 20, 500, default=100, unit="ms"),
        Key("pumps", "list", 0, 48, item="int", length=(1, 8), help="one per channel"),
        Key("pump_enable", **PIN),
        Key("button", **PIN),
        Key("led_ok", **PIN),
        Key("led_warn", **PIN),
        Key("buzzer", **PIN),
        Key("i2c_id", "int", 0, 1, default=0),
        Key("i2c_sda", **PIN),
        Key("i2c_scl", **PIN),
        Key("light_adc", **PIN),
        Key("battery_adc", **PIN),
        Key("latch_hold", **PIN),
        Key("usb_sense", **PIN),
    ),
    "sensors": (
        Key("climate", "choice", choices=("bme280", "sht4x", "htu21d", "none")),
        Key("climate_address", "int", 0x08, 0x77, default=0x76),
        Key("light", "choice", choices=("bh1750", "photodiode", "none")),
        Key("light_address", "int", 0x08, 0x77, default=0x23),
        Key("light_mtreg", "int", 31, 254, default=69),
        Key("photodiode_dark_mv", "int", 0, 5000, default=0, unit="mV"),
        Key("photodiode_lx_per_v", "int", 0, 200_000, default=0, unit="lx/V"),
        Key("photodiode_knee_mv", "int", 0, 5000, default=0, unit="mV"),
        Key("photodiode_upper_lx_per_v", "int", 0, 200_000, default=0, unit="lx/V"),
    ),
    "adc": (
        Key("bits", "int", 8, 16),
        Key("vref_mv", "int", 500, 5500, unit="mV"),
        Key("battery_divider_pm", "int", 50, 1000, unit="per mille"),
    ),
}
EXTRAS = (
    Key("tray_probe", "list", 0, 48, default=[], item="int", length=(0, 3), help="drive, drive, voltage in"),
    Key("tub_kind", "choice", default="none", choices=("none", "floats", "strip"), help="how the tub's level is seen"),
    Key("tub_pins", "list", 0, 48, default=[], item="int", length=(0, 4), help="floats, lowest first; or the strip"),
    Key("soil_pin", **PIN, help="data wire of a DS18B20 in the soil of one pot"),
    *extras.DISPLAY_KEYS,
)
"""Optional table [extras]: what a rig may have besides."""
FIGURES = {
    "active_ua": (1, 1_000_000, "uA"),
    "sleep_ua": (0, 1_000_000, "uA"),
    "boot_ms": (0, 60_000, "ms"),
    "boot_ua": (0, 1_000_000, "uA"),
    "pump_ua": (0, 10_000_000, "uA"),
    "probe_ua": (0, 1_000_000, "uA"),
    "report_uah": (0, 100_000, "uAh"),
}


@dataclass(frozen=True)
class Figure:
    """One energy figure: value (uA, uAh or ms, by its name), source in words, mark V, T, D or M."""

    value: int
    source: str
    mark: str


@dataclass(frozen=True)
class Board:
    """A validated board. `data` holds the checked tables of its file, defaults filled in."""

    name: str
    path: Path
    data: dict
    energy: dict

    @property
    def flash(self):
        """Geometry of the file system: block_bytes, blocks, prog_bytes, read_bytes, lookahead_bytes."""
        return dict(self.data["flash"])

    @property
    def heap_bytes(self):
        """Bytes of heap MicroPython has at boot."""
        return self.data["heap"]["bytes"]

    def device_dict(self):
        """Return the device's form: plain numbers, text and lists; energy.NAME is a whole number."""
        plain = json.loads(json.dumps(self.data))
        plain["energy"] = {name: figure.value for name, figure in self.energy.items()}
        return plain

    def device_json(self):
        """Return the text of /board.json, the same for the same board."""
        return json.dumps(self.device_dict(), separators=(",", ":"), sort_keys=True) + "\n"


def names():
    """Return the names of the boards that come with Potreeve, sorted."""
    return sorted(path.stem for path in BOARDS_DIR.glob("*.toml"))


def plain(mcu=None):
    """{name: its mapping} of those without extras, which nobody can guess at; of one chip, where it is given."""
    found = {name: load(name).data for name in names()}
    return {name: data for name, data in found.items() if "extras" not in data and mcu in (None, data["mcu"])}


def load(name_or_path):
    """Return the Board of a name (see `names()`) or of a TOML file; raises BadInput with all its faults."""
    text = str(name_or_path)
    if text.endswith(".toml") or "/" in text or "\\" in text:
        path = Path(text)
    elif text in names():
        path = BOARDS_DIR / (text + ".toml")
    else:
        hint = nearest(text, names())
        raise BadInput(
            [f'board = "{text}": no such board{hint}; give one of {", ".join(names())}, or the path of a .toml file']
        )
    return parse(read_toml(path), path)


def parse(raw, path):
    """Return the Board of an already read mapping. path: named in faults. Raises BadInput."""
    where = str(path)
    tables = [*SECTIONS, "energy", "extras"]
    known = [key.name for key in TOP] + tables
    faults = [
        fault_line(where, name, value, "unknown key" + nearest(name, known), "correct the spelling or remove it")
        for name, value in raw.items()
        if name not in known
    ]
    data, found = check_table({k: v for k, v in raw.items() if k in known and k not in tables}, TOP, where)
    faults.extend(found)
    for section, keys in SECTIONS.items():
        clean, found = _section(raw, section, keys, where)
        data[section] = clean
        faults.extend(found)
    if "extras" in raw:
        data["extras"], found = check_table(raw["extras"], EXTRAS, f"{where} [extras]")
        faults.extend(found)
    energy, found = _energy(raw, where)
    faults.extend(found)
    # What is missing or misspelt would only echo as contradictions.
    faults.extend(contradictions(data, energy, where))
    if faults:
        raise BadInput(faults)
    return Board(data["name"], Path(path), data, energy)


def _section(raw, section, keys, where):
    if section not in raw:
        return {}, [
            f"{where}: [{section}] (missing): needed; add the table with "
            f"{', '.join(k.name for k in keys if not _optional(k))}"
        ]
    return check_table(raw[section], keys, f"{where} [{section}]")


def _optional(key):
    return key.default in (-1, []) or isinstance(key.default, int)


def _energy(raw, where):
    """Return ({name: Figure}, faults): every figure has a value, a source and a mark."""
    if not isinstance(raw.get("energy"), dict):
        return {}, [
            f"{where}: [energy] (missing): needed; add a table [energy.NAME] with value, source and mark "
            f"for each of {', '.join(FIGURES)}"
        ]
    energy, faults = {}, []
    table = raw["energy"]
    wanted = dict(FIGURES)
    wanted.update({name: figure for name, figure in extras.DISPLAY_FIGURES.items() if name in table})
    for name in table:
        if name not in wanted:
            faults.append(
                fault_line(
                    f"{where} [energy]",
                    name,
                    table[name],
                    "unknown key" + nearest(name, [*FIGURES, *extras.DISPLAY_FIGURES]),
                    "correct the spelling or remove it",
                )
            )
    for name, (low, high, unit) in wanted.items():
        spec = (
            Key("value", "int", low, high, unit=unit),
            Key("source", "str", 3, 400, help="where the value was read, or 'common practice, no source'"),
            Key("mark", "choice", choices=MARKS),
        )
        if name not in table:
            faults.append(f"{where}: [energy.{name}] (missing): needed; add it with value ({unit}), source and mark")
            continue
        clean, found = check_table(table[name], spec, f"{where} [energy.{name}]")
        faults.extend(found)
        if not found:
            energy[name] = Figure(clean["value"], clean["source"], clean["mark"])
    return energy, faults
