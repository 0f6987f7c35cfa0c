"""Power cuts at every block write and erase, in real MicroPython on its real littlefs.

The proof itself runs in standins/proofs/cuts.py; this sets it up and reads
what it found.
"""

import json
import time

from potreeve_tools.bench import device, plainrig
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.rehearsal.engines import FIRMWARE
from potreeve_tools.terminal.faultlist import BadInput

SCENARIOS = {
    "wake": "wakes with doses: intent, completion, log",
    "settings": "a settings change: the file replaced, the last good one promoted",
    "bad-settings": "a settings file that does not pass",
    "rotation": "the log's segment full, the next begun",
    "queue": "what waits for a broker is sent, out of two segments",
    "limit": "the log's segment full, with as many segments as may be",
    "full": "no room left on the flash",
    "first": "first boot: empty flash, then settings",
}

# What must have happened in a scenario for it to have shown anything.
SHOWN = {"wake": "pulses", "rotation": "pulses", "queue": "sent", "limit": "dropped", "full": "dropped"}


def run(board="rp2040_wifi", scenarios=tuple(SCENARIOS), pairs=False, few=False, only=(), firmware=FIRMWARE, until=""):
    """Cut the power everywhere. Returns a dict: board, scenarios (counts), faults ({"id", "fault"}), cuts, pairs, s.

    board: name of a board file; few: only the coarsest tears; only: ids to rerun; until: end with the first
    fault that says this.
    """
    settings = plainrig.settings()
    bad = {**settings, "tray_headroom_ml": 0}
    if only:
        scenarios = _scenarios_of(only)
    _check_names(scenarios)
    job = {
        "board": boards.load(board).device_dict(),
        "settings": settings,
        "bad": json.dumps(bad),
        "new": json.dumps(plainrig.settings(wake_s=1200)),
        "scenarios": list(scenarios),
        "pairs": pairs,
        "few": few,
        "only": list(only),
        "until": until,
    }
    started = time.monotonic()
    lines = device.run("cuts.py", job, firmware=firmware)
    counts = [line for line in lines if "scenario" in line]
    for one in counts:
        key = SHOWN.get(one["scenario"])
        one["shown"] = one["writes"] > 0 and (key is None or bool(one[key]))
    if only and not any(one["cuts"] and (one["pairs"] or "+" not in "".join(only)) for one in counts):
        raise BadInput(
            [
                f"--only {only[0]}: no such cut here; an id is SCENARIO:OPERATION:TEAR as the bench printed it "
                "for this firmware and board"
            ]
        )
    return {
        "board": board,
        "scenarios": counts,
        "faults": [line for line in lines if "id" in line],
        "cuts": sum(one["cuts"] for one in counts),
        "pairs": sum(one["pairs"] for one in counts),
        "s": round(time.monotonic() - started, 1),
    }


def _scenarios_of(only):
    return list(dict.fromkeys(one.split(":")[0] for one in only))


def _check_names(scenarios):
    unknown = [name for name in scenarios if name not in SCENARIOS]
    if unknown:
        raise BadInput(
            [f'scenario = "{name}": no such scenario; there are: {", ".join(SCENARIOS)}' for name in unknown]
        )
