"""Settings files on the desktop: TOML as a person writes it, JSON as the board has it.

    name = "reading room"        # keys of the rig on top
    tray_headroom_ml = 960
    [[channels]]                 # then one table per channel, in their order
    name = "mint"

Whether the settings are any good is decided by potreeve.logic.settings alone,
here as on the board.
"""

import json
from pathlib import Path

from potreeve_tools.settings import judge, settings_secret
from potreeve_tools.terminal import files
from potreeve_tools.terminal.faultlist import BadInput, nearest

SIMULATED = "simulated"
"""A mark in a file that no board is sent: its curves and pump figures were made up for a simulated rig."""


def load(path):
    """Return the checked settings of a file, every key set. Raises BadInput, one line per fault."""
    data, faults = read(path), []
    if isinstance(data, dict) and "pot" in data and "channels" not in data:
        raise BadInput(
            [
                f"{path}: this is the file of a simulated rig ([[pot]], [tray], ...), not settings; give it as "
                "--rig to rehearse, "
                "and make settings with: potreeve settings new FILE.toml"
            ]
        )
    if isinstance(data, dict):
        faults = _mark_fault(data.pop(SIMULATED, False), path)
    try:
        checked = check(data, str(path))
    except BadInput as fault:
        raise BadInput([*faults, *fault.faults]) from None
    if faults:
        raise BadInput(faults)
    return checked


def is_simulated(path):
    """True where a file says that its calibration was made up for a simulated rig."""
    data = read(path)
    return isinstance(data, dict) and data.get(SIMULATED) is True


def _mark_fault(value, path):
    shown = files.one_line(f"{path}: {SIMULATED} = {json.dumps(value, default=str)}: write true or false")
    return [] if isinstance(value, bool) else [shown]


def check(data, where):
    """Return checked settings from a mapping; `where` names it in faults. Raises BadInput."""
    faults = files.unshowable(data)
    if not faults:
        clean, faults = judge.check(data)
        if not faults:
            return clean
    raise BadInput([files.one_line(f"{where}: {_with_hint(fault)}") for fault in faults])


def read(path):
    """Return a settings file as the mapping it holds, unchecked. Raises BadInput, one line per fault."""
    path = Path(path)
    text = files.read_text(path)
    if path.suffix.lower() == ".json" or text.lstrip()[:1] == "{":
        return files.parse(text, str(path), _read_json, "JSON")
    return files.parse_toml(text, str(path))


def _read_json(text):
    return json.loads(text, object_pairs_hook=_once_each)


def _once_each(pairs):
    table = dict(pairs)
    if len(table) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"{json.dumps(twice)} is given twice")
    return table


def _with_hint(fault):
    """Put the nearest known key in place of the list of all; say how a curve is turned the right way round."""
    if fault.endswith(judge.ORDERED):
        return f"{fault}; a curve goes from dry to wet, e.g. [[52000, 0], [22000, 1000]]"
    head, found, tail = fault.partition(": no such key; known keys: ")
    if not found:
        return fault
    key = head.split(" = ")[0]
    word = key.rpartition(".")[2]
    if settings_secret.near_secret(word):
        head = f"{key} = {settings_secret.HIDDEN}"
    hint = nearest(word, tail.split(", "))
    return f"{head}: no such key{hint}; correct the spelling or remove it" if hint else fault


def to_toml(settings, simulated=False):
    """Return checked settings as commented TOML that `load` reads back the same; simulated: whether to mark it as
    made up."""
    from potreeve_tools.settings import settings_toml

    return settings_toml.to_toml(settings, simulated=simulated)


def to_json(settings):
    """Return checked settings as the bytes of the board's settings file."""
    return json.dumps(settings, separators=(",", ":"), ensure_ascii=False).encode("utf-8")
