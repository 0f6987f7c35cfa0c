"""Pulled logs on the desktop: the board's own segment files, byte for byte.

    DATA/boards/BOARD-ID/log/001/log.000001 ...

A board that lost its memory numbers its segments anew; those go to the next
folder (002 ...), so nothing pulled earlier is ever overwritten.
"""

import os
import re
from hashlib import sha256

from potreeve.logic import segments

from potreeve_tools.link import backup
from potreeve_tools.terminal import exits, files

# A whole segment is some 14 kB; a damaged board's may be longer, but not by that much.
LARGEST_BYTES = 1 << 20

_NUMBERED = re.compile(r"\d{3}\Z")


def log_folder(board_id):
    """Folder of one board's logs."""
    return backup.board_folder(board_id) / "log"


def memories(board_id):
    """Folders of one board's memories, oldest first."""
    folder = log_folder(board_id)
    if not folder.is_dir():
        return []
    return sorted(path for path in folder.iterdir() if path.is_dir() and _NUMBERED.match(path.name))


def new_memory(board_id):
    """Make and return the next folder."""
    known = memories(board_id)
    folder = log_folder(board_id) / f"{int(known[-1].name) + 1 if known else 1:03d}"
    return backup.made_folder(folder)


def numbers(folder):
    """Numbers of the segments in a folder, ascending; what only has the name of one is left out."""
    return segments.numbers([path.name for path in folder.iterdir() if path.is_file()])


def local(folder):
    """{segment number: bytes in its file}."""
    return {number: (folder / segments.name(number)).stat().st_size for number in numbers(folder)}


def read_segment(folder, number):
    """All bytes of a segment. Raises BadInput when its file can't be read."""
    return files.read_bytes(folder / segments.name(number), LARGEST_BYTES)


def prefix_hash(folder, number, size):
    """Eight bytes of the SHA-256 of a segment's first `size` bytes."""
    return sha256(read_segment(folder, number)[:size]).digest()[:8]


def replace(folder, number, data):
    """Put a whole segment in place of what is there, if anything."""
    backup.write_whole(folder / segments.name(number), data)


def append(folder, number, at, data):
    """Put data at offset `at` of a segment's file and see that it is safe; nothing is cut off."""
    path = folder / segments.name(number)
    try:
        with open(path, "r+b" if path.exists() else "w+b") as file:
            file.seek(at)
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
    except OSError as fault:
        raise exits.Stop(
            exits.BAD_INPUT,
            [
                f"{path}: can't be written: {fault.strerror or fault}; free some room and "
                "pull again; what is there already stays"
            ],
        ) from None


def boards():
    """Ids of all boards with pulled logs."""
    folder = backup.data_folder() / "boards"
    return sorted(path.parent.name for path in folder.glob("*/log") if path.is_dir())
