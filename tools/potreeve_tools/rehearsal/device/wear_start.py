"""As unix_start.py, but counts each block's erases and mounts the flash anew at every start.

Where a board starts over at every wake, littlefs begins looking for free blocks
in another place each time, which spreads the wear. The last thing asked over the
link is "e" and the counts, as JSON.
"""

import gc
import json
import sys

import ramflash
import start


def ask(text):
    sys.stdout.buffer.write(text + "\n")
    return sys.stdin.buffer.readline()[:-1].decode()


geometry = json.loads(ask("g"))
flash = ramflash.RamFlash(geometry["block_bytes"], geometry["blocks"])
flash.erased = [0] * geometry["blocks"]
ramflash.mount(flash, geometry, True)


def make_store():
    import store

    return store.Store("/flash/data")


def run_main():
    ramflash.unmount()
    ramflash.mount(flash, geometry, False)
    with open(MAIN) as file:
        code = file.read()
    exec(code, {"__name__": "__main__"})
    gc.collect()


MAIN = sys.argv[1]
start.run(ask, make_store, run_main)
ask("e " + json.dumps(flash.erased))
