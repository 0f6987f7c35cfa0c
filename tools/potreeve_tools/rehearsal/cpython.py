"""Runs the firmware in this very CPython, its files on a real littlefs.

`hal`'s store is the unchanged one: only the `os` and `open` it sees are those
of littlefs-python, on a RAM image with the board's geometry.
"""

import importlib.util
import sys

from littlefs import LittleFS
from littlefs.context import UserContext
from littlefs.errors import LittleFSError


class Flash(UserContext):
    """Flash in RAM. The library's own logs every read, which takes most of a run."""

    def read(self, cfg, block, off, size):
        at = block * cfg.block_size + off
        return self.buffer[at : at + size]

    def prog(self, cfg, block, off, data):
        at = block * cfg.block_size + off
        self.buffer[at : at + len(data)] = data
        return 0

    def erase(self, cfg, block):
        at = block * cfg.block_size
        self.buffer[at : at + cfg.block_size] = b"\xff" * cfg.block_size
        return 0

    def sync(self, cfg):
        return 0


class LittleFile:
    """What hal's store asks of an open file; a full flash is an OSError here, too."""

    def __init__(self, file):
        self.file = file

    def read(self, size=-1):
        return _call(self.file.read, size)

    def seek(self, start):
        return _call(self.file.seek, start)

    def write(self, data):
        return _call(self.file.write, data)

    def __enter__(self):
        return self

    def __exit__(self, *error):
        _call(self.file.close)


class LittleOs:
    """The calls hal's store makes of `os`, on a littlefs."""

    def __init__(self, fs):
        self.fs = fs

    def open(self, path, mode):
        return LittleFile(_call(self.fs.open, path, mode))

    def rename(self, old, new):
        _call(self.fs.rename, old, new)

    def remove(self, path):
        _call(self.fs.remove, path)

    def stat(self, path):
        return (0, 0, 0, 0, 0, 0, _call(self.fs.stat, path).size)

    def statvfs(self, path):
        blocks = self.fs.block_count
        return (self.fs.cfg.block_size, self.fs.cfg.block_size, blocks, blocks - self.fs.used_block_count)

    def listdir(self, path):
        return _call(self.fs.listdir, path)

    def mkdir(self, path):
        _call(self.fs.mkdir, path)


def _call(function, *args):
    """Run a littlefs call; its errors become OSError with a positive code."""
    try:
        return function(*args)
    except LittleFSError as fault:
        raise OSError(abs(fault.code)) from fault
    except FileNotFoundError as fault:
        raise OSError(2) from fault


def make_fs(geometry):
    """An empty littlefs in the geometry of a board's flash table.

    What it reads at once is a whole cache, for speed; nothing on the flash depends on that.
    """
    flash = Flash(geometry["block_bytes"] * geometry["blocks"])
    told = options(geometry)
    return LittleFS(flash, **{**told, "read_size": told["cache_size"]})


def options(geometry):
    """LittleFS's options for a board's flash table, with the cache that MicroPython chooses: four program or read
    units, at most a block."""
    return {
        "block_size": geometry["block_bytes"],
        "block_count": geometry["blocks"],
        "prog_size": geometry["prog_bytes"],
        "read_size": geometry["read_bytes"],
        "lookahead_size": geometry["lookahead_bytes"],
        "cache_size": min(geometry["block_bytes"], 4 * max(geometry["read_bytes"], geometry["prog_bytes"])),
        "block_cycles": 100,
    }


def load_store(firmware):
    """hal/store.py as a module of its own, whose `os` and `open` can be set."""
    spec = importlib.util.spec_from_file_location("potreeve_sim_store", firmware / "potreeve" / "hal" / "store.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def run(session, firmware, device):
    """Run a session to its end; leaves this process's modules as they were."""
    import potreeve

    def make_store():
        module = load_store(firmware)
        module.os = LittleOs(make_fs(session.board["flash"]))
        module.open = module.os.open
        return module.Store("/data")

    code = compile((firmware / "main.py").read_text(), str(firmware / "main.py"), "exec")

    def run_main():
        exec(code, {"__name__": "__main__"})  # noqa: S102 - the firmware's own first file

    missing = object()
    before = sys.modules.get("potreeve.hal", missing)
    # main.py asks for it at each start: there is none, and it need not be looked for in every folder.
    machine = sys.modules.get("machine", missing)
    sys.modules["machine"] = None
    attribute = potreeve.__dict__.get("hal", missing)
    # Another folder's modules of the same names, from an earlier run, must not answer for this one's.
    names = [path.stem for path in device.glob("*.py")] + ["secured"]
    others = {name: sys.modules.pop(name) for name in names if name in sys.modules}
    sys.path.insert(0, str(device))
    # What stands in for hal asks for its own file where that decides.
    sys.path.append(str(firmware / "potreeve" / "hal"))
    try:
        import start

        start.run(session.handle, make_store, run_main)
    finally:
        sys.path.remove(str(device))
        sys.path.remove(str(firmware / "potreeve" / "hal"))
        for name in names:
            sys.modules.pop(name, None)
        sys.modules.update(others)
        if machine is missing:
            del sys.modules["machine"]
        else:
            sys.modules["machine"] = machine
        if before is missing:
            sys.modules.pop("potreeve.hal", None)
        else:
            sys.modules["potreeve.hal"] = before
        if attribute is missing:
            potreeve.__dict__.pop("hal", None)
        else:
            potreeve.hal = attribute
