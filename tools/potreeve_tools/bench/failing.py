"""Every adapter call made to fail, at its n-th use and from its n-th use on, in a dosing sequence of three wakes.

The proof itself runs in standins/proofs/failing.py, in either interpreter.
"""

from potreeve_tools.bench import device, plainrig
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.rehearsal.engines import FIRMWARE

# A fast pump: the loop of a pulse calls feed and battery every 20 ms, and each of these calls is tried.
PUMP_UL_S = 60000


def job(board, firmware=FIRMWARE):
    """What the device-side programs are told."""
    settings = plainrig.settings()
    for channel in settings["channels"]:
        channel["pump_ul_s"] = PUMP_UL_S
    return {"board": boards.load(board).device_dict(), "settings": settings, "main": (firmware / "main.py").read_text()}


def run(board="rp2040_wifi", interpreter="micropython", only=(), firmware=FIRMWARE):
    """Returns a dict: calls (uses of each), runs, pulses (in the run in which nothing fails), faults ({"id",
    "fault"})."""
    lines = device.run("failing.py", {**job(board, firmware), "only": list(only)}, interpreter, firmware)
    found = next(line for line in lines if "calls" in line)
    found["faults"] = [line for line in lines if "id" in line]
    return found
