"""hal's store without a file system, and what can go wrong with it or any store. Runs under CPython and MicroPython."""

ENOENT = 2
ENOSPC = 28


def fill(store, name, least=1):
    """Somebody's file takes all the room there is, in ever smaller pieces down to `least` bytes."""
    piece = bytes(4096)
    while len(piece) >= least:
        try:
            store.append(name, piece)
        except OSError:
            piece = piece[: len(piece) // 2]


class MemoryStore:
    """Files in a dictionary of name -> bytes: what a call returns from is on flash.

    events: a list that gets ("read", name) and so on for each call, ("fails", call, name) for one that failed.
    `fails` is asked before each call: fails(count, call, name) -> True to raise OSError(errno). `torn`: a failing
    write or append leaves half of its data, as a full flash might.
    """

    def __init__(self, events=None, files=None):
        self.files = {} if files is None else files
        self.events = [] if events is None else events
        self.count = 0
        self.fails = lambda count, call, name: False
        self.torn = False
        self.errno = ENOSPC

    def read(self, name):
        self._call("read", name)
        return self.files.get(name)

    def read_part(self, name, start, size):
        self._call("read_part", name)
        return self._there(name)[start : start + size]

    def write(self, name, data):
        self._put("write", name, data, b"")

    def append(self, name, data):
        self._put("append", name, data, self.files.get(name, b""))

    def replace(self, name, data):
        self._call("replace", name)
        self.files[name] = bytes(data)

    def size(self, name):
        self._call("size", name)
        return len(self.files.get(name, b""))

    def names(self):
        self._call("names")
        return sorted(self.files)

    def remove(self, name):
        self._call("remove", name)
        self._there(name)
        del self.files[name]

    def free_bytes(self):
        return 100000

    def sync(self):
        pass

    def _call(self, call, name=""):
        self.count += 1
        if self.fails(self.count, call, name):
            self.events.append(("fails", call, name))
            raise OSError(self.errno)
        self.events.append((call, name))

    def _put(self, call, name, data, start):
        try:
            self._call(call, name)
        except OSError:
            if self.torn:
                self.files[name] = start + bytes(data[: len(data) // 2])
            raise
        self.files[name] = start + bytes(data)

    def _there(self, name):
        if name not in self.files:
            raise OSError(ENOENT)
        return self.files[name]
