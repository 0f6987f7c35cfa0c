"""Read a mishap scenario: one TOML file per mishap in mishaps/scenarios/.

    name = "probe_out"                  # as the file
    title = "probe pulled out"
    about = "What happens, and what Potreeve should make of it."
    days = 10
    broker = true                       # somebody listens to its reports; left out: nobody
    seed = 171                          # the only one it is played with; left out: the command's
    recovery_h = 24                     # after the last fault: tended again, or waiting for a person, by then

    [[fault]]                           # the mishap: see potreeve_tools.world.faults.kinds
    [[person]]                          # what people do besides: same keys; not needed to show the mishap
    [extras]                            # what its board is wired with, instead of its own: tub_kind = "strip", ...
    [rig]                               # changes to the rig: "tray.wall_mm" = 20, "pot.0.start_pm" = 100
    [settings]                          # changes to its settings: "channels.0.day_ml" = 150
    [sent]                              # further changes, sent in mid-run by the fault "settings_sent"
    [expects]                           # what honesty asks to be said beforehand, see EXPECTS

All faults of a file are collected, one line each.
"""

import copy
import datetime
from dataclasses import dataclass, fields
from pathlib import Path

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.owner import commission
from potreeve_tools.settings import judge
from potreeve_tools.terminal.faultlist import BadInput, Key, check_table, fault_line, nearest, read_toml
from potreeve_tools.world.faults.kinds import parse_faults
from potreeve_tools.world.rigfile import check_rig

HAZARDS = Path(__file__).with_name("scenarios")

KEYS = (
    Key("name", "str", 2, 40, help="as the file is named"),
    Key("title", "str", 3, 80, help="the mishap in a few words"),
    Key("about", "str", 10, 900, help="what it is and what should come of it"),
    Key("days", "float", 0.25, 120, unit="days"),
    Key("seed", "int", 0, 2**53, default=None, help="where it shows only as chance had it; left out: the command's"),
    Key("broker", "bool", default=False, help="whether somebody listens to its reports"),
    Key("start", "str", 10, 10, default="", help="first day, YYYY-MM-DD; left out: as the rig says"),
    Key("board", "str", 1, 60, default="", help="left out: the command's"),
    Key("pots", "int", 0, 8, default=0, help="keep only so many of the rig's pots; 0 = all"),
    Key("recovery_h", "float", 0, 1000, default=24.0, unit="h", help="after the last fault"),
    Key("fault", "list", length=(1, 40), item="table"),
    Key("person", "list", default=[], item="table"),
    Key("extras", "table", default={}),
    Key("rig", "table", default={}),
    Key("settings", "table", default={}),
    Key("sent", "table", default={}),
    Key("expects", "table", default={}),
)
EXPECTS = (
    Key(
        "ends",
        "choice",
        choices=("tended", "held", "rationed", "either"),
        default="either",
        help="how the pots it strikes must end; either: tended, or waiting for a person with a reason and an alarm",
    ),
    Key(
        "believed_h",
        "float",
        0,
        1000,
        default=2.0,
        unit="h",
        help="how long the probe may still steer water after the fault",
    ),
    Key(
        "called_h",
        "float",
        0,
        2000,
        default=0.0,
        unit="h",
        help="so long after the first fault a call must have begun that names the pots it strikes; 0: not asked for",
    ),
    Key("may_die", "list", default=[], item="str", help="pots whose plant may die of it"),
    Key("wet_by_itself", "bool", default=False, help="the mishap itself wets the electronics"),
    Key(
        "runs_by_itself_ml",
        "float",
        0,
        100_000,
        default=0.0,
        unit="ml",
        help="water the mishap moves with every pump off, which no firmware can stop",
    ),
    Key(
        "may_be_refused",
        "bool",
        default=False,
        help="under these settings a plant must starve: the product may refuse them, or has to say so out loud",
    ),
    Key(
        "stops_at_water",
        "bool",
        default=False,
        help="not one millilitre is pumped once water reaches the wires of the tray's sensor",
    ),
    Key("all_sent", "bool", default=False, help="by the end the broker has every record, and some had to wait for it"),
    Key("why", "str", 0, 600, default="", help="why that is honest"),
    Key("not_shown", "str", 0, 600, default="", help="why this can't be shown yet"),
)


@dataclass(frozen=True)
class Scenario:
    """A checked scenario. faults, persons: lists of Fault; expects: dict of EXPECTS; sent: None or changes."""

    name: str
    title: str
    about: str
    days: float
    seed: int | None
    broker: bool
    start: str
    board: str
    recovery_h: float
    pots: int
    faults: tuple
    persons: tuple
    extras: dict
    rig: dict
    settings: dict
    sent: dict
    expects: dict
    where: str

    def seeds(self, asked):
        """The seeds it is played with, where `asked` are those of the command."""
        return (self.seed,) if self.seed is not None else tuple(asked)

    @property
    def struck(self):
        """Channels the mishap strikes; empty when it is the rig's."""
        return sorted({c for f in self.faults for c in (f.channel, f.params.get("other", -1)) if c >= 0})


