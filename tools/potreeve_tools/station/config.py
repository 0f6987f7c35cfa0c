"""The owner's file for the station: routes, quiet hours, heartbeat, tubs. TOML, checked whole."""

import os
import re
import stat
import zoneinfo
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from potreeve_tools.link import backup
from potreeve_tools.station import alarms, messages
from potreeve_tools.terminal import files
from potreeve_tools.terminal.faultlist import BadInput, Key, check_table, fault_line

NAME = "station.toml"
LEVELS = {"note": alarms.NOTE, "call": alarms.CALL}
_HOURS = re.compile(r"([01]\d|2[0-3]):([0-5]\d)-([01]\d|2[0-3]):([0-5]\d)")

TOP = (
    Key("zone", "str", 1, 64, "UTC", help='such as "Europe/Berlin"'),
    Key("quiet", "str", 0, 11, "", help='such as "22:00-07:00"; what can wait waits until then'),
    Key("repeat_h", "int", 1, 720, 24, "h", help="an alarm that still matters is told again"),
    Key("heartbeat_url", "str", 0, 2000, "", help="an address that is asked for while all is well here"),
    Key("heartbeat_s", "int", 30, 86400, 300, "s"),
    Key(
        "push_url",
        "str",
        0,
        2000,
        "",
        help="a time-series database that takes line protocol, such as http://127.0.0.1:8428/write",
    ),
    Key("route", "list", default=[], length=(0, 20)),
    Key("rig", "table", default={}),
)
ROUTE = (
    Key("name", "str", 1, 32),
    Key("url", "str", 4, 2000, help="as apprise takes it, such as mailto://... or ntfy://..."),
    Key("level", "choice", default="note", choices=("note", "call")),
    Key("kinds", "list", default=[], item="str", length=(0, 20)),
    Key("rigs", "list", default=[], item="str", length=(0, 1000)),
)
RIG = (Key("tub_ml", "int", 100, 1_000_000, 0, "ml", help="what the tub holds, full"),)


@dataclass
class Route:
    """One way to a person. kinds, rigs: empty for all. The url holds secrets: it is shown nowhere."""

    name: str
    url: str = field(repr=False)
    level: int = alarms.NOTE
    kinds: list = field(default_factory=list)
    rigs: list = field(default_factory=list)

    def takes(self, alarm):
        """True for an alarm (dict with rig, kind, level) that goes this way."""
        return (
            alarm["level"] >= self.level
            and (not self.kinds or alarm["kind"] in self.kinds)
            and (not self.rigs or not alarm["rig"] or alarm["rig"] in self.rigs)
        )


@dataclass
class Config:
    """quiet: ((hour, minute), (hour, minute)) or None; repeat_s; routes; tubs: {rig: ml}."""

    zone: zoneinfo.ZoneInfo
    quiet: tuple | None = None
    repeat_s: int = 86400
    heartbeat_url: str = field(default="", repr=False)
    heartbeat_s: int = 300
    push_url: str = field(default="", repr=False)
    routes: list = field(default_factory=list)
    tubs: dict = field(default_factory=dict)

    def quiet_until(self, wall_s):
        """The wall second at which quiet hours end, or wall_s itself outside of them."""
        if not self.quiet:
            return wall_s
        here = datetime.fromtimestamp(wall_s, self.zone)
        (from_h, from_m), (to_h, to_m) = self.quiet
        minutes, start, end = here.hour * 60 + here.minute, from_h * 60 + from_m, to_h * 60 + to_m
        inside = start <= minutes < end if start <= end else minutes >= start or minutes < end
        if not inside:
            return wall_s
        day = here + timedelta(days=1) if start > end and minutes >= start else here
        return int(day.replace(hour=to_h, minute=to_m, second=0, microsecond=0, fold=0).timestamp())


def folder():
    """Where the station keeps its things, readable by its owner alone."""
    return backup.made_folder(backup.data_folder() / "station")


