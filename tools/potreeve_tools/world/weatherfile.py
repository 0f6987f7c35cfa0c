"""Weather of one's own: a CSV file, a row an hour. Every fault is told with its line.

Which columns it has says where it was measured; the first line names them, in any order:

    time, temp_c, rh_pct, light_lx [, solar_wm2]                        at the plants: indoors, on the sill
    time, temp_c, rh_pct, global_wm2, beam_wm2, diffuse_wm2 [, cloud_tenths]   outdoors; window and room are reckoned

time: ISO 8601 with Z or an offset ("2026-06-01T05:00Z"), the BEGINNING of the hour that the row is the mean of; an
offset, because at a change of clocks one hour comes twice and one not at all. temp_c: -60 to 60 degC; rh_pct: 0 to 100;
light_lx: lux at the plants; solar_wm2: short-wave there (else light / 109 lm/W, see weather.py); global, diffuse: on
level ground; beam: square to the sun. A line that begins with # is a remark. An empty cell is a missing hour.

Missing hours are filled, and that is told: up to 3 by a straight line, up to 48 by the mean of the same hour of the
nearest days; more are a fault, as are hours that come twice. From the first midnight (standard time of the place) to
the last the file is a ring of whole days: a run that is longer begins it again.
"""

import csv
import math
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from potreeve_tools.terminal import files
from potreeve_tools.terminal.faultlist import BadInput, nearest

LARGEST_BYTES = 8 * 1024 * 1024
ROWS_MOST = 10 * 366 * 24
LINE_MOST = 400
FAULTS_MOST = 20
HOUR_S = 3600
LINE_GAP_H, DAY_GAP_H = 3, 48
FILLED_MOST = 0.25
NEAR_DAYS = 3
SILL = ("temp_c", "rh_pct", "light_lx")
OUTDOORS = ("temp_c", "rh_pct", "global_wm2", "beam_wm2", "diffuse_wm2")
RANGES = {
    "temp_c": (-60.0, 60.0),
    "rh_pct": (0.0, 100.0),
    "light_lx": (0.0, 150_000.0),
    "solar_wm2": (0.0, 1_400.0),
    "global_wm2": (0.0, 1_600.0),
    "beam_wm2": (0.0, 1_400.0),
    "diffuse_wm2": (0.0, 1_200.0),
    "cloud_tenths": (0.0, 10.0),
}


class Series(NamedTuple):
    """Hours without a gap. first_s: Unix seconds at which the first begins; columns: {name: list}; filled: hours that
    were missing; notes: sentences about that."""

    where: str
    first_s: int
    columns: dict
    filled: int
    notes: tuple

    @property
    def hours(self):
        return len(self.columns["temp_c"])

    @property
    def indoors(self):
        """Whether it was measured at the plants."""
        return "light_lx" in self.columns


def load(path):
    """The Series of a file. Raises BadInput with one line per fault, the first FAULTS_MOST of them."""
    path = Path(path)
    try:
        mark = path.stat()
        key = (mark.st_mtime_ns, mark.st_size)
    except (OSError, ValueError):
        key = None
    return _load(str(path), key)


@lru_cache(maxsize=8)
def _load(path, _):
    return parse(files.read_text(path, LARGEST_BYTES), path)


def parse(text, where):
    """The Series of a file's text. Raises BadInput."""
    faults = _Faults(where)
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip() and line[0] != "#"]
    if not lines:
        raise BadInput([f"{where}: no rows; the first line names the columns, e.g. time,{','.join(SILL)}"])
    if len(lines) > ROWS_MOST + 1:
        raise BadInput([f"{where}: {len(lines) - 1:,} rows; give {ROWS_MOST:,} hours (ten years) at most"])
    number, head = lines[0]
    divider = next((one for one in (";", "\t") if one in head), ",")
    names = [name.strip().lower() for name in _cells(head, divider)]
    _check_head(names, number, faults)
    faults.stop()
    rows = _rows(lines[1:], names, divider, faults)
    faults.stop()
    if not rows:
        raise BadInput([f"{where}: no row has all its values; give at least 24 hours"])
    return _whole(where, rows, [name for name in names if name != "time"])


class _Faults:
    """The first faults of a file, and how many more."""

    def __init__(self, where):
        self.where, self.lines, self.more = where, [], 0

    def add(self, number, what, remedy):
        if len(self.lines) < FAULTS_MOST:
            self.lines.append(files.one_line(f"{self.where} line {number}: {what}; {remedy}"))
        else:
            self.more += 1

    def stop(self):
        """Raise BadInput if there are any."""
        if self.lines:
            more = [f"{self.where}: and {self.more:,} faults more; correct these first"] if self.more else []
            raise BadInput(self.lines + more)


def _cells(line, divider):
    """A line's cells; one that no CSV can be is one cell."""
    try:
        return next(csv.reader([line[: LINE_MOST + 1]], delimiter=divider, strict=True))
    except (csv.Error, StopIteration):
        return [line]


def _short(word):
    word = files.one_line(word)
    return f'"{word[:37]}..."' if len(word) > 40 else f'"{word}"'


def _check_head(names, number, faults):
    known = ("time", *RANGES)
    for name in names:
        if name not in known:
            faults.add(number, f"{_short(name)} is no column{nearest(name, known)}", f"columns are {', '.join(known)}")
        elif names.count(name) > 1:
            faults.add(number, f"the column {name} comes twice", "leave one out")
    if "time" not in names:
        faults.add(number, "no column time", "add it: when the hour begins, e.g. 2026-06-01T05:00Z")
    indoors = "light_lx" in names
    if indoors and any(name in names for name in OUTDOORS[2:]):
        faults.add(number, "light at the plants and the sun outdoors in one file", "give light_lx or the three of _wm2")
    elif not indoors and "solar_wm2" in names:
        faults.add(number, "solar_wm2 without light_lx", "add light_lx: both are measured at the plants")
    missing = [name for name in (SILL if indoors else OUTDOORS) if name not in names]
    if missing:
        other = "" if indoors else "; at the plants they are " + ", ".join(SILL)
        faults.add(number, f"columns missing: {', '.join(missing)}{other}", "add them")


