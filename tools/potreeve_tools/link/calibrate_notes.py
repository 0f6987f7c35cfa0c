"""When something was calibrated and how sure it is: kept on the board and in every copy.

A note speaks for settings only while they are what it found: after an undo the
older note counts again.
"""

import json
from datetime import UTC, datetime

NAME = "calibration.json"
MOST = 24


def read(data):
    """List of notes from the file's bytes, newest last; whatever can't be read is no note."""
    try:
        notes = json.loads(data.decode("utf-8"))
        return [
            note
            for note in notes
            if isinstance(note, dict) and isinstance(note.get("set"), dict) and isinstance(note.get("date"), str)
        ]
    except (AttributeError, ValueError, TypeError, RecursionError):
        return []


def make(kind, channel, set_keys, uncertainty, extra=None):
    """A note. kind: "probe" (its two ends), "point" (one more) or "pump"; channel: its pot's name; set_keys: {key:
    value} found; uncertainty: words."""
    return {
        "date": datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        "kind": kind,
        "pot": channel,
        "set": json.loads(json.dumps(set_keys)),
        "uncertainty": uncertainty,
        **(extra or {}),
    }


def with_note(data, note):
    """The file's bytes with one more note."""
    return json.dumps((read(data) + [note])[-MOST:], ensure_ascii=False).encode("utf-8")


def together(data, older):
    """The file's bytes with the notes of an older one that are not among its own; None where there are none at all."""
    own = read(data)
    notes = sorted([note for note in read(older) if note not in own] + own, key=lambda note: note["date"])
    return json.dumps(notes[-MOST:], ensure_ascii=False).encode("utf-8") if len(notes) > len(own) else data


def last(notes, kinds, channel):
    """The newest note of one of `kinds` ("probe", "point", "pump") that speaks for a checked channel table, or None."""
    table = json.loads(json.dumps(channel))
    for note in reversed(notes):
        if note.get("kind") in kinds and all(table.get(key) == value for key, value in note["set"].items()):
            return note
    return None
