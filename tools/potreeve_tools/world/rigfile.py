"""Read a rig file: what stands on the sill, in TOML.

`load_rig(path)` returns a Rig or raises BadInput with one line per fault.
Heights are millimetres above the floor of the tray; what stands lower is
negative.
"""

import datetime
import math
from dataclasses import dataclass, field
from pathlib import Path

from potreeve_tools.terminal.faultlist import BadInput, Key, check_table, fault_line, read_toml
from potreeve_tools.world import ownparts
from potreeve_tools.world.battery import CHEMISTRIES, full_mv
from potreeve_tools.world.faults.kinds import parse_faults
from potreeve_tools.world.plantfile import STAGES
from potreeve_tools.world.plants import PLANTS
from potreeve_tools.world.potspec import SOILS
from potreeve_tools.world.substrates import SUBSTRATES
from potreeve_tools.world.water import PUMP_KINDS
from potreeve_tools.world.weather import FILES
from potreeve_tools.world.weatherfile import Series

DEFAULT_RIG = Path(__file__).parent / "rigs" / "reading_room.toml"
POTS_MOST = 8
_UNSAID = -9_999.0

RIG = (
    Key("name", "str", 1, 80, help="what to call the rig"),
    Key("start", "str", 10, 10, default="2026-06-01", help="first day, YYYY-MM-DD"),
    Key("soil", "choice", choices=SOILS, default=SOILS[0], help="how water moves in the pots"),
)
SITE = (Key("data", "choice", choices=tuple(FILES), default="greensboro", help="weather year"), *ownparts.SITE)
WINDOW = (
    Key("azimuth_deg", "float", 0, 360, default=135.0, unit="degrees", help="way it faces, clockwise from north"),
    Key(
        "horizon_deg",
        "float",
        0,
        89,
        default=10.0,
        unit="degrees",
        help="what stands opposite hides the sky up to here",
    ),
    Key("panes", "int", 1, 4, default=2, help="panes of glass"),
    Key("solar_transmittance", "float", 0, 1, default=0.66),
    Key("visible_transmittance", "float", 0, 1, default=0.81),
    Key("sill_share", "float", 0, 1, default=0.5, help="share of the pane's light that reaches the plants"),
)
ROOM = (
    Key("heat_day_c", "float", 0, 35, default=20.0, unit="degC"),
    Key("heat_night_c", "float", 0, 35, default=18.0, unit="degC"),
    Key("cool_c", "float", 10, 60, default=26.0, unit="degC"),
    Key("free_gain_c", "float", 0, 20, default=5.0, unit="degC", help="above outdoors without heating"),
    Key("rh_max_pct", "float", 10, 100, default=60.0, unit="%"),
)
TRAY = (
    Key("area_cm2", "float", 20, 20_000, unit="cm2", help="floor of the tray"),
    Key("wall_mm", "float", 2, 300, unit="mm", help="lowest point of its rim"),
    Key("water_ml", "float", 0, 50_000, default=0.0, unit="ml", help="water in it at the start"),
    Key("feet_mm", "float", 0, 300, default=0.0, unit="mm", help="feet or gravel under the pots; 0: on its floor"),
)
TRAY_SENSOR = (
    Key("kind", "choice", choices=("wires", "float"), default="wires"),
    Key("reach_mm", "float", 0.1, 200, default=0.8, unit="mm", help="water it notices, above the tray's floor"),
)
RESERVOIR = (
    Key("area_cm2", "float", 5, 20_000, unit="cm2", help="its water surface"),
    Key("height_mm", "float", 20, 2_000, unit="mm", help="floor to brim"),
    Key("base_mm", "float", -2_000, 2_000, unit="mm", help="its floor above the tray's floor; below is negative"),
    Key("level_mm", "float", 0, 2_000, unit="mm", help="water at the start, from its floor"),
    Key("inlet_mm", "float", 0, 500, default=8.0, unit="mm", help="the pumps suck air below this"),
    Key("lid", "bool", default=True, help="covered"),
    Key("refill_days", "float", 0, 400, default=0.0, unit="days", help="someone fills it this often; 0 = nobody"),
    Key(
        "floats_mm",
        "list",
        0,
        2_000,
        default=[],
        unit="mm",
        item="float",
        length=(0, 4),
        help="floats above its floor, where the board has some; [] = where people put them",
    ),
)
BATTERY = (
    Key("chemistry", "choice", choices=CHEMISTRIES),
    Key("cells", "int", 1, 6, unit="cells in series"),
    Key("capacity_mah", "float", 50, 100_000, unit="mAh"),
    Key("start_pct", "float", 0, 100, default=100.0, unit="%", help="charge at the start"),
    Key("resistance_times", "float", 0.2, 50, default=1.0, help="1 = new cells"),
    Key("self_discharge_pm_year", "float", 0, 2_000, default=-1.0, unit="per mille a year at 21 degC"),
)
ELECTRONICS = (
    Key("height_mm", "float", 0, 2_000, unit="mm", help="lowest live part above the tray's floor"),
    Key("clock_set", "bool", default=True, help="the owner's computer set the clock"),
    Key("clock_drift_ppm", "float", -20_000, 20_000, default=0.0, unit="ppm", help="on top of the crystal's own"),
)
POT = (
    Key("name", "str", 1, 40),
    Key("plant", "choice", choices=tuple(PLANTS)),
    Key("stage", "choice", choices=STAGES, default="mid", help="growth stage, of a plant of one's own"),
    Key("diameter_cm", "float", 4, 60, unit="cm", help="at the rim"),
    Key("height_cm", "float", 3, 60, unit="cm", help="of the substrate"),
    Key("substrate", "choice", choices=tuple(SUBSTRATES), default="peat_mix"),
    Key("leaf_area_cm2", "float", 1, 50_000, unit="cm2"),
    Key("start_pm", "float", 0, 1_000, default=900.0, unit="per mille", help="moisture at the start"),
    Key("drainage_hole", "bool", default=True),
    Key("rim_cm", "float", 0, 10, default=1.5, unit="cm", help="free board above the substrate"),
    Key("probe_depth_cm", "float", 0.5, 55, unit="cm", help="middle of the probe below the surface"),
    Key("probe_noise_mv", "float", 0, 200, default=2.5, unit="mV rms"),
    Key("probe_drift_vwc_month", "float", 0, 0.2, default=0.004, unit="m3/m3 per 30 days"),
    Key("probe_tolerance", "float", 0, 2, default=1.0, help="how far it differs from a middling probe; 0 = not at all"),
    Key("pump_kind", "choice", choices=PUMP_KINDS, default="centrifugal"),
    Key("pump_ml_s", "float", 0.05, 60, unit="ml/s", help="at the pot, tube full"),
    Key("pump_nominal_mv", "float", 1_500, 12_000, default=3_700.0, unit="mV", help="at which pump_ml_s was measured"),
    Key("pump_ma", "float", 5, 3_000, default=150.0, unit="mA", help="running"),
    Key("pump_start_times", "float", 1, 10, default=2.5, unit="times the running current"),
    Key("pump_lift_mm", "float", 50, 20_000, default=900.0, unit="mm", help="head at which its flow stops"),
    Key("tube_mm", "float", 50, 10_000, default=900.0, unit="mm"),
    Key("tube_id_mm", "float", 0.5, 20, default=4.0, unit="mm"),
    Key("outlet_mm", "float", -500, 3_000, default=_UNSAID, unit="mm", help="tube's end above the tray's floor"),
    Key("check_valve", "bool", default=True, help="keeps the tube full between pulses"),
    Key("air_hole", "bool", default=True, help="hole above the outlet that breaks a siphon"),
)
TABLES = (
    ("rig", RIG),
    ("site", SITE),
    ("window", WINDOW),
    ("room", ROOM),
    ("tray", TRAY),
    ("tray_sensor", TRAY_SENSOR),
    ("reservoir", RESERVOIR),
    ("battery", BATTERY),
    ("electronics", ELECTRONICS),
)
_OPTIONAL = ("site", "window", "room", "tray_sensor")
VSYS_MOST_MV = 5_500
VSYS_LEAST_MV = 2_000


