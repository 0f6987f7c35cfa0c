"""The virtual board's power-on: its file system becomes /, its chip becomes `machine`, then boot.py and main.py."""

import json
import os

import boardtime
import chip
import disguise
import repl
import vfs
from fileflash import FileFlash
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


def mount(config, wire):
    """The board's own file system, made anew when it can't be mounted, as boards' start-up code does."""
    flash = config["flash"]
    device = FileFlash(
        open(config["image"], "r+b"),
        wire.file,
        ("0 f" + " " * FRAME)[:FRAME].encode(),
        flash["block_bytes"],
        flash["blocks"],
    )
    options = {"progsize": flash["prog_bytes"], "readsize": flash["read_bytes"], "lookahead": flash["lookahead_bytes"]}
    fresh = False
    try:
        disk = vfs.VfsLfs2(device, **options)
    except OSError:
        vfs.VfsLfs2.mkfs(device, **options)
        disk = vfs.VfsLfs2(device, **options)
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
