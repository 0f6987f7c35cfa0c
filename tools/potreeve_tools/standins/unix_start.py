"""Opening for the unix build of MicroPython: the link is stdin and stdout.

usage: unix_start.py MAIN [wear]

With "wear" the erases of each block are counted, and the flash is mounted anew at every start: where a board starts
over at every wake, littlefs begins looking for free blocks in another place each time, which spreads the wear. The last
thing asked over the link is then "e" and the counts, as JSON.
"""

import gc
import json
import sys

import flash

MAIN = sys.argv[1]
WEAR = sys.argv[2:] == ["wear"]


def ask(text):
    sys.stdout.buffer.write(text + "\n")
    return sys.stdin.buffer.readline()[:-1].decode()


geometry = json.loads(ask("g"))
chip = flash.Flash(geometry)
if WEAR:
    chip.erased = [0] * geometry["blocks"]
flash.mount(chip, geometry, True)


def make_store():
    import store

    return store.Store("/flash/data")


def run_main():
    if WEAR:
        flash.unmount()
        flash.mount(chip, geometry, False)
    with open(MAIN) as file:
        code = file.read()
    exec(code, {"__name__": "__main__"})
    gc.collect()


import start

start.run(ask, make_store, run_main)
if WEAR:
    ask("e " + json.dumps(chip.erased))
