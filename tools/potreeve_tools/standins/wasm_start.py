"""Opening for the 32-bit WebAssembly build: the link is a host function.

That build has no littlefs, so the host keeps the files: see HostFiles there.
"""

import binascii
import gc
import sys

import host

# The collector of this build does not see what WebAssembly keeps in locals, so it
# never runs. Between two starts of the board, when less than this is free, a new
# instance goes on.
gc.disable()
LOW_BYTES = 320000

# Bytes of a file in one exchange; the answer holds two characters for each.
PIECE_BYTES = 700


def ask(text):
    return host.call("ask", text)


class File:
    def __init__(self, path, mode):
        self.path = path
        if mode[0] == "w":
            ask("f w " + path)

    def read(self):
        whole = bytearray()
        while True:
            piece = binascii.unhexlify(ask("f r %s %d" % (self.path, len(whole))))
            whole.extend(piece)
            if len(piece) < PIECE_BYTES:
                return bytes(whole)

    def write(self, data):
        for at in range(0, len(data), PIECE_BYTES):
            ask("f a %s %s" % (self.path, data[at : at + PIECE_BYTES].hex()))

    def __enter__(self):
        return self

    def __exit__(self, *error):
        pass


class Files:
    """The few calls hal's store makes of `os`, and `open`, on the host's files."""

    def open(self, path, mode):
        if mode[0] == "r":
            self.stat(path)
        return File(path, mode)

    def rename(self, old, new):
        ask("f m %s %s" % (old, new))

    def remove(self, path):
        self.stat(path)
        ask("f d " + path)

    def stat(self, path):
        size = int(ask("f z " + path))
        if size < 0:
            raise OSError(2)
        return (0, 0, 0, 0, 0, 0, size)

    def listdir(self, folder):
        return [path[len(folder) + 1 :] for path in ask("f n").split()]

    def mkdir(self, path):
        pass


def make_store():
    import store

    store.os = Files()
    store.open = store.os.open
    return store.Store("/data")


def run_main():
    with open("/input/firmware/main.py") as file:
        code = file.read()
    exec(code, {"__name__": "__main__"})


def full():
    """True when the heap is nearly used up."""
    return gc.mem_free() < LOW_BYTES


for folder in ("/input/firmware", "/input/firmware/potreeve/hal", "/input/device"):
    sys.path.append(folder)

import start

start.run(ask, make_store, run_main, full)
