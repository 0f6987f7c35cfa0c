"""Settings as a person edits them: TOML in the schema's order, each key explained.

Keys, units, ranges and defaults come from potreeve.logic.settings, what they mean
from potreeve.logic.settings_help; nothing is typed in here twice.
"""

import json
import textwrap

from potreeve.logic import extra_keys, radio_keys
from potreeve.logic import settings as logic
from potreeve.logic.settings_help import CHANNEL_HELP, EXTRA_HELP, RADIO_HELP, RIG_HELP

from potreeve_tools.settings import settings_secret

WIDE = 100

TOP = (
    "Settings of a Potreeve rig, written from the schema of its firmware.",
    "Change what you like and push it: nothing takes effect before it has been checked, shown and agreed to.",
)


MADE_UP = (
    "The probe curves and pump figures below were made up for a simulated rig. A real board does not take them:",
    "potreeve settings push FILE --without-calibration leaves them out, and potreeve calibrate measures yours.",
)


def to_toml(settings, hide_secrets=False, simulated=False):
    """Return checked settings as commented TOML that settingsfile.load reads back the same.

    hide_secrets: secret values are left out, as comments; such a file is for reading. simulated: mark its calibration.
    """
    lines = [f"# {line}" for line in TOP] + ["", f"schema = {logic.SCHEMA}"]
    if simulated:
        lines += ["", *(f"# {line}" for line in MADE_UP), "simulated = true"]
    lines += _table(settings, logic.RIG_KEYS, RIG_HELP, hide_secrets)
    if settings.get("radio"):
        lines += ["", "", "[radio]"] + _table(settings["radio"], radio_keys.KEYS, RADIO_HELP, hide_secrets)
    for name, rows in extra_keys.TABLES.items():
        if settings.get(name):
            lines += ["", "", f"[{name}]"] + _table(settings[name], rows, EXTRA_HELP, hide_secrets)
    for channel in settings["channels"]:
        lines += ["", "", "[[channels]]"] + _table(channel, logic.CHANNEL_KEYS, CHANNEL_HELP, hide_secrets)
    return "\n".join(lines) + "\n"


def _table(table, rows, meaning, hide_secrets):
    lines = []
    for row in rows:
        key = row[0]
        lines.append("")
        lines += [f"# {line}" for line in textwrap.wrap(_note(row, meaning.get(key, "")), WIDE - 2)]
        if hide_secrets and settings_secret.is_secret(key) and table[key]:
            lines.append(f"# {key} = {settings_secret.HIDDEN}")
        else:
            lines.append(f"{key} = {toml_value(table[key])}")
    return lines


def _note(row, meaning):
    """What a key means, what it may be, and what it is when left out."""
    key, kind, unit, low, high, default = row
    span = ""
    if kind == logic.INT:
        span = f"{low} to {high}{' ' + unit if unit else ''}"
    elif kind == logic.CHOICE:
        span = " | ".join(low)
    elif kind == logic.BOOL:
        span = "true | false"
    elif kind in (logic.TEXT, settings_secret.KIND):
        span = f"{low} to {high} characters"
    if default is not logic.REQUIRED and kind != logic.CURVE:
        span += f"; {toml_value(default)} unless set"
    return f"{meaning[:1].upper()}{meaning[1:]} ({span})" if span else meaning[:1].upper() + meaning[1:]


def toml_value(value):
    """A value of the settings as TOML writes it, on one line."""
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(toml_value(item) for item in value) + "]"
    # JSON's text, numbers and words are TOML's, too; DEL is the one exception.
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