@dataclass
class Rig:
    """A checked rig: each table as a dict with every key present; pots in channel order."""

    where: str
    rig: dict
    site: dict
    window: dict
    room: dict
    tray: dict
    tray_sensor: dict
    reservoir: dict
    battery: dict
    electronics: dict
    pots: list
    faults: list = field(default_factory=list)
    weather: Series | None = None

    @property
    def name(self):
        return self.rig["name"]

    @property
    def footprint_cm2(self):
        """Floor the pots take in the tray."""
        return sum(footprint_cm2(pot) for pot in self.pots)

    @property
    def tray_capacity_ml(self):
        """What the tray holds between the pots, to the rim."""
        return max(0.0, self.tray["area_cm2"] - self.footprint_cm2) * self.tray["wall_mm"] / 10.0


def footprint_cm2(pot):
    """Floor one pot takes, cm2: a straight pot as wide as its rim (cautious for a tapered one)."""
    return math.pi / 4.0 * pot["diameter_cm"] ** 2


def load_rig(path=DEFAULT_RIG):
    """Load and check a rig file. Raises BadInput with one line per fault."""
    data = read(path)
    if "channels" in data and "pot" not in data:
        raise BadInput(
            [
                f"{path}: this is a file of settings ([[channels]]), not a rig; give it as --settings, or "
                "describe pots, tray and "
                "tub as in tools/potreeve_tools/world/rigs/reading_room.toml"
            ]
        )
    return check_rig(data, str(path))


