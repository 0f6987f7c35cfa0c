"""Dated copies of what a board knows, in the user's data folder.

A board may reformat its file system by itself, or break. So every push and every
calibration leaves a copy here: settings, their last good copy, ledger (with what
was learned), and what kind of board it was. POTREEVE_DATA_DIR overrides the place.

    DATA/boards/BOARD-ID/copies/20261125T101500Z-settings-push.json
"""

import base64
import json
import os
import re
from datetime import UTC, datetime
from pathlib import Path

from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.terminal.files import read_json, write_whole

FORM = 1
KEPT_FILES = ("settings.json", "settings.good.json", "ledger.a", "ledger.b", "calibration.json")
MOST_COPIES = 500
LARGEST_BYTES = 1024 * 1024


def data_folder():
    """The user's data folder of Potreeve."""
    place = os.environ.get("POTREEVE_DATA_DIR")
    if place:
        return Path(place)
    import platformdirs

    return Path(platformdirs.user_data_dir("potreeve", appauthor=False))


def board_folder(board_id):
    """Folder of one board; made if need be, readable by its owner alone."""
    return made_folder(data_folder() / "boards" / plain(board_id))


def made_folder(folder):
    """The folder, made if need be. Raises Stop."""
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as fault:
        raise exits.Stop(
            exits.BAD_INPUT,
            [f"{folder}: can't be made: {fault.strerror or fault}; set POTREEVE_DATA_DIR to a folder of yours"],
        ) from None
    return folder


def plain(board_id):
    """A board's id as a folder's name."""
    return re.sub(r"[^A-Za-z0-9._-]", "_", str(board_id)).lstrip(".")[:80] or "unnamed"


def save(board_id, why, board, files, now=None):
    """Write a copy; returns its path.

    why: a few words for its name; board: device form of the board file or None;
    files: {name: bytes or None} of KEPT_FILES, other names are left out.
    """
    now = now or datetime.now(UTC)
    folder = board_folder(board_id) / "copies"
    content = {
        "potreeve_copy": FORM,
        "taken_utc": now.strftime("%Y-%m-%dT%H:%M:%SZ"),
        "why": why,
        "board_id": str(board_id),
        "board": board,
        "files": {
            name: base64.b64encode(files[name]).decode("ascii") for name in KEPT_FILES if files.get(name) is not None
        },
    }
    stem = f"{now:%Y%m%dT%H%M%SZ}-{re.sub(r'[^a-z0-9]+', '-', why.lower()).strip('-')[:40]}"
    path, number = folder / f"{stem}.json", 1
    while path.exists():
        number += 1
        path = folder / f"{stem}-{number}.json"
    write_whole(path, json.dumps(content, indent=1).encode("utf-8"))
    _thin(folder)
    return path


def _thin(folder):
    """Drop the oldest copies beyond MOST_COPIES."""
    for path in sorted(folder.glob("*.json"))[:-MOST_COPIES]:
        path.unlink(missing_ok=True)


def listing(board_id=None):
    """Paths of all copies of one board, or of all boards, oldest first."""
    folder = data_folder() / "boards"
    pattern = f"{plain(board_id)}/copies/*.json" if board_id else "*/copies/*.json"
    return sorted(folder.glob(pattern), key=lambda path: (path.name[:16], path.stat().st_mtime_ns, path.name))


class Copy:
    """One copy, read back: taken_utc, why, board_id, board (device form or None), files {name: bytes}."""

    def __init__(self, path, content):
        self.path = path
        self.taken_utc = content["taken_utc"]
        self.why = content["why"]
        self.board_id = content["board_id"]
        self.board = content["board"]
        self.files = content["files"]


def read(path):
    """Read a copy. Raises BadInput with one line when it can't be used."""
    path = Path(path)
    try:
        content = read_json(path, LARGEST_BYTES)
        if not isinstance(content, dict) or content.get("potreeve_copy") != FORM:
            raise ValueError("no copy that this version of Potreeve wrote")
        for key in ("taken_utc", "why", "board_id"):
            if not isinstance(content.get(key), str):
                raise ValueError(f"{key} is missing")
        if not (content.get("board") is None or isinstance(content["board"], dict)):
            raise ValueError("board is not a table")
        content.setdefault("board", None)
        if not isinstance(content.get("files"), dict):
            raise ValueError("files are missing")
        content["files"] = {
            str(name): base64.b64decode(text, validate=True)
            for name, text in content["files"].items()
            if name in KEPT_FILES
        }
    except BadInput as fault:
        raise BadInput([f"{line}; choose another copy" for line in fault.faults]) from None
    except (ValueError, TypeError) as fault:
        raise BadInput(
            [f"{path}: not a usable copy: {str(fault).splitlines()[0] if str(fault) else 'damaged'}; choose another"]
        ) from None
    return Copy(path, content)
