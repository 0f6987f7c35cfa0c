"""Settings files on the desktop: TOML as a person writes it, JSON as the board has it.

    name = "reading room"        # keys of the rig on top
    tray_headroom_ml = 960
    [[channels]]                 # then one table per channel, in their order
    name = "mint"

Whether the settings are any good is decided by potreeve.logic.settings alone,
here as on the board.
"""

import json
import tomllib
from pathlib import Path

from potreeve_tools.settings import judge, settings_secret
from potreeve_tools.terminal.faultlist import BadInput, nearest

LARGEST_BYTES = 256 * 1024
DEEPEST = 8
LARGEST_INT = 1 << 63


def load(path):
    """Return the checked settings of a file, every key set. Raises BadInput, one line per fault."""
    return check(read(path), str(path))


def check(data, where):
    """Return checked settings from a mapping; `where` names it in faults. Raises BadInput."""
    faults = _unshowable(data, "", 0)
    if not faults:
        clean, faults = judge.check(data)
        if not faults:
            return clean
    raise BadInput([_one_line(f"{where}: {_with_hint(fault)}") for fault in faults])


def read(path):
    """Return a settings file as the mapping it holds, unchecked. Raises BadInput with one line."""
    path = Path(path)
    text = _text(path)
    reader = _read_json if path.suffix.lower() == ".json" or text.lstrip()[:1] == "{" else _read_toml
    try:
        return reader(text)
    except RecursionError:
        wrong = "tables or lists nested too deep; settings are keys and one table per channel"
    except ValueError as fault:
        kind = "JSON" if reader is _read_json else "TOML"
        wrong = f"not valid {kind}: {fault}; correct it there"
    raise BadInput([_one_line(f"{path}: {wrong}")])


def _text(path):
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise BadInput(
                [
                    f"{path}: {path.stat().st_size} bytes, no settings file is larger than {LARGEST_BYTES}; "
                    "give another file"
                ]
            )
        return path.read_bytes().decode("utf-8-sig")
    except OSError as fault:
        raise BadInput(
            [f"{path}: can't be read: {fault.strerror or fault}; check the path and its permissions"]
        ) from None
    except UnicodeDecodeError as fault:
        raise BadInput([f"{path}: not UTF-8 text (byte {fault.start}); save it as UTF-8"]) from None
    except ValueError as fault:
        raise BadInput([_one_line(f"{path!s}: can't be read: {fault}; check the path")]) from None


def _read_toml(text):
    return tomllib.loads(text)


def _read_json(text):
    return json.loads(text, object_pairs_hook=_once_each)


def _once_each(pairs):
    table = dict(pairs)
    if len(table) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"{json.dumps(twice)} is given twice")
    return table


def _unshowable(value, where, depth):
    """Faults of values the checker could not even print."""
    if depth > DEEPEST:
        return [f"{where}: nested too deep; settings are keys and one table per channel"]
    if isinstance(value, int) and abs(value) >= LARGEST_INT:
        return [f"{where}: a number of {value.bit_length()} bits; give one within the key's range"]
    if isinstance(value, str) and not _is_text(value):
        return [f"{where}: half a character; write the text anew"]
    if isinstance(value, dict):
        items = ((f"{where}.{name}" if where else str(name), part) for name, part in value.items())
    elif isinstance(value, list):
        items = ((f"{where}[{place}]", part) for place, part in enumerate(value))
    else:
        return []
    return [fault for name, part in items for fault in _unshowable(part, name, depth + 1)]


def _is_text(value):
    """False for what JSON's escapes can make and no file can hold: half of a character pair."""
    return not any("\ud800" <= c <= "\udfff" for c in value)


def _with_hint(fault):
    """Put the nearest known key in place of the list of all."""
    head, found, tail = fault.partition(": no such key; known keys: ")
    if not found:
        return fault
    key = head.split(" = ")[0]
    word = key.rpartition(".")[2]
    if settings_secret.near_secret(word):
        head = f"{key} = {settings_secret.HIDDEN}"
    hint = nearest(word, tail.split(", "))
    return f"{head}: no such key{hint}; correct the spelling or remove it" if hint else fault


def _one_line(text):
    return "".join(c if c.isprintable() else " " for c in text)


def to_toml(settings):
    """Return checked settings as commented TOML that `load` reads back the same."""
    from potreeve_tools.settings import settings_toml

    return settings_toml.to_toml(settings)


def to_json(settings):
    """Return checked settings as the bytes of the board's settings file."""
    return json.dumps(settings, separators=(",", ":"), ensure_ascii=False).encode("utf-8")