def load(path=None):
    """The Config in a file; without one, of station.toml in the data folder if it is there. Raises BadInput."""
    if path is None:
        path = folder() / NAME
        if not path.exists():
            return Config(zoneinfo.ZoneInfo("UTC"))
    table, faults = check_table(files.read_toml(path), TOP, str(path))
    zone, quiet = None, None
    if "zone" in table:
        try:
            zone = zoneinfo.ZoneInfo(table["zone"])
        except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
            faults.append(
                fault_line(path, "zone", table["zone"], "no such time zone", 'give one such as "Europe/Berlin"')
            )
    if table.get("quiet"):
        found = _HOURS.fullmatch(table["quiet"])
        if found and found[0][:5] != found[0][6:]:
            hour = [int(part) for part in found.groups()]
            quiet = (tuple(hour[:2]), tuple(hour[2:]))
        else:
            faults.append(fault_line(path, "quiet", table["quiet"], "no span of hours", 'give "22:00-07:00"'))
    routes = _routes(table.get("route", []), path, faults)
    tubs = _tubs(table.get("rig", {}), path, faults)
    for key in ("heartbeat_url", "push_url"):
        if table.get(key) and not table[key].startswith(("http://", "https://")):
            # Its value may hold a secret.
            faults.append(f"{path}: {key}: no web address; give one that begins with https:// or http://")
    if faults:
        raise BadInput(faults)
    _close(path)
    return Config(
        zone,
        quiet,
        table["repeat_h"] * 3600,
        table["heartbeat_url"],
        table["heartbeat_s"],
        table["push_url"],
        routes,
        tubs,
    )


def _routes(found, path, faults):
    routes = []
    for place, one in enumerate(found):
        where = f"{path} [route {place + 1}]"
        # A fault must not show the url.
        shown = {key: value for key, value in one.items() if key != "url"} if isinstance(one, dict) else one
        table, wrong = check_table(shown, [key for key in ROUTE if key.name != "url"], where)
        url = one.get("url") if isinstance(one, dict) else None
        if not isinstance(url, str) or "://" not in url or len(url) > 2000:
            wrong.append(f'{where}: url: no address of a notification; give one such as "ntfy://ntfy.sh/TOPIC"')
        elif not _takes(url):
            wrong.append(f"{where}: url: apprise knows no such kind of address; see its list of services")
        for kind in table.get("kinds", []):
            if kind not in alarms.KINDS:
                wrong.append(fault_line(where, "kinds", kind, "no kind of alarm", "give of " + ", ".join(alarms.KINDS)))
        faults += wrong
        if not wrong:
            routes.append(Route(table["name"], url, LEVELS[table["level"]], table["kinds"], table["rigs"]))
    names = [route.name for route in routes]
    faults += [
        f"{path} [route]: name = {name!r}: twice; give each its own" for name in set(names) if names.count(name) > 1
    ]
    return routes


def _takes(url):
    import apprise

    return apprise.Apprise.instantiate(url, suppress_exceptions=True) is not None


def _tubs(found, path, faults):
    tubs = {}
    for name, one in found.items():
        if messages.rig_name_fault(name):
            faults.append(f"{path} [rig]: {messages.rig_name_fault(name)}")
        table, wrong = check_table(one, RIG, f"{path} [rig.{name}]")
        faults += wrong
        if table.get("tub_ml"):
            tubs[name] = table["tub_ml"]
    return tubs


def _close(path):
    """Addresses of routes hold keys: nobody else reads them."""
    mode = os.stat(path).st_mode
    if os.name != "nt" and mode & (stat.S_IRGRP | stat.S_IROTH):
        os.chmod(path, stat.S_IMODE(mode) & ~0o077)


EXAMPLE = """# The station's file. All keys may be left out.
zone = "Europe/Berlin"
quiet = "22:00-07:00"          # what can wait waits until then
# heartbeat_url = "https://..."  # asked for every five minutes while all is well: it tells you when this station dies

[[route]]
name = "phone"
url = "ntfy://ntfy.sh/A-LONG-SECRET-TOPIC"
level = "call"                 # what needs a person; "note" for all

[rig.sill]
tub_ml = 10000
"""
