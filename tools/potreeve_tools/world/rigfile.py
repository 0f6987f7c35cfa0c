"""Read a rig file: what stands on the sill, in TOML.

`load_rig(path)` returns a Rig or raises BadInput with one line per fault.
Heights are millimetres above the floor of the tray; what stands lower is
negative.
"""

import math
from dataclasses import dataclass, field
from pathlib import Path

from potreeve_tools.terminal.faultlist import BadInput, Key, check_table, read_toml
from potreeve_tools.world import ownparts, rigfaults, rigkeys
from potreeve_tools.world.faults.kinds import parse_faults
from potreeve_tools.world.weatherfile import Series

DEFAULT_RIG = Path(__file__).parent / "rigs" / "reading_room.toml"


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
    known = tuple(Key(name, "table", default={}) for name, _ in rigkeys.TABLES)
    known += (
        Key("pot", "list", length=(1, rigkeys.POTS_MOST), item="table"),
        Key("fault", "list", default=[], item="table"),
    )
    top, top_faults = check_table(data, known, where)
    faults += top_faults
    for name, spec in rigkeys.TABLES:
        if name not in top:
            continue
        if name not in data and name not in rigkeys.OPTIONAL:
            faults.append(f"{where} [{name}]: the whole table is missing; add [{name}] with its keys")
            continue
        tables[name], found = check_table(top[name], spec, f"{where} [{name}]")
        faults += found
    pots = []
    for place, entry in enumerate(top.get("pot", []), 1):
        pot, found = ownparts.checked_pot(entry, rigkeys.POT, f"{where} [[pot]] {place}")
        if pot.get("outlet_mm") == rigkeys.UNSAID and "height_cm" in pot:
            pot["outlet_mm"] = pot["height_cm"] * 10.0 + 15.0
        pots.append(pot)
        faults += found
    schedule, found = parse_faults(top.get("fault", []), len(pots), where)
    faults += found
    weather, found = ownparts.weather_of(tables, data, where)
    faults += found
    if not faults:
        rig = Rig(where, pots=pots, faults=schedule, weather=weather, **tables)
        faults = rigfaults.contradictions(rig)
        if not faults:
            return rig
    raise BadInput(faults)
