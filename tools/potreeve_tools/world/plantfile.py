"""A plant of one's own: a small TOML file with what FAO-56 would say of it, and where each figure is from.

    name = "basil"
    p = 0.35                 # allowed depletion at 5 mm/d, as FAO-56 Table 22 has it
    p_source = "..."
    kc_ini = 0.60            # crop coefficients of the stages: initial, mid-season, late season (FAO-56 Table 12)
    kc_mid = 1.05
    kc_end = 0.95
    kc_source = "..."
    height_cm = 30           # how high it gets ...
    pot_litres = 1.2         # ... in a pot with so much substrate
    height_source = "..."

Further keys, each with a default of ours: see KEYS. The simulated plant and the settings are both made from it, so a
rehearsal shows what becomes of a plant that is as the file says.
"""

import math
import re
from dataclasses import dataclass
from pathlib import Path

from potreeve_tools.terminal import files
from potreeve_tools.terminal.faultlist import BadInput, Key, check_table, fault_line
from potreeve_tools.world.plant import LEAF_AREA_INDEX
from potreeve_tools.world.plants import Plant
from potreeve_tools.world.substrate import Figure

STAGES = ("ini", "mid", "end")
LARGEST_BYTES = 16 * 1024
# FAO-56 Tables 12 and 17: at mid-season the basal coefficient of nearly every crop is the single one less 0.05.
BARE_SOIL = 0.05
LEAST_KCB = 0.10
OURS = "ours, where the file says nothing"

KEYS = (
    Key("name", "str", 1, 24, help="what you call it"),
    Key("p", "float", 0.1, 0.8, help="allowed depletion at 5 mm/d, FAO-56 Table 22"),
    Key("p_source", "str", 3, 400, help="where it was read, or 'common practice, no source'"),
    Key("kc_ini", "float", 0.1, 1.5, help="crop coefficient, initial stage, FAO-56 Table 12"),
    Key("kc_mid", "float", 0.2, 1.5, help="crop coefficient, mid-season"),
    Key("kc_end", "float", 0.1, 1.5, help="crop coefficient, late season"),
    Key("kc_source", "str", 3, 400, help="where they were read"),
    Key("height_cm", "float", 3, 200, unit="cm", help="how high it gets in a pot of pot_litres"),
    Key("pot_litres", "float", 0.1, 30, unit="litres", help="substrate of that pot"),
    Key("height_source", "str", 3, 400, help="where that is from"),
    Key("leaf_area_max_cm2", "float", 5, 50_000, default=0.0, unit="cm2", help="one side; else from its height"),
    Key("growth_per_d", "float", 0.0, 0.3, default=0.04, unit="a day"),
    Key("wet_death_h", "float", 6, 2000, default=72.0, unit="h", help="in saturated substrate it survives"),
    Key("wilt_death_h", "float", 6, 2000, default=72.0, unit="h", help="wilted it survives"),
)


@dataclass(frozen=True)
class OwnPlant:
    """A checked file. p: fraction; kc: {stage: coefficient}; the world's plant of a stage is `plant(stage)`."""

    where: str
    data: tuple

    @property
    def facts(self):
        """The file's keys, defaults filled in."""
        return dict(self.data)

    @property
    def name(self):
        return self.facts["name"]

    @property
    def depletion(self):
        """p."""
        return self.facts["p"]

    @property
    def kc_most(self):
        """The thirstiest stage's coefficient: settings are made for that, so that no stage goes short."""
        return max(self.facts[f"kc_{stage}"] for stage in STAGES)

    def leaf_area_max_cm2(self):
        """Its leaves when grown, one side: given, or those of a crown as wide as it is high (ours)."""
        given, high = self.facts["leaf_area_max_cm2"], self.facts["height_cm"]
        return given or min(50_000.0, max(5.0, LEAF_AREA_INDEX * math.pi / 4.0 * high**2))

    def plant(self, stage="mid"):
        """The simulated plant at a stage, one of STAGES."""
        facts = self.facts
        kcb = max(LEAST_KCB, facts[f"kc_{stage}"] - BARE_SOIL)
        return Plant(
            name=facts["name"],
            basal_coefficient=Figure(kcb, "D", f"kc_{stage} less {BARE_SOIL}; {facts['kc_source']}"),
            allowed_depletion=Figure(facts["p"], "V-2nd", facts["p_source"]),
            leaf_area_max_cm2=Figure(self.leaf_area_max_cm2(), "D", facts["height_source"]),
            pot_ml=Figure(facts["pot_litres"] * 1000.0, "D", facts["height_source"]),
            growth_per_d=Figure(facts["growth_per_d"], "ours", OURS),
            wet_death_h=Figure(facts["wet_death_h"], "ours", OURS),
            wilt_death_h=Figure(facts["wilt_death_h"], "ours", OURS),
        )


def is_file(word):
    """Whether a plant's word names a file."""
    return str(word).lower().endswith(".toml")


def load(path):
    """The OwnPlant of a file. Raises BadInput with one line per fault, each with its line in the file."""
    text = files.read_text(path, LARGEST_BYTES)
    return check(files.parse_toml(text, str(path)), str(path), text)


def check(data, where, text=""):
    """The OwnPlant of a file's mapping. text: the file's, to say at which line a fault is."""
    clean, faults = check_table(data, KEYS, where)
    if not faults:
        faults = _contradictions(clean, where)
    if faults:
        raise BadInput([_at_line(fault, where, text) for fault in faults])
    return OwnPlant(where, tuple(clean.items()))


def _contradictions(clean, where):
    faults = []
    name = clean["name"]
    if not name.isprintable() or name != name.strip() or is_file(name):
        faults.append(fault_line(where, "name", name, "no name for a plant", "give plain words"))
    if clean["kc_ini"] > clean["kc_mid"]:
        faults.append(
            fault_line(
                where,
                "kc_ini",
                clean["kc_ini"],
                f"above kc_mid = {clean['kc_mid']:g}: a seedling drinks less than a grown plant",
                "check both; the table's rows go ini, mid, end",
            )
        )
    return faults


def _at_line(fault, where, text):
    """A fault with the number of the line that has its key, where there is one."""
    key = re.match(re.escape(where) + r": ([A-Za-z0-9_]+) = ", fault)
    if key is None:
        return fault
    for number, line in enumerate(text.splitlines(), 1):
        if re.match(rf"\s*[\"']?{re.escape(key[1])}[\"']?\s*=", line):
            return f"{where} line {number}{fault[len(where) :]}"
    return fault


def beside(path, word):
    """The path of a file named in another one: as it stands, or beside that one."""
    named = Path(word)
    return named if named.is_absolute() else Path(path).parent / named
