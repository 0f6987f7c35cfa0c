"""Pulled logs on the desktop: the board's own segment files, byte for byte.

    DATA/boards/BOARD-ID/log/001/log.000001 ...

A board that lost its memory numbers its segments anew; those go to the next
folder (002 ...), so nothing pulled earlier is ever overwritten.
"""

import os
import re
from binascii import crc32

from potreeve.logic import segments

from potreeve_tools.link import backup
from potreeve_tools.terminal import exits

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
    folder.mkdir(parents=True, mode=0o700)
    return folder


def local(folder):
    """{segment number: bytes in its file}."""
    numbers = segments.numbers([path.name for path in folder.iterdir()])
    return {number: (folder / segments.name(number)).stat().st_size for number in numbers}


def head_crc(folder, number):
    """CRC-32 of a segment's head (or of all there is, when shorter)."""
    with open(folder / segments.name(number), "rb") as file:
        return crc32(file.read(segments.HEAD_BYTES))


def whole_crc(folder, number):
    """CRC-32 of all that is there of a segment."""
    return crc32((folder / segments.name(number)).read_bytes())


def append(folder, number, at, data):
    """Put data at offset `at` of a segment's file and see that it is safe."""
    path = folder / segments.name(number)
    try:
        with open(path, "r+b" if path.exists() else "w+b") as file:
            file.seek(at)
            file.write(data)
            file.truncate()
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
