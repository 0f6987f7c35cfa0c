"""Which settings a board runs, from the bytes it holds: by the firmware's own code, on JSON as the board reads it."""

import json

from potreeve import keep
from potreeve.logic.state import CHANNELS

from potreeve_tools.link import boardjson
from potreeve_tools.settings import judge


class _Store:
    """hal's store over files that were read from a board; nothing is written to it."""

    def __init__(self, files):
        self.files = files

    def read(self, name):
        data = self.files.get(name)
        if not data or 0 in data:
            return data
        try:
            return _strict(data)
        except (ValueError, RecursionError):
            return data[:1] + b"no JSON"

    def replace(self, name, data):
        pass


def _strict(data):
    """The same content in JSON that every reader takes alike; a byte order mark stays, for the firmware to refuse."""
    mark = data[:3] if data[:3] == b"\xef\xbb\xbf" else b""
    return mark + json.dumps(boardjson.loads(data[len(mark) :])).encode("ascii")


def in_force(files, pumps=0):
    """(checked settings or None, True where they are only the last good ones).

    files: {name: bytes or None} of the board's data folder; pumps: how many it has, 0 unknown.
    """
    settings, errors = keep.load_settings(_Store(files), pumps or CHANNELS)
    return settings, bool(errors and settings)


def checked(data, pumps=0):
    """(checked settings, None) from one file's bytes, or (None, why not in one line)."""
    settings, old = in_force({keep.SETTINGS: data}, pumps)
    return (settings, None) if settings and not old else (None, _why_not(data, pumps))


def _why_not(data, pumps):
    if 0 in data or data[:1] == b"\xef":
        return "not plain UTF-8 text"
    try:
        clean, faults = judge.check(boardjson.loads(data))
    except (ValueError, RecursionError):
        return "not JSON"
    if faults:
        return faults[0] + (f" (and {len(faults) - 1} more)" if len(faults) > 1 else "")
    return f"{len(clean['channels'])} channels, but the board has {pumps} pumps"
