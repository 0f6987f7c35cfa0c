"""Runs the cases in whatever interpreter this is. Prints one line per case: name, tab, "ok" or the fault.

usage: runner.py FOLDER BOARDS_JSON    (FOLDER: a writable folder, ending in "/")
"""

import json
import os
import sys

KINDS = ("rig", "pumps", "sensors", "tub", "wet", "soil", "keep", "power", "display")


class Ctx:
    """What a case works with.

    bench: the workbench behind the stand-ins. folder: a writable folder, ending in
    "/". hal: potreeve.hal, freshly imported.
    """

    def __init__(self, boards, folder):
        from bench import bench

        self.bench = bench
        self.boards = boards
        self.folder = folder

    def begin(self):
        """A clean bench, an empty folder, a freshly imported hal."""
        self.bench.clear()
        _empty(self.folder)
        self.fresh()

    def fresh(self):
        """Import hal anew, as after a reset."""
        for name in [name for name in sys.modules if name.startswith("potreeve.hal")]:
            del sys.modules[name]
        import potreeve

        if hasattr(potreeve, "hal"):
            del potreeve.hal
        from potreeve import hal

        self.hal = hal

    def board(self, name):
        """A fresh mapping of the device's form of a board."""
        return json.loads(json.dumps(self.boards[name]))

    def open(self, board):
        """The rig of that mapping."""
        with open(self.folder + "board.json", "w") as file:
            json.dump(board, file)
        return self.hal.open_rig(self.folder)


def _empty(folder):
    for name in os.listdir(folder):
        path = folder + name
        try:
            os.remove(path)
        except OSError:
            _empty(path + "/")
            os.rmdir(path)


def cases():
    """[(name, function), ...] of all cases."""
    found = []
    for kind in KINDS:
        module = __import__("cases_" + kind)
        found += [(name, getattr(module, name)) for name in sorted(dir(module)) if name.startswith("case_")]
    return found


def main(folder, boards_path):
    with open(boards_path) as file:
        boards = json.load(file)
    ctx = Ctx(boards, folder)
    for name, case in cases():
        try:
            ctx.begin()
            case(ctx)
            print("%s\tok" % name)
        except BaseException as fault:
            if hasattr(sys, "print_exception"):
                sys.print_exception(fault)
            print("%s\t%r" % (name, fault))


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
