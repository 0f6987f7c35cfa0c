"""The board starts over again and again at the same stage of its wake; see standins/proofs/loops.py."""

from potreeve_tools.bench import device, failing
from potreeve_tools.rehearsal.engines import FIRMWARE


def run(board="rp2040_wifi", interpreter="micropython", firmware=FIRMWARE, until=""):
    """Returns {"loops": what each came to, "faults": [{"id", "fault"}]}. until: end with the first fault that says
    this."""
    lines = device.run("loops.py", {**failing.job(board, firmware), "until": until}, interpreter, firmware)
    return {"loops": [line for line in lines if "stage" in line], "faults": [line for line in lines if "id" in line]}
