"""Keeps a computed sill year in the user's cache folder, so a second run starts fast.

The cache only ever saves time: if it is missing, damaged, of another pvlib or
model version, or cannot be written, the year is computed again.
"""

import hashlib
import json
import os
import tempfile
from importlib.metadata import version
from pathlib import Path

import platformdirs

MODEL_VERSION = 1  # raise it whenever weather.py or sill.py change their arithmetic
LENGTHS = (8760, 8760, 8760, 8760, 4)


def folder():
    return Path(platformdirs.user_cache_dir("potreeve")) / "sill"


def _name(key):
    return hashlib.sha256(f"{MODEL_VERSION} {version('pvlib')} {key}".encode()).hexdigest()[:32] + ".json"


def load(key):
    """The stored year for a key, or None."""
    try:
        text = (folder() / _name(key)).read_text(encoding="ascii")
        digest, _, body = text.partition("\n")
        if hashlib.sha256(body.encode()).hexdigest() != digest:
            return None
        year = json.loads(body)
    except (OSError, ValueError):
        return None
    return tuple(year) if tuple(len(part) for part in year) == LENGTHS else None


def save(key, year):
    """Store a year; a folder that cannot be written is silently left alone."""
    body = json.dumps(year)
    text = hashlib.sha256(body.encode()).hexdigest() + "\n" + body
    try:
        folder().mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=folder())
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(text)
        os.replace(temporary, folder() / _name(key))
    except OSError:
        pass
