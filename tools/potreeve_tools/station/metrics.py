"""/metrics in OpenMetrics, and the same as line protocol: base units, the unit last in the name, no series of a silent
rig's readings."""

import functools
import json
from importlib.resources import files

from potreeve.logic import record

MEDIA_TYPE = "application/openmetrics-text; version=1.0.0; charset=utf-8"

# Field of a record's head -> member of the `report` message, whose schema knows name, unit and scale.
HEAD = {
    "battery_mv": "battery_mv",
    "soc_pm": "charge_pm",
    "days_left": "battery_left_d",
    "temp_cdeg": "temperature_cdeg",
    "rh_pm": "humidity_pm",
    "lx": "light_lx",
    "tray_ml": "tray_most_ml",
    "tub_days": "tub_left_d",
}
NOTHING = {
    "temp_cdeg": record.NO_TEMP,
    "rh_pm": record.NO_RH,
    "lx": record.NO_LX,
    "battery_mv": 0,
    "tub_days": record.NO_TUB_DAYS,
}


@functools.cache
def _schema():
    text = files("potreeve_tools.station").joinpath("schemas/report.json").read_text(encoding="utf-8")
    return json.loads(text)["properties"]


def _named(member, pot=False):
    found = _schema()["pots"]["items"]["properties"][member] if pot else _schema()[member]
    return found["x-openmetrics"], found["x-scale"], found["description"]


def head_values(head):
    """[(metric, value in base units, help)] of a record's head; what is not known is left out."""
    made = []
    for name, member in HEAD.items():
        if head[name] != NOTHING.get(name):
            metric, scale, text = _named(member)
            made.append((metric, scaled(head[name], scale), text))
    return made


def pot_values(pot):
    """[(metric, value, help)] of a pot."""
    metric, scale, text = _named("moisture_pm", pot=True)
    return [(metric, scaled(pot["pm"], scale), text)]


def scaled(value, scale):
    """A whole number in base units, without the dust of floating point."""
    return round(value * scale, 6) if isinstance(scale, float) else value * scale


def _label(text):
    return str(text).replace("\\", "\\\\").replace("\n", "\\n").replace('"', '\\"')


def _labels(**pairs):
    return "{" + ",".join(f'{name}="{_label(value)}"' for name, value in pairs.items()) + "}"


def text(sights, alarms, counts=None):
    """The whole exposition. sights: of all rigs; alarms: open ones; counts: of the Ingest."""
    families = {}

    def add(name, kind, about, labels, value):
        families.setdefault(name, (kind, about, []))[2].append((labels, value))

    for one in sights:
        rig = _labels(rig=one.rig)
        if one.heard_s:
            add("potreeve_rig_heard_timestamp_seconds", "gauge", "when it was last heard", rig, one.heard_s)
        add(
            "potreeve_rig_silent",
            "gauge",
            "1 while its promise to report is broken",
            rig,
            int(one.overdue_s is not None),
        )
        if one.due_s and one.promised_s:
            add(
                "potreeve_rig_due_timestamp_seconds",
                "gauge",
                "the next report is promised until then",
                rig,
                one.promised_s + one.due_s,
            )
        if one.head is None or one.overdue_s is not None:
            # A scrape would repeat the last reading of a silent rig for ever.
            continue
        add("potreeve_rig_records", "counter", "records written since its memory began", rig, one.head["seq"])
        add(
            "potreeve_rig_asks",
            "gauge",
            "how loudly it asks for a person: 0 calm, 1 note, 2 call",
            rig,
            one.head["alarm"],
        )
        add("potreeve_rig_hold_reason", "gauge", "why the whole rig gets no water, 0 it may", rig, one.head["hold"])
        for metric, value, about in head_values(one.head):
            add(metric, "gauge", about, rig, value)
        for name, pot in zip(one.pot_names(len(one.pots)), one.pots, strict=True):
            both = _labels(rig=one.rig, pot=name)
            for metric, value, about in pot_values(pot):
                add(metric, "gauge", about, both, value)
            add("potreeve_pot_rung", "gauge", "0 tended, 1 rationed, 2 held", both, pot["ladder"])
            add("potreeve_pot_reason", "gauge", "why, a number of logic/reasons.py", both, pot["reason"])
    for one in alarms:
        labels = _labels(rig=one["rig"], pot=one["pot"], kind=one["kind"])
        add("potreeve_alarm_raised_timestamp_seconds", "gauge", "an alarm that is not over", labels, one["raised_s"])
    for name, value in (counts or {}).items():
        add(f"potreeve_station_{name}", "counter", f"{name} since the station began", "", value)
    lines = []
    for name, (kind, about, samples) in families.items():
        lines.append(f"# TYPE {name} {kind}")
        unit = next(
            (unit for unit in ("seconds", "ratio", "volts", "celsius", "lux", "liters") if name.endswith("_" + unit)),
            "",
        )
        if unit:
            lines.append(f"# UNIT {name} {unit}")
        lines.append(f"# HELP {name} {_label(about)}")
        tail = "_total" if kind == "counter" else ""
        lines += [
            f"{name}{tail}{labels} {value:g}" if abs(value) < 1e5 else f"{name}{tail}{labels} {value}"
            for labels, value in samples
        ]
    return "\n".join([*lines, "# EOF", ""])