def _rows(lines, names, divider, faults):
    """[(hour's Unix seconds, {name: value})] in order, without rows that lack a value."""
    rows, last_s, last_number, phase = [], None, 0, None
    for number, line in lines:
        if len(line) > LINE_MOST:
            faults.add(
                number, f"{len(line):,} characters", "such a row is far shorter; look at the file's ends of line"
            )
            continue
        cells = _cells(line, divider)
        if len(cells) != len(names):
            faults.add(
                number, f"{len(cells)} cells, but {len(names)} columns", "give one for each; leave unknown ones empty"
            )
            continue
        row = dict(zip(names, (cell.strip() for cell in cells), strict=True))
        when_s = _time(row.pop("time"), number, faults)
        values = _values(row, number, faults)
        if when_s is None:
            continue
        phase = when_s % HOUR_S if phase is None else phase
        if last_s is not None and when_s == last_s:
            faults.add(
                number, f"the same hour as line {last_number}", "each hour once; at a change of clocks give offsets"
            )
        elif last_s is not None and when_s < last_s:
            faults.add(number, f"earlier than line {last_number}", "sort the rows by time")
        elif when_s % HOUR_S != phase:
            faults.add(number, "not whole hours after the first row", "give a row an hour, the mean of it")
        last_s, last_number = when_s, number
        if values is not None:
            rows.append((when_s, values, number))
    return rows


def _time(word, number, faults):
    """Unix seconds of an ISO 8601 time with an offset, or None."""
    try:
        when = datetime.fromisoformat(word)
        if when.tzinfo is None:
            faults.add(
                number,
                f"time = {_short(word)}: without an offset, so an hour at a change of clocks could be either",
                "write ...Z or ...+02:00",
            )
            return None
        seconds = (when - datetime(1970, 1, 1, tzinfo=UTC)) / timedelta(seconds=1)
        if 0 <= seconds < 4_102_444_800 and seconds == int(seconds):
            return int(seconds)
        wrong = "not between 1970 and 2100, in whole seconds"
    except (ValueError, OverflowError):
        wrong = "no time"
    faults.add(number, f"time = {_short(word)}: {wrong}", "write it as 2026-06-01T05:00Z")
    return None


def _values(row, number, faults):
    """{name: value}, or None where a cell is empty or wrong."""
    found = {}
    for name, word in row.items():
        if not word:
            continue
        try:
            value = float(word) if word.isascii() and "_" not in word else math.nan
        except ValueError:
            value = math.nan
        low, high = RANGES[name]
        if not math.isfinite(value):
            comma = word.replace(",", ".", 1) if "," in word else ""
            faults.add(number, f"{name} = {_short(word)}: no number", f"write {comma}" if comma else "give a number")
        elif not low <= value <= high:
            faults.add(number, f"{name} = {_short(word)}: out of range", f"give {low:g} to {high:g}")
        else:
            found[name] = value
    return found if len(found) == len(row) else None


def _whole(where, rows, names):
    """The Series, its gaps filled. Raises BadInput where too much is missing."""
    first_s = rows[0][0]
    count = (rows[-1][0] - first_s) // HOUR_S + 1
    lines = {(when_s - first_s) // HOUR_S: number for when_s, _, number in rows}
    known = {(when_s - first_s) // HOUR_S: values for when_s, values, _ in rows}
    faults, places, gaps = _Faults(where), sorted(known), []
    for before, after in zip(places, places[1:], strict=False):
        missing = after - before - 1
        if missing > DAY_GAP_H:
            at = datetime.fromtimestamp(first_s + (before + 1) * HOUR_S, UTC)
            faults.add(
                lines[after],
                f"{missing} hours are missing before it, from {at:%Y-%m-%dT%H:%MZ}",
                f"at most {DAY_GAP_H} in a row can be filled: cut the file there",
            )
        elif missing:
            gaps.append((before, after))
    faults.stop()
    filled = count - len(known)
    if filled > FILLED_MOST * count:
        raise BadInput(
            [f"{where}: {filled} of {count} hours are missing; too little to go by, give {1 - FILLED_MOST:.0%} of them"]
        )
    columns = {name: _filled(name, known, count, gaps) for name in names}
    notes = ()
    if filled:
        worst = max(after - before - 1 for before, after in gaps)
        notes = (
            f"{filled} of {count} hours were missing and are filled, the longest gap {worst} h, "
            f"the first before line {lines[gaps[0][1]]}.",
        )
    return Series(where, first_s, columns, filled, notes)


def _filled(name, known, count, gaps):
    column = [known[place][name] if place in known else None for place in range(count)]
    for before, after in gaps:
        low, high = known[before][name], known[after][name]
        for place in range(before + 1, after):
            likely = _same_hour(name, known, place) if after - before - 1 > LINE_GAP_H else []
            share = (place - before) / (after - before)
            column[place] = sum(likely) / len(likely) if likely else low + (high - low) * share
    return column


def _same_hour(name, known, place):
    """What the same hour of the nearest day on either side had."""
    found = []
    for step in (-24, 24):
        near = next((place + step * day for day in range(1, NEAR_DAYS + 1) if place + step * day in known), None)
        if near is not None:
            found.append(known[near][name])
    return found
