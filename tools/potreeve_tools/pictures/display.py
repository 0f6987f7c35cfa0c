"""Makes the pictures of the display's pages, drawn by real MicroPython from the firmware's own strokes.

    .venv/bin/python -m potreeve_tools.pictures.display            the guide's sheets
    .venv/bin/python -m potreeve_tools.pictures.display FOLDER     each page of each situation as a file of its own

The rig is the reading room; what its pots and stores say here is invented, to show every kind of page.
"""

import sys
from pathlib import Path

from potreeve.logic import errors, reasons, record, signals, state

from potreeve_tools.bench import device
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.owner import commission
from potreeve_tools.virtual import dots
from potreeve_tools.world.rigfile import DEFAULT_RIG, load_rig

HERE = Path(__file__).resolve().parent
SITUATIONS = ("well", "trouble", "held")
"""All is well; three things for a person to do; held by a long press, thirsty."""


def situation(name):
    """What drawn.py is given for one of SITUATIONS: invented, see the module."""
    settings = commission.make_settings(load_rig(DEFAULT_RIG), boards.load("esp32").device_dict(), 1)
    made = state.fresh(len(settings["channels"]))
    rig, pots = made.rig, made.pots
    rig.memory, rig.soc_pm, rig.typical_um = 0, 720, 3000
    for pot, pm, given in zip(pots, (934, 812, 760), (550, 340, 1200), strict=True):
        pot.pm, pot.use_ul_mm, pot.spent[0] = pm, 5000, given
    head = dict.fromkeys(record.HEAD_NAMES, 0)
    head.update(battery_mv=3900, days_left=64, sleep_s=1500, tray_ml=20, tub_mark=3, tub_days=12)
    if name == "trouble":
        pots[0].ladder, pots[0].reason, pots[0].pm = state.HELD, reasons.NO_RISE, 640
        pots[1].ladder, pots[1].reason = state.RATIONED, reasons.OUT_OF_SOIL
        pots[2].reason, pots[2].pm = reasons.TRAY, 585
        rig.soc_pm = 90
        head.update(alarm=signals.CALL, days_left=5, tray_ml=1130, errors=errors.CLIMATE, tub_mark=1, tub_days=1)
    elif name == "held":
        rig.hold = reasons.OWNER
        pots[0].pm, pots[1].pm, pots[2].pm = 330, 480, 1000
        head.update(alarm=signals.NOTE, tub_mark=0, sleep_s=7200)
    return {"state": state.pack(made).hex(), "settings": settings, "head": head}


def pages(jobs):
    """What drawn.py says of each page of the jobs, `memory` in bytes."""
    return [{**page, "memory": bytes.fromhex(page["bytes"])} for page in device.run("drawn.py", jobs)]


def main(args):
    """Write the pictures."""
    found = pages([situation(name) for name in SITUATIONS])
    for number, name in enumerate(SITUATIONS):
        own = [page for page in found if page["job"] == number]
        if args:
            Path(args[0]).mkdir(parents=True, exist_ok=True)
            for page in own:
                target = Path(args[0]) / f"{name}_{page['page'] + 1}.png"
                target.write_bytes(dots.sheet([page["memory"]], times=4))
        else:
            (HERE / f"display_{name}.png").write_bytes(dots.sheet([page["memory"] for page in own]))


if __name__ == "__main__":
    main(sys.argv[1:])
