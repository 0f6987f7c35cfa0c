"""One key of the settings by name: `wake_s`, `mint.day_ml`, `channels[0].day_ml`, `radio.send_s`, `tub.full_ml`.

A channel is named by its pot's name, or by its place as faults write it.
"""

import re
import tomllib

from potreeve.logic import extra_keys, radio_keys
from potreeve.logic import settings as logic

from potreeve_tools.terminal.faultlist import BadInput, nearest

_PLACED = re.compile(r"(?:channels)?\[?(\d+)\]?\Z")

TABLES = {"radio": radio_keys.KEYS, **extra_keys.TABLES}
"""Tables beside the rig's own keys, where settings have them."""
RIG_NAMES = tuple(row[0] for row in logic.RIG_KEYS)
CHANNEL_NAMES = tuple(row[0] for row in logic.CHANNEL_KEYS)


def find(settings, key):
    """(channel index, a name of TABLES or None, bare key, row of the schema). Raises BadInput with the nearest keys."""
    place, _, bare = key.rpartition(".")
    if place in TABLES and place not in [channel["name"] for channel in settings["channels"]]:
        rows = {row[0]: row for row in TABLES[place]}
        if bare not in rows:
            raise BadInput([f"{key}: no such key of the {place}{nearest(bare, rows)}; README lists them all"])
        return place, bare, rows[bare]
    if not place:
        rows = {row[0]: row for row in logic.RIG_KEYS}
        if bare in rows:
            return None, bare, rows[bare]
        if bare in CHANNEL_NAMES:
            first = settings["channels"][0]["name"]
            raise BadInput([f"{key}: a key of one pot; name the pot too, e.g. {first}.{bare}"])
        raise BadInput([f"{key}: no such key{nearest(bare, RIG_NAMES)}; `potreeve settings show` lists them all"])
    index = channel_index(settings, place, key)
    rows = {row[0]: row for row in logic.CHANNEL_KEYS}
    if bare not in rows:
        raise BadInput(
            [f"{key}: no such key of a pot{nearest(bare, CHANNEL_NAMES)}; `potreeve settings show` lists them all"]
        )
    return index, bare, rows[bare]


def channel_index(settings, place, shown=None):
    """Index of a channel given by its pot's name or its place. Raises BadInput."""
    names = [channel["name"] for channel in settings["channels"]]
    if names.count(place) == 1:
        return names.index(place)
    numbered = _PLACED.match(place)
    if numbered and int(numbered[1]) < len(names):
        return int(numbered[1])
    if names.count(place) > 1:
        raise BadInput(
            [
                f"{shown or place}: {names.count(place)} pots are called {place}; "
                f"give its place instead, channels[0] to channels[{len(names) - 1}]"
            ]
        )
    known = ", ".join(f"{name} (channels[{index}])" for index, name in enumerate(names))
    raise BadInput([f"{shown or place}: no pot is called {place}{nearest(place, names)}; there are {known}"])


def get(settings, key):
    """(value, row of the schema) of a key."""
    index, bare, row = find(settings, key)
    return _table(settings, index).get(bare), row


def _table(settings, index):
    """The table that find() means."""
    if index in TABLES:
        return settings.get(index) or {}
    return settings if index is None else settings["channels"][index]


def with_value(settings, key, text):
    """A copy of settings, unchecked, in which `key` has the value written as `text`."""
    index, bare, row = find(settings, key)
    value = parse(text, row)
    changed = {**settings, "channels": [dict(channel) for channel in settings["channels"]]}
    if index in TABLES:
        changed[index] = dict(_table(settings, index))
    _table(changed, index)[bare] = value
    return changed


def parse(text, row):
    """The value a person typed: TOML, or bare words where text is wanted."""
    if row[1] in (logic.TEXT, logic.CHOICE, logic.SECRET) and text[:1] not in ("'", '"'):
        return text
    try:
        table = tomllib.loads(f"v = {text}\n")
    except (ValueError, RecursionError):
        return text
    return table["v"] if list(table) == ["v"] else text
