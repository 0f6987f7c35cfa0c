"""The virtual board's flash as a file: look into it and fill it while the board is off."""

import json
from pathlib import Path

from littlefs import LittleFS

from potreeve_tools.image import compiled
from potreeve_tools.image.places import FIRMWARE
from potreeve_tools.rehearsal import cpython


class Image:
    """A board's flash file, opened. path: file; geometry: the board's flash table. Use as a context manager; saves at
    the end."""

    def __init__(self, path, geometry):
        self.path, self.geometry = Path(path), geometry
        size = geometry["block_bytes"] * geometry["blocks"]
        self._flash = cpython.Flash(size)
        self._flash.buffer[:] = self.path.read_bytes() if self.path.exists() else b"\xff" * size
        self.fs = LittleFS(self._flash, mount=False, **cpython.options(geometry))
        try:
            self.fs.mount()
        except Exception:
            self.fs.format()
            self.fs.mount()

    def __enter__(self):
        return self

    def __exit__(self, kind, fault, trace):
        if kind is None:
            self.path.write_bytes(bytes(self._flash.buffer))

    def write(self, name, data):
        """Write a file, making its folders. name: path from the root, no leading "/"."""
        parts = name.split("/")
        for depth in range(1, len(parts)):
            self.fs.makedirs("/".join(parts[:depth]), exist_ok=True)
        with self.fs.open(name, "wb") as file:
            file.write(data)

    def read(self, name):
        """A file's bytes, or None."""
        try:
            with self.fs.open(name, "rb") as file:
                return file.read()
        except FileNotFoundError:
            return None

    def files(self):
        """{path: bytes} of all files."""
        found = {}
        for folder, _, names in self.fs.walk("/"):
            for name in names:
                path = (folder.rstrip("/") + "/" + name).lstrip("/")
                found[path] = self.read(path)
        return found


def sources():
    """{path on the board: bytes} of the firmware, as sources."""
    return {name: (FIRMWARE / name).read_bytes() for name in ["main.py", *compiled.modules(FIRMWARE)]}


def as_sent():
    """What a board is sent: main.py, and all modules compiled."""
    return {"main.py": compiled.main_text(FIRMWARE), **compiled.files(FIRMWARE)}


def install(path, board, settings=None, extra=None, mpy=True):
    """Put the firmware, the board file and perhaps settings on an image.

    board: a boards.Board, or a device form; settings: a JSON-able mapping, None
    for none; extra: {path: bytes} more; mpy: compiled, else as sources.
    """
    device = board if isinstance(board, dict) else board.device_dict()
    with Image(path, device["flash"]) as image:
        for name, data in (as_sent() if mpy else sources()).items():
            image.write(name, data)
        image.write("board.json", json.dumps(device, separators=(",", ":"), sort_keys=True).encode() + b"\n")
        if settings is not None:
            image.write("data/settings.json", json.dumps(settings).encode())
        for name, data in (extra or {}).items():
            image.write(name, data)
