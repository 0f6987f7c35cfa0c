"""Reads and writes the files people have, whatever they turn out to be.

Nothing here hangs, follows surprises or takes in more than it was told to: a
pipe, a device, a folder or a file that never ends is a fault with a name.
"""

import contextlib
import json
import os
import re
import stat
import tomllib
from pathlib import Path

from potreeve_tools.terminal.exits import BAD_INPUT, BadInput, Stop

# No file a person writes for Potreeve is anywhere near it.
LARGEST_BYTES = 64 * 1024
DEEPEST = 8
LARGEST_INT = 1 << 63
# tomllib takes the square of a dotted key's parts, in time and in memory.
_ENDLESS_KEY = re.compile(r"(?<![^\s=.,#])(?:[^\s=.,#]+[ \t]*\.[ \t]*){32}")

_KINDS = (
    (stat.S_ISDIR, "is a folder"),
    (stat.S_ISFIFO, "is a pipe"),
    (stat.S_ISCHR, "is a device"),
    (stat.S_ISBLK, "is a device"),
    (stat.S_ISSOCK, "is a socket"),
)


def read_bytes(path, largest=LARGEST_BYTES):
    """A plain file's bytes. Raises BadInput with one line."""
    try:
        # Without waiting: opening a pipe that nobody writes to would never end.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except OSError as fault:
        raise _unread(path, f"can't be read: {fault.strerror or fault}; check the path and its permissions") from None
    except ValueError as fault:
        raise _unread(path, f"can't be read: {fault}; check the path") from None
    try:
        kind = what_it_is(os.fstat(handle).st_mode)
        if kind:
            os.close(handle)
            raise _unread(path, f"can't be read: it {kind} and no plain file; give the path of a file")
        with os.fdopen(handle, "rb") as file:
            data = file.read(largest + 1)
    except OSError as fault:
        raise _unread(path, f"can't be read: {fault.strerror or fault}; check the path and its permissions") from None
    if len(data) > largest:
        raise _unread(path, f"more than {largest:,} bytes, no such file is that large; give another file")
    return data


def what_it_is(mode):
    """Words for a file that is no plain one, "" for one that is. mode: st_mode."""
    return next((words for test, words in _KINDS if test(mode)), "")


def read_text(path, largest=LARGEST_BYTES):
    """A plain file's text (UTF-8, with or without its mark). Raises BadInput with one line."""
    try:
        return read_bytes(path, largest).decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise _unread(path, f"not UTF-8 text (byte {fault.start}); save it as UTF-8") from None


def read_toml(path):
    """A TOML file as the mapping it holds. Raises BadInput, one line per fault."""
    return parse_toml(read_text(path), str(path))


def parse_toml(text, where):
    """What a TOML file's text holds. Raises BadInput; where: names the file in it."""
    if _ENDLESS_KEY.search(text):
        raise _unread(where, "a key of more than 32 parts; tables are nested too deep, no such file needs that")
    return parse(text, where, tomllib.loads, "TOML")


def read_json(path, largest=LARGEST_BYTES):
    """What a JSON file holds. Raises BadInput, one line per fault."""
    return parse(read_text(path, largest), str(path), json.loads, "JSON", deepest=3 * DEEPEST)


def parse(text, where, reader, kind, deepest=DEEPEST):
    """What reader(text) gives, if it can be shown. Raises BadInput; where: names the file in it."""
    try:
        found = reader(text)
    except RecursionError:
        raise _unread(where, "tables or lists nested too deep; no such file needs that") from None
    except ValueError as fault:
        raise _unread(where, f"not valid {kind}: {fault}; correct it there") from None
    faults = unshowable(found, deepest)
    if faults:
        raise BadInput([one_line(f"{where}: {fault}") for fault in faults])
    return found


def unshowable(value, deepest=DEEPEST, where="", depth=0):
    """Faults of values that could not even be printed: too deep, too long, half a character."""
    if depth > deepest:
        return [f"{where}: nested too deep; no such file needs that"]
    if isinstance(value, int) and abs(value) >= LARGEST_INT:
        return [f"{where}: a number of {value.bit_length()} bits; give one within the key's range"]
    if isinstance(value, str) and not _is_text(value):
        return [f"{where}: half a character; write the text anew"]
    if isinstance(value, dict):
        items = ((f"{where}.{name}" if where else str(name), part) for name, part in value.items())
    elif isinstance(value, list):
        items = ((f"{where}[{place}]", part) for place, part in enumerate(value))
    else:
        return []
    return [fault for name, part in items for fault in unshowable(part, deepest, name, depth + 1)]


def _is_text(value):
    """False for what JSON's escapes can make and no file can hold: half of a character pair."""
    return not any("\ud800" <= c <= "\udfff" for c in value)


def one_line(text):
    """Text without anything that would break its line."""
    return "".join(c if c.isprintable() else " " for c in text)


def _unread(path, wrong):
    return BadInput([one_line(f"{path}: {wrong}")])


def write_whole(path, data):
    """Write bytes so that the file is there whole or not at all, for its owner alone.

    A link stays a link: what it leads to is written. A pipe, a device such as
    /dev/null and a terminal are written to, never replaced. Raises Stop.
    """
    part = None
    try:
        with contextlib.suppress(FileNotFoundError):
            mode = os.stat(path).st_mode
            if stat.S_ISDIR(mode):
                raise IsADirectoryError(21, "Is a directory")
            if what_it_is(mode) or os.path.abspath(path).startswith(("/dev/", "/proc/")):
                _write_through(path, data)
                return
        path = Path(os.path.realpath(path))
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        # A name nobody else can have put there beforehand.
        part = path.with_name(f".{path.name[:200]}.{os.getpid()}.part")
        with contextlib.suppress(FileNotFoundError):
            part.unlink()
        handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except (OSError, ValueError) as fault:
        if part is not None:
            with contextlib.suppress(OSError):
                part.unlink()
        raise Stop(
            BAD_INPUT,
            [
                f"{path}: can't be written: {getattr(fault, 'strerror', None) or fault}; "
                "free some room, or give another place (POTREEVE_DATA_DIR is that of copies and logs)"
            ],
        ) from None


def _write_through(path, data):
    """To a device or a pipe; without waiting for somebody to read from it."""
    handle = os.open(path, os.O_WRONLY | getattr(os, "O_NONBLOCK", 0))
    with os.fdopen(handle, "wb") as file:
        os.set_blocking(file.fileno(), True)
        file.write(data)
