"""How much room the firmware takes: flash as .mpy, heap in 32-bit MicroPython, growth over many wakes."""

import shutil
import tempfile
from pathlib import Path

from potreeve_tools.bench import device, plainrig
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.image import compiled
from potreeve_tools.rehearsal import wasm
from potreeve_tools.rehearsal.engines import FIRMWARE, STANDINS

MPY_AIM_BYTES = 64 * 1024
PEAK_AIM_BYTES = 96 * 1024

# Long enough for the log of a small flash to have turned over once, so that
# nothing is still filling up when the count begins.
WARM_WAKES = 900
WAKES = 1000
SMALL_FLASH_BLOCKS = 40

# Run at the top of the guest, where its collector may be trusted: once, at the end
# of loading, when no function is under way whose frame it could not see. After
# that it stays off, and what a wake takes is everything the wake ever allocated.
_GUEST = """
import gc
gc.disable()
import sys
sys.path.append("/input/firmware")
sys.path.append("/input/device")
import host
gc.collect()
bare = gc.mem_alloc()
import potreeve.hal_names
gc.collect()
code = gc.mem_alloc()
import potreeve.one_wake
gc.collect()
ready = gc.mem_alloc()
potreeve.one_wake.first()
boot = gc.mem_alloc()
potreeve.one_wake.second()
wake = gc.mem_alloc()
host.call("ask", "%d %d %d %d %d" % (bare, code, ready, boot, wake))
"""

_HAL_NAMES = """
from potreeve import app, keep, service
from potreeve.logic import air, light
"""

_ONE_WAKE = """
import json
import simhal
from potreeve import app

class Files:
    def __init__(self):
        self.files = {}
    def read(self, name):
        return self.files.get(name)
    def write(self, name, data):
        self.files[name] = data
    replace = write
    def append(self, name, data):
        pass
    def size(self, name):
        return len(self.files.get(name, b""))
    def names(self):
        return list(self.files)
    def suffer(self):
        pass

with open("/input/hello.json") as file:
    hello = file.read()
sense = json.loads(hello)["sense"]
again = " ".join([str(value) for value in [6, 0, 1800000] + sense[3:]])
files = Files()
with open("/input/settings.json") as file:
    files.write("settings.json", file.read().encode())
rig = simhal.SimRig(simhal.Link(lambda text: hello if text == "b" else again), files)
kept = []

def first():
    kept.append(app.Session(rig))
    kept[0].sleep(kept[0].wake())

def second():
    kept[0].sleep(kept[0].wake())
"""


def run():
    """Measure. Returns {"files": [...], "source_bytes", "mpy_bytes", "heap32": {...}, "growth": {...}}."""
    rows = []
    made = compiled.files(FIRMWARE)
    for name in compiled.modules(FIRMWARE):
        rows.append(
            {
                "file": name,
                "source_bytes": (FIRMWARE / name).stat().st_size,
                "mpy_bytes": len(made[compiled.mpy_name(name)]),
            }
        )
    main = (FIRMWARE / "main.py").stat().st_size
    rows.append({"file": "main.py", "source_bytes": main, "mpy_bytes": main})
    return {
        "files": rows,
        "source_bytes": sum(row["source_bytes"] for row in rows),
        "mpy_bytes": sum(row["mpy_bytes"] for row in rows),
        "mpy_aim_bytes": MPY_AIM_BYTES,
        "heap32": heap32(),
        "growth": growth(),
    }


def heap32():
    """Heap in 32-bit MicroPython, in bytes: code, all that is alive before the first wake, and what wakes allocate.

    `peak` is alive plus everything one wake allocates without a single collection: no wake can need more.
    """
    said = []

    def ask(text):
        said.append([int(word) for word in text.split()])
        return ""

    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        shutil.copytree(compiled.folder(FIRMWARE), root / "firmware")
        shutil.copytree(STANDINS, root / "device")
        (root / "firmware" / "potreeve" / "hal_names.py").write_text(_HAL_NAMES)
        (root / "firmware" / "potreeve" / "one_wake.py").write_text(_ONE_WAKE)
        _write_hello(root)
        wasm.run_code(_GUEST, ask, root)
    bare, code, ready, boot, wake = said[0]
    return {
        "code": code - bare,
        "alive": ready - bare,
        "first_wake_allocates": boot - ready,
        "wake_allocates": wake - boot,
        "peak": ready - bare + max(boot - ready, wake - boot),
        "peak_aim": PEAK_AIM_BYTES,
    }


def _write_hello(root):
    import json

    board = boards.load("rp2040_wifi").device_dict()
    sense = [0, 0, 0, 0, 4000, 2200, 500, 3000, 0, 0, 0] + [
        26000,
        26016,
        26000,
        25984,
        26000,
        26016,
        26000,
        26000,
        26000,
    ] * 3
    (root / "hello.json").write_text(json.dumps({"board": board, "settings": "", "sense": sense, "ticks_ms": 0}))
    (root / "settings.json").write_text(json.dumps(plainrig.settings()))


def growth(wakes=WAKES, firmware=FIRMWARE):
    """Live heap of 64-bit MicroPython before and after so many wakes of one session; must not differ."""
    board = boards.load("rp2040_wifi").device_dict()
    board["flash"] = {**board["flash"], "blocks": SMALL_FLASH_BLOCKS}
    job = {"measure": "growth", "board": board, "settings": plainrig.settings(), "warm": WARM_WAKES, "wakes": wakes}
    found = device.run("measure.py", job, firmware=firmware, heap="6m")[0]
    return {
        "wakes": wakes,
        "before": found["before"],
        "after": found["after"],
        "grown": found["after"] - found["before"],
    }
