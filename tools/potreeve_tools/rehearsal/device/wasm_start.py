"""Opening for the 32-bit WebAssembly build: the link is a host function.

That build has no littlefs, so files live in a dictionary.
"""

import binascii
import gc
import sys

import host

# The collector of this build does not see what WebAssembly keeps in locals, so it
# never runs. Between two starts of the board, when less than this is free, the
# files are handed over to a new instance.
gc.disable()
LOW_BYTES = 250000


def ask(text):
    return host.call("ask", text)


class MemoryFile:
    def __init__(self, files, path, mode):
        self.files = files
        self.path = path
        self.data = bytearray(files[path] if mode[0] in "ra" and path in files else b"")

    def read(self):
        return bytes(self.data)

    def write(self, data):
        self.data.extend(data)

    def __enter__(self):
        return self

    def __exit__(self, *error):
        self.files[self.path] = bytes(self.data)


class MemoryOs:
    """The few calls hal's store makes, over a dictionary of path -> bytes."""

    def __init__(self):
        self.files = {}

    def open(self, path, mode):
        if mode[0] == "r" and path not in self.files:
            raise OSError(2)
        return MemoryFile(self.files, path, mode)

    def rename(self, old, new):
        self.files[new] = self.files.pop(old)

    def remove(self, path):
        if path not in self.files:
            raise OSError(2)
        del self.files[path]

    def stat(self, path):
        if path not in self.files:
            raise OSError(2)
        return (0, 0, 0, 0, 0, 0, len(self.files[path]))

    def listdir(self, folder):
        return [path[len(folder) + 1:] for path in self.files]

    def mkdir(self, path):
        pass


memory = MemoryOs()
for path in ask("f").split():
    memory.files[path] = binascii.unhexlify(ask("f " + path))


def make_store():
    import store

    store.os = memory
    store.open = memory.open
    return store.Store("/data")


def run_main():
    with open("/input/firmware/main.py") as file:
        code = file.read()
    exec(code, {"__name__": "__main__"})


def hand_over():
    """True when the heap is nearly used up, after giving the files away."""
    if gc.mem_free() > LOW_BYTES:
        return False
    for path, data in memory.files.items():
        ask("h %s %s" % (path, data.hex()))
    return True


for folder in ("/input/firmware", "/input/firmware/potreeve/hal", "/input/device"):
    sys.path.append(folder)

import start

start.run(ask, make_store, run_main, hand_over)
