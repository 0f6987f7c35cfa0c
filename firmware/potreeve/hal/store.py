"""Files on the board's littlefs: its data in one folder of their own, and what is installed. OSError passes upward."""

import json
import os
from binascii import crc32

ENOENT = 2


class Store:
    """rig.store. Names are plain file names, without folders. One that starts with "@" has a folder to itself beside
    the others': what damages their folder, which littlefs keeps in one pair of blocks, leaves that file alone."""

    def __init__(self, folder):
        self._folder = folder

    def read(self, name):
        """The file's bytes, or None if there is no such file."""
        try:
            with open(self._path(name), "rb") as file:
                return file.read()
        except OSError as fault:
            if fault.args[0] == ENOENT:
                return None
            raise

    def read_part(self, name, start, size):
        """Up to size bytes of the file from byte start on; raises OSError if there is none."""
        with open(self._path(name), "rb") as file:
            file.seek(start)
            return file.read(size)

    def replace(self, name, data):
        """Put data in place of the file, all or nothing: written aside, closed, renamed."""
        aside = self._path(name + ".tmp")
        try:
            self._write(aside, "wb", data)
            os.rename(aside, self._path(name))
        except OSError:
            _discard(aside)
            raise
        self.sync()

    def write(self, name, data):
        """Put data in place of the file's, in one piece once this returns; for one of two slots."""
        self._write(self._path(name), "wb", data)
        self.sync()

    def append(self, name, data):
        """Add data at the end of the file, which is made if need be; safe once this returns."""
        self._write(self._path(name), "ab", data)
        self.sync()

    def size(self, name):
        """Bytes in the file, 0 if there is none."""
        try:
            return os.stat(self._path(name))[6]
        except OSError as fault:
            if fault.args[0] == ENOENT:
                return 0
            raise

    def names(self):
        """Names of the files, sorted; left-overs of a broken write are not listed."""
        try:
            found = os.listdir(self._folder)
        except OSError as fault:
            if fault.args[0] == ENOENT:
                return []
            raise
        return sorted([name for name in found if not name.endswith(".tmp")])

    def remove(self, name):
        """Remove the file; raises OSError if there is none."""
        os.remove(self._path(name))

    def free_bytes(self):
        """Free room in the file system, in bytes."""
        self._make_folder(self._folder)
        stat = os.statvfs(self._folder)
        return stat[1] * stat[3]

    def sync(self):
        """Have the file system write out what it holds back, where the port has a call for it."""
        if hasattr(os, "sync"):
            os.sync()

    def _path(self, name):
        if "/" in name or name in ("", ".", ".."):
            raise ValueError("not a plain file name: " + name)
        return self._folder + (name if name[0] == "@" else "") + "/" + name

    def _write(self, path, mode, data):
        try:
            file = open(path, mode)
        except OSError as fault:
            if fault.args[0] != ENOENT:
                raise
            # The first write of all: the folder is not there yet.
            self._make_folder(path[: path.rindex("/")])
            file = open(path, mode)
        with file:
            file.write(data)

    def _make_folder(self, folder):
        try:
            os.mkdir(folder)
        except OSError:  # it is there; if not, the next call says why
            pass


class Code:
    """rig.code. root: folder of main.py, ending in "/"."""

    def __init__(self, root):
        self._root = root

    def manifest(self):
        """The manifest's `files`, path -> CRC-32; None without a manifest, 0 for one that can't be read."""
        try:
            with open(self._root + "manifest.json") as file:
                return json.load(file)["files"]
        except OSError as fault:
            return None if fault.args[0] == ENOENT else 0
        except (ValueError, KeyError, TypeError):
            return 0

    def crc(self, path):
        """CRC-32 of an installed file, -1 if it can't be read."""
        total = 0
        try:
            with open(self._root + path, "rb") as file:
                while True:
                    piece = file.read(512)
                    if not piece:
                        return total & 0xFFFFFFFF
                    total = crc32(piece, total)
        except OSError:
            return -1


def _discard(path):
    try:
        os.remove(path)
    except OSError:
        pass