def load_all(folder=HAZARDS):
    """All scenarios of a folder, by name. Raises BadInput with the faults of all files."""
    found, wrong = [], []
    for path in sorted(Path(folder).glob("*.toml")):
        try:
            found.append(load(path))
        except BadInput as fault:
            wrong += fault.faults
    if not found and not wrong:
        wrong = [f"{folder}: no scenarios (*.toml) there; give the folder that holds them"]
    if wrong:
        raise BadInput(wrong)
    return found


def load(path):
    """One scenario file. Raises BadInput with one line per fault."""
    path = Path(path)
    return check(read_toml(path), path.name)


def check(data, where):
    """One scenario from a file's mapping; where: the file's name. Raises BadInput with one line per fault."""
    data, wrong = check_table(data, KEYS, where)
    if "expects" in data:
        data["expects"], more = check_table(data["expects"], EXPECTS, f"{where} [expects]")
        wrong += more
    faults, more = parse_faults(data.get("fault", []), 8, where)
    wrong += more
    persons, more = parse_faults(data.get("person", []), 8, where.replace(".toml", ".toml person"))
    wrong += more
    if data.get("extras") and not data.get("board"):
        wrong.append(fault_line(where, "board", "", "extras are wired to a board", "give its name"))
    if "name" in data and data["name"] != Path(where).stem:
        wrong.append(fault_line(where, "name", data["name"], "not the file's name", f'write "{Path(where).stem}"'))
    wrong += _start_wrong(data, where) + _late(data, faults, where)
    if wrong:
        raise BadInput(wrong)
    plain = {one.name: data[one.name] for one in fields(Scenario) if one.name not in ("faults", "persons", "where")}
    return Scenario(faults=tuple(faults), persons=tuple(persons), where=where, **plain)


def _start_wrong(data, where):
    if not data.get("start"):
        return []
    try:
        datetime.date.fromisoformat(data["start"])
    except ValueError:
        return [fault_line(where, "start", data["start"], "not a date", "write YYYY-MM-DD")]
    return []


def _late(data, faults, where):
    """A mishap that would begin after the run's end can't be shown."""
    end_s = data.get("days", 0.0) * 86400
    return [
        fault_line(
            f"{where} [[fault]]",
            "start_h",
            fault.start_s / 3600,
            f"{fault.kind} would begin after the run's end",
            "let it begin earlier, or make the run longer",
        )
        for fault in faults
        if end_s and fault.start_s >= end_s
    ]


def the_rig(scenario, data, where):
    """The scenario's Rig. data: a rig file's mapping, which stays as it is. Raises BadInput."""
    data = copy.deepcopy(data)
    if scenario.start:
        data["rig"]["start"] = scenario.start
        # Its day is one of a whole year, which weather of one's own seldom is.
        data.get("site", {}).pop("weather", None)
    if scenario.pots:
        data["pot"] = data["pot"][: scenario.pots]
    wrong = _change(data, scenario.rig, f"{scenario.where} [rig]")
    if wrong:
        raise BadInput(wrong)
    rig = check_rig(data, f"{scenario.where} on {where}")
    count = len(rig.pots)
    for fault in (*scenario.faults, *scenario.persons):
        if max(fault.channel, fault.params.get("other", -1)) >= count:
            raise BadInput(
                [
                    fault_line(
                        f"{scenario.where} [[fault]]",
                        "channel",
                        fault.channel,
                        f"{where} has {count} pots",
                        f"give 0 to {count - 1}",
                    )
                ]
            )
    return rig


def the_board(scenario, default):
    """Device form of the scenario's board. Raises BadInput."""
    if not scenario.board:
        return default
    if not scenario.extras:
        return boards.load(scenario.board).device_dict()
    path = boards.BOARDS_DIR / f"{scenario.board}.toml"
    return boards.parse({**read_toml(path), "extras": scenario.extras}, path).device_dict()


def brings_own_pots(scenario):
    """True where other pots stand on the sill than the rig file's: settings made for those would not be for these."""
    return bool(scenario.pots) or any(key.endswith(".plant") for key in scenario.rig)


def the_settings(scenario, rig, board, seed, base=None):
    """(settings in force at the start, text of those sent later). base: checked settings for the rig file's pots, None:
    commissioned, as they are for a scenario that brings pots of its own."""
    import json

    if base is None or brings_own_pots(scenario):
        base = commission.make_settings(rig, board, seed)
    first = json.loads(json.dumps(base))
    wrong = _change(first, scenario.settings, f"{scenario.where} [settings]")
    if not wrong:
        clean, found = judge.check(first)
        wrong = [f"{scenario.where} [settings]: {line}" for line in found]
    if wrong:
        raise BadInput(wrong)
    sent = json.loads(json.dumps(clean))
    wrong = _change(sent, scenario.sent, f"{scenario.where} [sent]")
    if wrong:
        raise BadInput(wrong)
    return clean, json.dumps(sent)


def _change(data, changes, where):
    """Set dotted keys in nested mappings and lists; returns fault lines."""
    wrong = []
    for key, value in changes.items():
        at = data
        *way, last = key.split(".")
        try:
            for step in way:
                at = at[int(step)] if isinstance(at, list) else at[step]
            at[int(last) if isinstance(at, list) else last] = value
        except (KeyError, ValueError, IndexError, TypeError):
            hint = nearest(way[0] if way else key, data)
            wrong.append(
                fault_line(where, key, value, "leads nowhere" + hint, 'write it as "table.key" or "list.number.key"')
            )
    return wrong
