"""How much room the firmware takes: flash as .mpy, each board's heap, growth over many wakes."""

import json
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from potreeve_tools.bench import device, plainrig
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.image import compiled
from potreeve_tools.rehearsal import wasm
from potreeve_tools.rehearsal.engines import FIRMWARE, STANDINS
from potreeve_tools.standins.proofs import weighed_radio

MPY_AIM_BYTES = 64 * 1024
EXTRAS_AIM_BYTES = 96 * 1024
RADIO_AIM_BYTES = 72 * 1024
"""Of the compiled modules alone, with a radio."""

# Long enough for the log of a small flash to have turned over once, so that
# nothing is still filling up when the count begins.
WARM_WAKES = 900
WAKES = 1000
SMALL_FLASH_BLOCKS = 40
# Enough for a dose and for a day's end.
TRIED_WAKES = 60

# Run at the top of the guest, where its collector may be trusted: once, at the end
# of loading, when no function is under way whose frame it could not see. After
# that it stays off, and what a wake takes is everything the wake ever allocated.
_GUEST = """
import gc
gc.disable()
import sys
sys.path.append("/input/firmware")
sys.path.append("/input/device")
sys.path.append("/input/device/proofs")
import host
import stubchip
import weighed
gc.collect()
bare = gc.mem_alloc()
weighed.hardware()
gc.collect()
hardware = gc.mem_alloc()
weighed.application()
gc.collect()
code = gc.mem_alloc()
weighed.session()
gc.collect()
ready = gc.mem_alloc()
weighed.wake()
first = gc.mem_alloc()
weighed.wake()
again = gc.mem_alloc()
host.call("ask", "%d %d %d %d %d %d" % (bare, hardware, code, ready, first, again))
"""

# The same with a radio in the settings, in an interpreter of its own: no wake, so its collector may be trusted again.
_GUEST_RADIO = (
    _GUEST.partition("weighed.wake()")[0]
    + """
import weighed_radio
gc.collect()
standin = gc.mem_alloc() - ready
weighed_radio.load(weighed.kept)
gc.collect()
radio = gc.mem_alloc()
host.call("ask", "%d %d" % (ready - bare, radio - standin - bare))
"""
)


# The same with a display in the board file. Told last: how many names MicroPython's table holds then.
_GUEST_DISPLAY = (
    _GUEST.partition("weighed.wake()")[0]
    + """
import micropython
import weighed_display
gc.collect()
standin = gc.mem_alloc() - ready
weighed_display.load(weighed.kept)
gc.collect()
display = gc.mem_alloc()
host.call("ask", "%d" % (display - standin - bare))
micropython.qstr_info()
"""
)


def run():
    """Measure. Returns {"files": [...], "source_bytes", "image_bytes" by board, "radio_bytes" (modules alone, with a
    radio) by board, "extras_bytes" (all, with a radio) of boards with extras, "mpy_bytes" of the largest without,
    "heap": [{...}, one per board], "growth": {...}}."""
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
    main = FIRMWARE / compiled.MAIN
    rows.append(
        {"file": compiled.MAIN, "source_bytes": main.stat().st_size, "mpy_bytes": len(compiled.main_text(FIRMWARE))}
    )
    text = len(compiled.main_text(FIRMWARE))
    found = {name: boards.load(name).device_dict() for name in boards.names()}
    images = {
        name: text + sum(map(len, compiled.for_board(made, board).values()))
        for name, board in found.items()
        if "extras" not in board
    }
    with_radio = {name: sum(map(len, compiled.for_board(made, found[name], radio=True).values())) for name in images}
    extras = {
        name: text + sum(map(len, compiled.for_board(made, board, radio=True).values()))
        for name, board in found.items()
        if "extras" in board
    }
    return {
        "radio_bytes": with_radio,
        "radio_aim_bytes": RADIO_AIM_BYTES,
        "extras_bytes": extras,
        "extras_aim_bytes": EXTRAS_AIM_BYTES,
        "files": rows,
        "source_bytes": sum(row["source_bytes"] for row in rows),
        "image_bytes": images,
        "mpy_bytes": max(images.values()),
        "mpy_aim_bytes": MPY_AIM_BYTES,
        "heap": [heap(name) for name in boards.names()],
        "growth": growth(),
    }