def read(path):
    """A rig file's mapping, the files that it names found from where one stands. Raises BadInput."""
    return ownparts.placed(read_toml(path), path)


def check_rig(data, where):
    """Check a rig's mapping; `where` names it in faults. Returns Rig or raises BadInput."""
    tables, faults = {}, []
    known = tuple(Key(name, "table", default={}) for name, _ in TABLES)
    known += (Key("pot", "list", length=(1, POTS_MOST), item="table"), Key("fault", "list", default=[], item="table"))
    top, top_faults = check_table(data, known, where)
    faults += top_faults
    for name, spec in TABLES:
        if name not in top:
            continue
        if name not in data and name not in _OPTIONAL:
            faults.append(f"{where} [{name}]: the whole table is missing; add [{name}] with its keys")
            continue
        tables[name], found = check_table(top[name], spec, f"{where} [{name}]")
        faults += found
    pots = []
    for place, entry in enumerate(top.get("pot", []), 1):
        pot, found = ownparts.checked_pot(entry, POT, f"{where} [[pot]] {place}")
        if pot.get("outlet_mm") == _UNSAID and "height_cm" in pot:
            pot["outlet_mm"] = pot["height_cm"] * 10.0 + 15.0
        pots.append(pot)
        faults += found
    schedule, found = parse_faults(top.get("fault", []), len(pots), where)
    faults += found
    weather, found = ownparts.weather_of(tables, data, where)
    faults += found
    if not faults:
        rig = Rig(where, pots=pots, faults=schedule, weather=weather, **tables)
        faults = contradictions(rig)
        if not faults:
            return rig
    raise BadInput(faults)


def contradictions(rig):
    """Return the faults of a rig whose keys are fine one by one but not together."""
    faults = _start_faults(rig) + _soil_faults(rig) + _tray_faults(rig) + _reservoir_faults(rig) + _battery_faults(rig)
    names = [pot["name"] for pot in rig.pots]
    for place, pot in enumerate(rig.pots, 1):
        faults += _pot_faults(pot, f"{rig.where} [[pot]] {place}") + _lift_faults(rig, pot, place)
        if pot["name"] in names[: place - 1]:
            faults.append(
                fault_line(
                    f"{rig.where} [[pot]] {place}", "name", pot["name"], "used twice", "give each pot its own name"
                )
            )
    return faults + _siphon_faults(rig)


def _start_faults(rig):
    try:
        datetime.date.fromisoformat(rig.rig["start"])
    except ValueError:
        return [fault_line(f"{rig.where} [rig]", "start", rig.rig["start"], "not a date", "write YYYY-MM-DD")]
    return ownparts.start_faults(rig)


def _soil_faults(rig):
    """Only the layers know how a pellet swells."""
    soil = rig.rig["soil"]
    swells = any(SUBSTRATES[pot["substrate"]].swells_from.value < 1.0 for pot in rig.pots)
    if soil == "layers" or not (swells or any(fault.kind == "swelling_pellet" for fault in rig.faults)):
        return []
    return [
        fault_line(f"{rig.where} [rig]", "soil", soil, "no model of a swelling pellet", f'write soil = "{SOILS[0]}"')
    ]


def _tray_faults(rig):
    where, tray, faults = f"{rig.where} [tray]", rig.tray, []
    if tray["area_cm2"] <= rig.footprint_cm2:
        faults.append(
            fault_line(
                where,
                "area_cm2",
                tray["area_cm2"],
                f"smaller than the pots' {rig.footprint_cm2:.0f} cm2",
                "use a larger tray, or fewer or smaller pots",
            )
        )
    elif tray["water_ml"] > rig.tray_capacity_ml:
        faults.append(
            fault_line(
                where,
                "water_ml",
                tray["water_ml"],
                f"more than the tray's {rig.tray_capacity_ml:.0f} ml",
                "start with less water in it",
            )
        )
    height = rig.electronics["height_mm"]
    if height <= tray["wall_mm"]:
        faults.append(
            fault_line(
                f"{rig.where} [electronics]",
                "height_mm",
                height,
                f"not above the spill line at {tray['wall_mm']:g} mm (the tray's wall)",
                "mount the electronics higher, with a drip loop in every cable",
            )
        )
    return faults


