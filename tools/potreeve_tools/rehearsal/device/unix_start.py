"""Opening for the unix build of MicroPython: the link is stdin and stdout."""

import gc
import json
import sys


def ask(text):
    sys.stdout.buffer.write(text + "\n")
    return sys.stdin.buffer.readline()[:-1].decode()


def make_store():
    import ramflash
    import store

    geometry = json.loads(ask("g"))
    flash = ramflash.RamFlash(geometry["block_bytes"], geometry["blocks"])
    ramflash.mount(flash, geometry, True)
    return store.Store("/flash/data")


def run_main():
    with open(MAIN) as file:
        code = file.read()
    exec(code, {"__name__": "__main__"})
    gc.collect()


MAIN = sys.argv[1]
import start

start.run(ask, make_store, run_main)