def holds(found):
    """True when what run() found is within every bound."""
    return (
        found["mpy_bytes"] <= found["mpy_aim_bytes"]
        and found["growth"]["grown"] == 0
        and max(found["radio_bytes"].values()) <= found["radio_aim_bytes"]
        and max(found["extras_bytes"].values()) <= found["extras_aim_bytes"]
        and all(row["free"] >= 0 and row["radio_free"] >= 0 for row in found["heap"])
    )


def heap(board, firmware=FIRMWARE):
    """Heap of one board, a name or a Board, in bytes: the real `hal` with the drivers its file names, over a stub of
    `machine`.

    `alive`: before the first wake, in 32-bit MicroPython. `working`: the most a wake holds at once on top of that,
    in 64-bit MicroPython, whose objects are up to twice as large, so rather more than on a board. `peak`: both;
    `free`: what is left then of the heap the board file grants; less than nothing is too little. Gaps between what
    is held are not counted. `display`: alive with everything of the display loaded; `showing`, `display_peak`: as
    working and peak, while it shows a page; 0 without one. `wake_allocates`: all that a wake allocates where
    nothing is collected. `told`: what settings with a radio add to alive; `radio`: alive with everything of the
    radio loaded, once a wake's work is done; `sending`, `radio_peak`: as working and peak, while it reports;
    `radio_free`: what either leaves. What TLS takes is not in it: see host_tests/radio/test_tls_heap.py.
    """
    found = board if isinstance(board, boards.Board) else boards.load(board)
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        shutil.copytree(compiled.folder(firmware), root / "firmware")
        shutil.copytree(STANDINS, root / "device")
        (root / "board.json").write_text(found.device_json())
        (root / "settings.json").write_text(
            json.dumps(plainrig.settings(len(found.data["pins"]["pumps"]), **plainrig.measured(found.device_dict())))
        )
        working, sending, showing = _working64(root)
        row = {"board": found.data["name"], **_alive32(root)}
        row.update({"working": working, "sending": sending, "showing": showing})
    row["peak"] = row["alive"] + row["working"]
    row["radio_peak"] = row["radio"] + row["sending"]
    row["display_peak"] = row["display"] + row["showing"]
    row["heap"] = found.device_dict()["heap"]["bytes"]
    row["free"] = row["heap"] - max(row["peak"], row["display_peak"])
    row["radio_free"] = row["heap"] - max(row["radio_peak"], row["peak"] + row["told"])
    return row


def _alive32(root):
    said = []

    def ask(text):
        said.append([int(word) for word in text.split()])
        return ""

    wasm.run_code(_GUEST, ask, root)
    bare, hardware, code, ready, first, again = said[0]
    settings = json.loads((root / "settings.json").read_text())
    (root / "settings.json").write_text(json.dumps({**settings, "radio": weighed_radio.KEYS}))
    wasm.run_code(_GUEST_RADIO, ask, root)
    told, radio = said[1]
    return {
        **_display32(root),
        "hal": hardware - bare,
        "code": code - bare,
        "alive": ready - bare,
        "wake_allocates": max(first - ready, again - first),
        "told": told - (ready - bare),
        "radio": radio,
    }


def _display32(root):
    """Alive with a display loaded, and names in MicroPython's table then; nothing where none is wired."""
    if not compiled.has_extra(json.loads((root / "board.json").read_text()), "display"):
        return {"display": 0}
    said = []
    output, _ = wasm.run_code(_GUEST_DISPLAY, lambda text: said.append(int(text)) or "", root)
    return {"display": said[0], "names": int(re.search(r"n_qstr=(\d+)", output)[1])}


def _working64(root):
    """[what a wake holds at once, what a report does, what a display does], seen in 64-bit MicroPython; see
    weigh_start.py."""
    done = subprocess.run(
        [
            *device.MICROPYTHON,
            "-X",
            # Enough, and no more: the collector goes through all of it at every half kilobyte.
            "heapsize=1m",
            str(root / "device" / "proofs" / "weigh_start.py"),
            f"{root}/",
            str(TRIED_WAKES),
        ],
        env={"PATH": "/usr/bin:/bin", "MICROPYPATH": f"{root}/device:{root}/firmware:.frozen"},
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode or not done.stdout.startswith("working"):
        raise device.Broke(done.stdout + done.stderr)
    return [int(word) for word in done.stdout.split()[1:]]


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
