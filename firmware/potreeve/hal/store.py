"""Files on the board's littlefs, in one folder of their own. OSError passes upward."""

import os

ENOENT = 2


class Store:
    """rig.store. Names are plain file names, without folders."""

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
        self._make_folder()
        stat = os.statvfs(self._folder)
        return stat[1] * stat[3]

    def sync(self):
        """Have the file system write out what it holds back, where the port has a call for it."""
        if hasattr(os, "sync"):
            os.sync()

    def _path(self, name):
        if "/" in name or name in ("", ".", ".."):
            raise ValueError("not a plain file name: " + name)
        return self._folder + "/" + name

    def _write(self, path, mode, data):
        try:
            file = open(path, mode)
        except OSError as fault:
            if fault.args[0] != ENOENT:
                raise
            # The first write of all: the folder is not there yet.
            self._make_folder()
            file = open(path, mode)
        with file:
            file.write(data)

    def _make_folder(self):
        try:
            os.mkdir(self._folder)
        except OSError:  # it is there; if not, the next call says why
            pass


def _discard(path):
    try:
        os.remove(path)
    except OSError:
        pass
