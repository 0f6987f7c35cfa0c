"""One checker for every file a person writes: rigs, boards, tables of settings.

All faults are collected; each is one line that names file, key, value and
remedy. Nobody should have to run a command five times to hear of five slips.
"""

import difflib
import json
import math
from dataclasses import dataclass
from typing import Any

from potreeve_tools.terminal.exits import BadInput
from potreeve_tools.terminal.files import read_toml

__all__ = ["REQUIRED", "BadInput", "Key", "check_table", "check_value", "collect", "fault_line", "nearest", "read_toml"]

REQUIRED = object()
"""Default of a key that has no default."""


def collect(*loads):
    """What each of some functions returns, as a list. Raises one BadInput with the faults of all."""
    faults, got = [], []
    for load in loads:
        try:
            got.append(load())
        except BadInput as fault:
            faults += fault.faults
    if faults:
        raise BadInput(faults)
    return got


@dataclass(frozen=True)
class Key:
    """What one key may hold.

    kind: "int", "float" (whole numbers are fine too), "str", "bool", "choice",
    "list" or "table" (a mapping, passed through to be checked on its own).
    low, high: inclusive bounds; of the value for numbers, of the length for
    text and lists, of each item for `items` of kind int or float.
    choices: for "choice". item: kind of a list's items. length: (least, most).
    """

    name: str
    kind: str
    low: float | None = None
    high: float | None = None
    default: Any = REQUIRED
    unit: str = ""
    help: str = ""
    choices: tuple = ()
    item: str = ""
    length: tuple = (0, 10_000)


_KIND_WORDS = {
    "int": "a whole number",
    "float": "a number",
    "str": "text in quotes",
    "bool": "true or false",
    "list": "a list in square brackets",
    "table": "a table",
}


def fault_line(where, key, value, wrong, remedy):
    """Return one fault as text: where (file and table), key, value, what is wrong, remedy."""
    shown = "(missing)" if value is REQUIRED else "= " + _show(value)
    name = str(key) if key and str(key).isprintable() else repr(key)
    name = name if len(name) <= 80 else name[:77] + "..."
    return f"{where}: {name} {shown}: {wrong}; {remedy}"


def _show(value):
    """Return a value as its file spells it, short enough for one line."""
    try:
        text = json.dumps(value, ensure_ascii=False) if isinstance(value, bool | str) else repr(value)
    except (RecursionError, ValueError):
        # Nested beyond the stack, or a number too long to be written out.
        return "(too much to show)"
    if not text.isprintable():
        text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def nearest(word, known):
    """Return a hint ' (did you mean "x"?)' for a misspelt word, or ''."""
    # No key is that long, and comparing takes the square of the length.
    close = difflib.get_close_matches(str(word)[:80], [str(k) for k in known], n=1, cutoff=0.6)
    return f' (did you mean "{close[0]}"?)' if close else ""


def _span(key):
    unit = f" {key.unit}" if key.unit else ""
    if key.low is not None and key.high is not None:
        return f"{key.low:g} to {key.high:g}{unit}"
    if key.low is not None:
        return f"{key.low:g}{unit} or more"
    if key.high is not None:
        return f"{key.high:g}{unit} or less"
    return f"a value{unit}"


def _is_kind(value, kind):
    if kind == "bool":
        return isinstance(value, bool)
    if kind == "int":
        return isinstance(value, int) and not isinstance(value, bool)
    if kind == "float":
        return isinstance(value, int | float) and not isinstance(value, bool)
    if kind in ("str", "choice"):
        return isinstance(value, str)
    if kind == "list":
        return isinstance(value, list)
    return isinstance(value, dict)


def _number_wrong(value, key):
    if isinstance(value, float) and not math.isfinite(value):
        return "not a finite number"
    if key.low is not None and value < key.low:
        return "too small"
    if key.high is not None and value > key.high:
        return "too large"
    return ""


def _check_list(value, key, where):
    least, most = key.length
    if not least <= len(value) <= most:
        wants = f"{least}" if least == most else f"{least} to {most}"
        return [fault_line(where, key.name, value, f"has {len(value)} items", f"give {wants} items")]
    faults = []
    for place, item in enumerate(value):
        name = f"{key.name}[{place}]"
        if key.item and not _is_kind(item, key.item):
            faults.append(fault_line(where, name, item, "wrong type", f"give {_KIND_WORDS[key.item]}"))
        elif key.item in ("int", "float"):
            wrong = _number_wrong(item, key)
            if wrong:
                faults.append(fault_line(where, name, item, wrong, f"give {_span(key)}"))
    return faults


def check_value(value, key, where):
    """Return the list of faults of one value against its Key (empty if it is fine)."""
    if key.kind == "choice":
        if value in key.choices and isinstance(value, str):
            return []
        wrong = "not one of the choices" + nearest(value, key.choices)
        return [fault_line(where, key.name, value, wrong, "give " + " | ".join(f'"{c}"' for c in key.choices))]
    if not _is_kind(value, key.kind):
        remedy = f"give {_KIND_WORDS[key.kind]}"
        if key.kind in ("int", "float"):
            remedy += f", {_span(key)}"
        return [fault_line(where, key.name, value, "wrong type", remedy)]
    if key.kind in ("int", "float"):
        wrong = _number_wrong(value, key)
        return [fault_line(where, key.name, value, wrong, f"give {_span(key)}")] if wrong else []
    if key.kind == "str":
        low, high = key.low or 0, key.high if key.high is not None else 200
        if not low <= len(value) <= high:
            return [fault_line(where, key.name, value, "wrong length", f"give {low:g} to {high:g} characters")]
    if key.kind == "list":
        return _check_list(value, key, where)
    return []


def check_table(data, spec, where):
    """Check one mapping against a table of Keys.

    data: what the file holds for this table. spec: iterable of Key.
    where: text that starts each fault, e.g. 'rigs/bay.toml [tray]'.
    Returns (clean, faults): clean holds every key of spec, defaults filled in;
    faulty or missing required keys are left out of it.
    """
    if not isinstance(data, dict):
        return {}, [f"{where} = {_show(data)}: not a table; write it as a table of keys"]
    known = {key.name: key for key in spec}
    clean, faults = {}, []
    for name, value in data.items():
        if name not in known:
            wrong = "unknown key" + nearest(name, known)
            faults.append(fault_line(where, name, value, wrong, "correct the spelling or remove it"))
            continue
        found = check_value(value, known[name], where)
        faults.extend(found)
        if not found:
            clean[name] = float(value) if known[name].kind == "float" else value
    for key in known.values():
        if key.name in data:
            continue
        if key.default is REQUIRED:
            wants = " | ".join(f'"{c}"' for c in key.choices) or (
                _span(key) if key.kind in ("int", "float") else _KIND_WORDS.get(key.kind, "a value")
            )
            help_text = f" ({key.help})" if key.help else ""
            faults.append(fault_line(where, key.name, REQUIRED, "needed", f"add it: {wants}{help_text}"))
        else:
            # A copy, so that who changes it does not change the default.
            clean[key.name] = key.default.copy() if isinstance(key.default, list | dict) else key.default
    return clean, faults
