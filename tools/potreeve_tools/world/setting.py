"""From a rig's tables to the climate at its window and the moment it starts."""

import dataclasses
import datetime

from potreeve_tools.world.ownclimate import OwnClimate
from potreeve_tools.world.sill import Room, SillClimate, Site, Window


def start_day(rig, start=None):
    """Return the start: a date (local midnight) or an aware datetime.

    start: None (as the rig says), "YYYY-MM-DD", a date, or an aware datetime.
    """
    start = rig.rig["start"] if start is None else start
    if isinstance(start, datetime.datetime) and start.tzinfo is None:
        return start.date()
    if isinstance(start, datetime.date):
        return start
    return datetime.date.fromisoformat(start)


def _of(kind, table):
    names = {f.name for f in dataclasses.fields(kind)}
    return kind(**{key: value for key, value in table.items() if key in names})


def make_climate(rig, start=None):
    """Return the SillClimate of a rig; its time 0 is the start."""
    day = start_day(rig, start)
    if rig.weather is not None:
        return OwnClimate(rig.weather, rig.site, _of(Window, rig.window), _of(Room, rig.room), day)
    when = day if isinstance(day, datetime.datetime) else (day.month, day.day)
    return SillClimate(_of(Site, rig.site), _of(Window, rig.window), when, _of(Room, rig.room))


def start_utc_s(rig, start, climate):
    """Return the start as Unix seconds; a bare date means midnight in the site's standard time."""
    day = start_day(rig, start)
    if isinstance(day, datetime.datetime):
        return int(day.timestamp())
    midnight = datetime.datetime.combine(day, datetime.time(), datetime.UTC)
    return int(midnight.timestamp() - getattr(climate, "utc_offset_h", 0.0) * 3600)
