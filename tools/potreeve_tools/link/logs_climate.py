"""The room's own climate from pulled logs: hourly means as a weather file for a rig, see world/weatherfile.py."""

from datetime import UTC, datetime
from statistics import fmean

from potreeve.logic import record

from potreeve_tools.link import logs_read
from potreeve_tools.terminal import exits

HOUR_S = 3600
# What a board notes of the air, the value that means "no reading", and what makes the column's unit of it.
TAKEN = (
    ("temp_c", "temp_cdeg", record.NO_TEMP, 100.0, 2),
    ("rh_pct", "rh_pm", record.NO_RH, 10.0, 1),
    ("light_lx", "lx", record.NO_LX, 1.0, 0),
)


def hours(rows):
    """{Unix seconds of an hour's beginning: (temp_c, rh_pct, light_lx)}: the mean of its wakes, where all three are
    known. A wake whose wall time can only be reckoned counts at that."""
    rows, found = list(rows), {}
    for row, reckoned_s in zip(rows, logs_read.reckoned(rows), strict=True):
        when_s = row.head["utc_s"] or reckoned_s
        if not when_s:
            continue
        hour = found.setdefault(when_s // HOUR_S * HOUR_S, {name: [] for name, *_ in TAKEN})
        for name, key, nothing, parts, _ in TAKEN:
            if row.head[key] != nothing:
                hour[name].append(row.head[key] / parts)
    return {
        when_s: tuple(round(fmean(hour[name]), digits) for name, *_, digits in TAKEN)
        for when_s, hour in sorted(found.items())
        if all(hour.values())
    }


def to_csv(rows):
    """(bytes of the weather file, hours in it, hours missing between its ends). Raises Stop where a log has none."""
    found = hours(rows)
    if not found:
        raise exits.Stop(
            exits.FAILED,
            [
                "no hour of this log has a wall time, temperature, humidity and light.",
                "A board needs a climate and a light sensor, and its clock set (any command with --port does that).",
            ],
        )
    lines = [
        "# A room's own climate: hourly means of what a board's sensors told at its wakes.",
        "time," + ",".join(name for name, *_ in TAKEN),
    ]
    for when_s, values in found.items():
        when = datetime.fromtimestamp(when_s, UTC).strftime("%Y-%m-%dT%H:%MZ")
        cells = (f"{value:.{digits}f}" for value, (*_, digits) in zip(values, TAKEN, strict=True))
        lines.append(f"{when},{','.join(cells)}")
    missing = (max(found) - min(found)) // HOUR_S + 1 - len(found)
    return ("\n".join(lines) + "\n").encode("utf-8"), len(found), missing
