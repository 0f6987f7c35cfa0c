"""Opening for the 32-bit WebAssembly build: the link is a host function.

That build has no littlefs, so files live in a dictionary.
"""

import json
import sys

import host


def ask(text):
    answer = json.loads(host.call("ask", json.dumps({"args": [text]})))
    return answer["value"]


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


def make_store():
    import store

    memory = MemoryOs()
    store.os = memory
    store.open = memory.open
    return store.Store("/data")


def run_main():
    with open("/input/firmware/main.py") as file:
        code = file.read()
    exec(code, {"__name__": "__main__"})


for folder in ("/input/firmware", "/input/firmware/potreeve/hal", "/input/device"):
    sys.path.append(folder)

import start

start.run(ask, make_store, run_main)
