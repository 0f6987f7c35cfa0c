"""Keys whose values nobody may read over a shoulder.

A row of the schema whose kind is SECRET is text of so many characters, and marked
by that: it is stored, sent and compared, but shown only as HIDDEN, in
every listing, difference, fault, log and report.
"""

import difflib

from potreeve.logic import radio_keys
from potreeve.logic import settings as logic

KIND = logic.SECRET
HIDDEN = "(secret, not shown)"


def is_secret(key):
    """True for the name of a key that the schema marks."""
    return key in secret_keys()


def secret_keys():
    """Names of all marked keys."""
    return [row[0] for row in (*logic.RIG_KEYS, *logic.CHANNEL_KEYS, *radio_keys.KEYS) if row[1] == KIND]


def shown(key, value):
    """The value as it may be shown."""
    return HIDDEN if is_secret(key) and value not in ("", None) else value


def veiled(settings):
    """A copy of settings in which every secret's value reads HIDDEN."""
    return _veil(settings, is_secret)


def _veil(what, secret):
    if isinstance(what, dict):
        return {
            key: HIDDEN if secret(key) and value not in ("", None) else _veil(value, secret)
            for key, value in what.items()
        }
    if isinstance(what, (list, tuple)):
        return [_veil(part, secret) for part in what]
    return what


def near_secret(key):
    """True for a marked key, and for what looks like one misspelt."""
    marked = secret_keys()
    return bool(marked and difflib.get_close_matches(str(key).lower(), marked, n=1, cutoff=0.6))


def veiled_words(words):
    """A command line's words; what follows a marked key's name, or is joined to it, reads HIDDEN."""
    shown, hide = [], False
    for word in words:
        key, equals, _ = word.partition("=")
        if near_secret(key.rpartition(".")[2]):
            shown.append(f"{key}={HIDDEN}" if equals else word)
            hide = not equals
        else:
            shown.append(HIDDEN if hide else word)
            hide = False
    return shown
