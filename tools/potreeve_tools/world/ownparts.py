"""What a rig file may bring of its owner's: weather by a CSV file, plants by small TOML files; see weatherfile.py and
plantfile.py. Their names in it are paths, beside the rig file where they are not whole."""

import datetime
import pathlib

from potreeve_tools.terminal.faultlist import BadInput, Key, check_table, fault_line
from potreeve_tools.world import ownclimate, plantfile, weatherfile

_UNSAID = -999.0
SITE = (
    Key("weather", "str", 0, 400, default="", help="a CSV file of your own, instead of data"),
    Key("utc_offset_h", "float", -12, 14, default=0.0, unit="h", help="standard time of the place, for that file"),
    Key("latitude_deg", "float", -90, 90, default=_UNSAID, unit="degrees", help="for weather measured outdoors"),
    Key("longitude_deg", "float", -180, 180, default=_UNSAID, unit="degrees", help="east is positive"),
)


def placed(data, path):
    """A rig file's mapping, the files that it names found from where one stands; it is only read."""
    site, pots = data.get("site"), data.get("pot")
    if isinstance(site, dict) and isinstance(site.get("weather"), str) and site["weather"]:
        data = {**data, "site": {**site, "weather": str(plantfile.beside(path, site["weather"]))}}
    if isinstance(pots, list):
        data = {**data, "pot": [_placed_pot(pot, path) for pot in pots]}
    return data


def _placed_pot(pot, path):
    if isinstance(pot, dict) and isinstance(pot.get("plant"), str) and plantfile.is_file(pot["plant"]):
        return {**pot, "plant": str(plantfile.beside(path, pot["plant"]))}
    return pot


def checked_pot(entry, spec, where):
    """(table, faults) of one [[pot]]: as check_table, and `own` is the plant of a file, or None."""
    own, faults = None, []
    named = entry.get("plant") if isinstance(entry, dict) else None
    if isinstance(named, str) and plantfile.is_file(named):
        spec = tuple(Key("plant", "str") if key.name == "plant" else key for key in spec)
        try:
            own = plantfile.load(named)
        except BadInput as fault:
            faults = [f"{where}: plant: {line}" for line in fault.faults]
    pot, found = check_table(entry, spec, where)
    if own is not None:
        pot |= {"own": own, "plant": own.name}
    elif pot.get("stage", "mid") != "mid" and not faults:
        found.append(
            fault_line(
                where,
                "stage",
                pot["stage"],
                "only the mid-season of this plant is known",
                "leave it out, or name a plant file of your own",
            )
        )
    return {"own": None, **pot}, faults + found


def weather_of(tables, data, where):
    """(Series or None, faults) of checked tables; a rig that names no first day begins with the file's."""
    site = tables.get("site", {})
    if not site.get("weather"):
        return None, []
    where, faults = f"{where} [site]", []
    try:
        series = weatherfile.load(site["weather"])
        first, _ = ownclimate.days(series, site.get("utc_offset_h", 0.0))
    except BadInput as fault:
        return None, [f"{where}: weather: {line}" for line in fault.faults]
    if not series.indoors:
        faults = [
            fault_line(
                where, key, site[key], "needed for weather measured outdoors", "give it, north and east positive"
            )
            for key in ("latitude_deg", "longitude_deg")
            if site.get(key) == _UNSAID
        ]
    if "start" not in data.get("rig", {}) and "rig" in tables:
        tables["rig"]["start"] = first.isoformat()
    return series, faults


def start_faults(rig):
    """A first day that the weather of one's own does not have."""
    if rig.weather is None:
        return []
    first, last = ownclimate.days(rig.weather, rig.site["utc_offset_h"])
    if first <= datetime.date.fromisoformat(rig.rig["start"]) <= last:
        return []
    return [
        fault_line(
            f"{rig.where} [rig]",
            "start",
            rig.rig["start"],
            f"not in {rig.weather.where}, whose whole days are {first} to {last}",
            "give a day within it, or leave it out",
        )
    ]


def told(rig, days):
    """What a run of so many days takes from its owner's files, for its result; {} where it takes nothing.

    "weather": {"file", "measured", "first_day", "last_day", "filled_hours", "notes"}; "plants": [{"pot", "file",
    "stage", "p", "kc"}].
    """
    found = {}
    if rig.weather is not None:
        first, last = ownclimate.days(rig.weather, rig.site["utc_offset_h"])
        notes = list(rig.weather.notes)
        end = datetime.date.fromisoformat(rig.rig["start"]) + datetime.timedelta(days=days)
        if end > last + datetime.timedelta(days=1):
            notes.append(f"It ends on {last}; then its {(last - first).days + 1} days begin again.")
        found["weather"] = {
            "file": pathlib.PurePath(rig.weather.where).name,
            "measured": "at the plants" if rig.weather.indoors else "outdoors",
            "first_day": first.isoformat(),
            "last_day": last.isoformat(),
            "filled_hours": rig.weather.filled,
            "notes": notes,
        }
    plants = [
        {
            "pot": pot["name"],
            "file": pathlib.PurePath(pot["own"].where).name,
            "stage": pot["stage"],
            "p": pot["own"].depletion,
            "kc": pot["own"].facts[f"kc_{pot['stage']}"],
        }
        for pot in rig.pots
        if pot.get("own")
    ]
    return {**found, "plants": plants} if plants else found


def sentences(own):
    """The same in words. own: of told."""
    lines = []
    if "weather" in own:
        sky = own["weather"]
        lines.append(
            " ".join(
                [f"Weather: {sky['file']}, measured {sky['measured']}, {sky['first_day']} to {sky['last_day']}."]
                + sky["notes"]
            )
        )
    lines += [
        f"{one['pot']}: a plant of {one['file']}, p {one['p']:g}, Kc {one['kc']:g} ({one['stage']})."
        for one in own.get("plants", ())
    ]
    return lines
