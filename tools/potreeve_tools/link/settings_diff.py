"""What differs between two settings, key by key, as a person reads it."""

from typing import NamedTuple

from potreeve.logic import extra_keys, radio_keys
from potreeve.logic import settings as logic

from potreeve_tools.settings import settings_secret, settings_toml


class Change(NamedTuple):
    """One key that differs: its name, the two values as shown (None: not there), its unit."""

    key: str
    old: str | None
    new: str | None
    unit: str

    def line(self):
        """The change as one line of text."""
        unit = _unit(self.unit, self.new if self.new is not None else self.old)
        if self.old is None:
            return f"{self.key} = {self.new}{unit}"
        if self.new is None:
            return f"{self.key}: gone (was {self.old}{unit})"
        return f"{self.key}: {self.old} -> {self.new}{unit}"


PLAIN = {
    "ul/s": (1000, "ml/s", 2),
    "cdeg": (100, "°C", 1),
    "ms": (1000, "s", 1),
    "mV": (1000, "V", 2),
    "um": (1000, "mm", 2),
}
"""Unit of a key: (how many of it make one that a person uses, that unit, decimals)."""


_EXTRAS = [(name, rows, "what was measured") for name, rows in extra_keys.TABLES.items()]


def _unit(unit, value):
    """The unit behind a value, and what that is in a person's."""
    if unit == "pm":
        return " ‰"
    try:
        number = int(value)
    except (TypeError, ValueError):
        return f" {unit}" if unit else ""
    if unit == "s" and number >= 120 and number % 60 == 0:
        return f" s ({number // 60} min)"
    if unit in PLAIN and number:
        of, plain, decimals = PLAIN[unit]
        return f" {unit} ({number / of:.{decimals}f} {plain})"
    return f" {unit}" if unit else ""


def changes(old, new):
    """List of Change between two checked settings; old may be None: then all that is not as by default."""
    found = _table(old, new, logic.RIG_KEYS, "")
    for name, rows, words in (("radio", radio_keys.KEYS, "a radio"), *_EXTRAS):
        was, now = [each.get(name) if each else None for each in (old, new)]
        if now:
            found += _table(was, now, rows, f"{name}.")
        elif was:
            found.append(Change(name, words, None, ""))
    before = old["channels"] if old else []
    for index in range(max(len(before), len(new["channels"]))):
        was = before[index] if index < len(before) else None
        now = new["channels"][index] if index < len(new["channels"]) else None
        name = (now or was)["name"]
        if now is None:
            found.append(Change(f"channels[{index}] ({name})", "a pot", None, ""))
        else:
            found += _table(was, now, logic.CHANNEL_KEYS, f"{name}.")
    return found


def _table(old, new, rows, where):
    found = []
    for key, _, unit, _, _, default in rows:
        before = default if old is None else old[key]
        if before is not None and _same(before, new[key]):
            continue
        secret = settings_secret.is_secret(key)
        was = None if old is None else _shown(old[key], secret)
        now = _shown(new[key], secret)
        if secret and was == now:
            was, now = "one secret", "another (not shown)"
        found.append(Change(where + key, was, now, unit))
    return found


def _same(one, other):
    """Equal, whether a curve's points are lists or tuples."""
    if isinstance(one, (list, tuple)):
        return [list(point) for point in one] == [list(point) for point in other]
    return one == other


def _shown(value, secret):
    return settings_secret.HIDDEN if secret and value else settings_toml.toml_value(value)


def same(one, other):
    """True when two checked settings mean the same."""
    return other is not None and one is not None and not changes(one, other)