def _reservoir_faults(rig):
    where, tub, faults = f"{rig.where} [reservoir]", rig.reservoir, []
    if tub["level_mm"] > tub["height_mm"]:
        faults.append(
            fault_line(
                where,
                "level_mm",
                tub["level_mm"],
                f"above its brim at {tub['height_mm']:g} mm",
                "give a level up to height_mm",
            )
        )
    if tub["inlet_mm"] >= tub["height_mm"]:
        faults.append(
            fault_line(
                where, "inlet_mm", tub["inlet_mm"], f"not below its brim at {tub['height_mm']:g} mm", "lower the inlet"
            )
        )
    return faults


def _battery_faults(rig):
    pack = rig.battery
    full = full_mv(pack["chemistry"], pack["cells"])
    where = f"{rig.where} [battery]"
    if full > VSYS_MOST_MV:
        return [
            fault_line(
                where,
                "cells",
                pack["cells"],
                f"{full:.0f} mV when full, boards take {VSYS_MOST_MV} mV at most",
                "use fewer cells",
            )
        ]
    if full < VSYS_LEAST_MV:
        return [
            fault_line(
                where, "cells", pack["cells"], f"{full:.0f} mV when full, too little for any board", "use more cells"
            )
        ]
    return []


def _pot_faults(pot, where):
    faults = []
    height_mm = pot["height_cm"] * 10.0
    if pot["probe_depth_cm"] >= pot["height_cm"]:
        faults.append(
            fault_line(
                where,
                "probe_depth_cm",
                pot["probe_depth_cm"],
                f"deeper than the pot's {pot['height_cm']:g} cm",
                "give less than height_cm",
            )
        )
    if pot["outlet_mm"] <= height_mm:
        faults.append(
            fault_line(
                where,
                "outlet_mm",
                pot["outlet_mm"],
                f"not above the soil's surface at {height_mm:g} mm, water could be sucked back",
                "fix the tube's end above the soil",
            )
        )
    slim = pot["height_cm"] / pot["diameter_cm"]
    if not 0.3 <= slim <= 3.0:
        faults.append(
            fault_line(
                where,
                "height_cm",
                pot["height_cm"],
                f"{slim:.1f} times its diameter of {pot['diameter_cm']:g} cm",
                "check both measures",
            )
        )
    return faults


def _lift_faults(rig, pot, place):
    """A pump that can't lift water from a nearly empty tub to the outlet is no pump for this rig."""
    lift_mm = pot["outlet_mm"] - rig.reservoir["base_mm"] - rig.reservoir["inlet_mm"]
    if pot["pump_kind"] == "peristaltic" or pot["pump_lift_mm"] > lift_mm:
        return []
    return [
        fault_line(
            f"{rig.where} [[pot]] {place}",
            "pump_lift_mm",
            pot["pump_lift_mm"],
            f"not more than the {lift_mm:.0f} mm from the tub's inlet to this outlet",
            "use a stronger pump, or stand the tub higher",
        )
    ]


def _siphon_faults(rig):
    """A full tub above an open outlet runs out by itself: only fine if the tray can take it."""
    tub, faults = rig.reservoir, []
    brim_mm = tub["base_mm"] + tub["height_mm"]
    for place, pot in enumerate(rig.pots, 1):
        if pot["pump_kind"] == "peristaltic" or pot["air_hole"] or brim_mm <= pot["outlet_mm"]:
            continue
        runs_ml = min(tub["height_mm"], brim_mm - pot["outlet_mm"]) * tub["area_cm2"] / 10.0
        if runs_ml > rig.tray_capacity_ml:
            faults.append(
                fault_line(
                    f"{rig.where} [reservoir]",
                    "base_mm",
                    tub["base_mm"],
                    f"its brim stands {brim_mm - pot['outlet_mm']:.0f} mm above the outlet of pot {place}, so "
                    f"{runs_ml:.0f} ml could siphon into a tray of {rig.tray_capacity_ml:.0f} ml",
                    "stand it lower, or set air_hole = true and make that hole",
                )
            )
    return faults
