"""The virtual board's power-on: its file system becomes /, its chip becomes `machine`, then boot.py and main.py."""

import json
import os

import boardtime
import chip
import disguise
import flash
import repl
import vfs
from wire import FRAME, Wire


def on(space, fd, config_text):
    """Run the board until it restarts itself. space: the globals of main.py and the prompt."""
    config = json.loads(config_text)
    wire = Wire(fd)
    boardtime.wire = chip.wire = wire
    boardtime.epoch_s = 946684800 if config["mcu"].startswith("esp32") else 0
    chip.clock = boardtime
    chip.serial = config["serial"].encode()
    wire.hear = chip.hear
    mount(config, wire)
    disguise.put_on(config, chip, boardtime)
    for name in [name for name in space if not name.startswith("__")]:
        del space[name]
    prompt = repl.Prompt(wire, space, config["banner"], bool(config["raw"]))
    try:
        try:
            wire.tell("x", 1)
            run_file("boot.py", space)
            if not config["raw"]:
                run_file("main.py", space)
        except KeyboardInterrupt:
            pass
        repl.calmly(wire.tell, "x", 0)
        prompt.run()
    except (repl.Reboot, SystemExit):
        pass
    wire.tell("sr", 1 if prompt.raw else 0)


class Told:
    """Set as a flash's `before`: the rig hears of every so many operations that the interpreter is at its flash, where
    it must not be interrupted."""

    EVERY = 16

    def __init__(self, wire):
        self.wire = wire
        self.frame = ("0 f" + " " * FRAME)[:FRAME].encode()
        self.count = 0

    def __call__(self, chip, block, buf, offset):
        self.count += 1
        if self.count == self.EVERY:
            self.count = 0
            self.wire.write(self.frame)


def mount(config, wire):
    """The board's own file system, made anew when it can't be mounted, as boards' start-up code does."""
    geometry = config["flash"]
    device = flash.FileFlash(geometry, open(config["image"], "r+b"))
    device.before = Told(wire.file)
    fresh = False
    try:
        disk = flash.littlefs(device, geometry)
    except OSError:
        disk = flash.littlefs(device, geometry, True)
        fresh = True
    vfs.umount("/")
    vfs.mount(disk, "/")
    os.chdir("/")
    if fresh and config["mcu"].startswith("esp32"):
        with open("boot.py", "w") as file:
            file.write("# Runs at every start, before main.py.\n")


def run_file(name, space):
    """Run a file of the board if it is there; its fault ends it, not the board."""
    try:
        with open(name) as file:
            text = file.read()
    except OSError:
        return
    try:
        exec(compile(text, name, "exec"), space)
    except (Exception, KeyboardInterrupt) as fault:
        print(repl.traceback(fault).replace("\r", ""), end="")
