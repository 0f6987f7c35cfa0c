"""Keys whose values nobody may read over a shoulder.

A row of the schema whose kind is SECRET is text of so many characters, and marked
by that: it is stored, sent and compared, but shown only as HIDDEN, in
every listing, difference, fault, log and report. There is no such key yet.
"""

from potreeve.logic import settings as logic

KIND = logic.SECRET
HIDDEN = "(secret, not shown)"


def is_secret(key):
    """True for the name of a key that the schema marks."""
    return any(row[0] == key and row[1] == KIND for row in (*logic.RIG_KEYS, *logic.CHANNEL_KEYS))


def secret_keys():
    """Names of all marked keys."""
    return [row[0] for row in (*logic.RIG_KEYS, *logic.CHANNEL_KEYS) if row[1] == KIND]


def shown(key, value):
    """The value as it may be shown."""
    return HIDDEN if is_secret(key) and value not in ("", None) else value


def veiled(settings):
    """A copy of settings in which every secret's value reads HIDDEN."""
    return _veil(settings, is_secret)


def _veil(what, secret):
    if isinstance(what, dict):
        return {key: HIDDEN if secret(key) and value not in ("", None) else _veil(value, secret)
                for key, value in what.items()}
    if isinstance(what, (list, tuple)):
        return [_veil(part, secret) for part in what]
    return what


def values(data):
    """Every text in `data` that stands under a marked key, or under one spelt nearly so."""
    import difflib

    marked = secret_keys()
    found = []

    def walk(what):
        if isinstance(what, dict):
            for key, value in what.items():
                near = key in marked or difflib.get_close_matches(str(key).lower(), marked, n=1, cutoff=0.6)
                if near and isinstance(value, (str, int)) and not isinstance(value, bool) and str(value):
                    found.append(str(value))
                else:
                    walk(value)
        elif isinstance(what, (list, tuple)):
            for part in what:
                walk(part)

    walk(data)
    return found


def veil_text(text, data):
    """`text` with every secret value of `data` taken out, as it stands or as repr writes it."""
    for value in sorted(values(data), key=len, reverse=True):
        for form in (value, repr(value)[1:-1]):
            text = text.replace(form, HIDDEN)
            # A fault shows only the beginning of a long value.
            if len(form) > 30:
                text = text.replace(form[:30], HIDDEN)
    return text
