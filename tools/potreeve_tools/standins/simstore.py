"""The real store of a rehearsed board, and what can ail its files. Runs under CPython and under MicroPython."""

from stores import fill
from troubles import FORGOTTEN, FORMATTED, FULL, SENT, TORN

SETTINGS = "settings.json"
FILLER = "filler"


class MirrorStore:
    """The real store, which also shows each new record to the rehearsal, and
    has the troubles a file system can have."""

    def __init__(self, store, link, record_bytes, prefix, slots):
        self.store = store
        self.link = link
        self.record_bytes = record_bytes
        self.prefix = prefix
        self.slots = slots
        # The troubles as they were last seen to; none yet.
        self.suffered = 0
        self.read = store.read
        self.read_part = store.read_part
        self.size = store.size
        self.free_bytes = store.free_bytes

    def write(self, name, data):
        self._put(self.store.write, name, data)
        if name in self.slots:
            self.link.slot = name

    def append(self, name, data):
        self._put(self.store.append, name, data)
        self._show(name, data)

    def replace(self, name, data):
        self._put(self.store.replace, name, data)
        self._show(name, data)

    def names(self):
        return [name for name in self.store.names() if name != FILLER]

    def remove(self, name):
        self._put(self._remove, name, None)

    def _remove(self, name, data):
        self.store.remove(name)

    def _put(self, call, name, data):
        try:
            if self.link.tired():
                raise OSError(5)
            call(name, data)
        except OSError:
            self.link.refused += 1
            raise

    def _show(self, name, data):
        if name.startswith(self.prefix):
            self.link.records.append(data[-self.record_bytes :].hex())

    def suffer(self):
        """Let the troubles that have begun or ended take hold."""
        link = self.link
        store = self.store
        if link.sense[10] == self.suffered:
            # Nothing has begun or ended; listing a folder at every wake would cost most of a rehearsal.
            return
        full = FILLER in store.names()
        if link.trouble(FULL) and not full:
            store.write(FILLER, b"")
            fill(store, FILLER, 65)
        elif full and not link.trouble(FULL):
            store.remove(FILLER)
        if link.trouble(TORN):
            # A board whose flash was just formatted has none: half of nothing is nothing.
            data = store.read(SETTINGS) or b""
            store.write(SETTINGS, data[: len(data) // 2])
        for name in store.names():
            if link.trouble(FORMATTED) or link.trouble(FORGOTTEN) and name in self.slots:
                store.remove(name)
        if link.trouble(SENT):
            store.replace(SETTINGS, link.ask("n").encode())
        link.sense[10] &= ~(TORN | FORGOTTEN | FORMATTED | SENT)
        self.suffered = link.sense[10]
