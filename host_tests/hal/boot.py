"""Boots main.py as a board does, in whatever interpreter this is, and prints what happened as one line of JSON.

usage: boot.py TREE CTRL_C_MS LEFT_ON [SETTINGS]
TREE: a folder laid out like the board's file system (main.py, potreeve/, perhaps board.json). It becomes
the root: in MicroPython it is mounted there, with a littlefs in RAM as /data; in CPython `open` is redirected.
CTRL_C_MS: when Ctrl-C is pressed, -1 for never. LEFT_ON: a pin a soft reset left high, -1 for none.
SETTINGS: a file that becomes /data/settings.json (MicroPython only).
"""

import json
import sys


def as_root(tree):
    """Make TREE the root of the file system; returns the path of main.py."""
    if sys.implementation.name == "micropython":
        import vfs

        sys.path.append(tree + "/standins")
        import flash

        geometry = {"block_bytes": 4096, "blocks": 64, "prog_bytes": 256, "read_bytes": 32, "lookahead_bytes": 32}
        files = flash.littlefs(flash.Flash(geometry), geometry, True)
        vfs.umount("/")
        vfs.mount(vfs.VfsPosix(tree), "/")
        vfs.mount(files, "/data")
        sys.path[:] = ["/", "/lib", "/standins/chip", "/standins"]
        return "/main.py"
    import builtins
    import importlib.util

    sys.path[:0] = [tree + "/standins/chip", tree + "/standins"]
    for name in ("bench", "machine", "time", "esp32"):
        spec = importlib.util.spec_from_file_location(name, tree + "/standins/chip/" + name + ".py")
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        sys.modules[name] = module
    sys.path.insert(0, tree)
    plain_open = builtins.open
    builtins.open = lambda path, *more: plain_open(tree + path if path == "/board.json" else path, *more)
    return tree + "/main.py"


def sizes():
    """{name: bytes} of what the boot left in /data (MicroPython only)."""
    import os

    if sys.implementation.name != "micropython":
        return {}
    import gc

    gc.collect()  # closes what an interrupt left open, while littlefs is still there
    return {entry[0]: entry[3] for entry in os.ilistdir("/data")}


def press_ctrl_c():
    raise KeyboardInterrupt


def main(tree, ctrl_c_ms, left_on, settings):
    if settings:
        with open(settings) as file:
            settings = file.read()
    path = as_root(tree)
    from bench import bench
    from ends import Restart

    bench.adc[27] = 39718  # a battery at 4 V
    bench.adc[26] = 40000  # probes somewhere in their range
    if ctrl_c_ms >= 0:
        bench.plan(ctrl_c_ms, press_ctrl_c)
    if left_on >= 0:
        bench.levels[left_on] = 1
    if settings:
        with open("/data/settings.json", "w") as file:
            file.write(settings)
    with open(path, "rb") as file:
        source = file.read()
    try:
        exec(source, {"__name__": "__main__"})
        ended = "returned"
    except Restart as reset:
        ended = reset.args[0]
    except BaseException as fault:
        ended = type(fault).__name__
    shown = [list(event) for event in bench.events if event[0] in ("pin", "mode", "app", "reset", "wdt", "timer on")]
    print("RESULT " + json.dumps({"ended": ended, "events": shown, "now_ms": bench.now_us // 1000, "files": sizes()}))


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), sys.argv[4] if len(sys.argv) > 4 else "")
