"""How fast a rehearsal is: days per second per interpreter, a wake by its parts."""

import time

from potreeve_tools.bench import device, plainrig
from potreeve_tools.boards import boardfile as boards
from potreeve_tools.rehearsal import engines
from potreeve_tools.rehearsal.rehearse import make_session
from potreeve_tools.world.rigfile import load_rig

# Aims for one rig-year on one core, in seconds; none for the 32-bit build.
AIMS_S = {"cpython": 10.0, "micropython": 20.0, "micropython32": None}

# The 32-bit build is slow to start over, so it gets a shorter run of a board it can rehearse.
RUNS = {"cpython": ("rp2040_wifi", 1.0), "micropython": ("rp2040_wifi", 1.0), "micropython32": ("latched", 0.05)}

YEAR_DAYS = 365
PART_WAKES = 500


def run(days=60, seed=1, on_part=lambda name: None):
    """Measure. Returns {"interpreters": [...], "parts_us": {...}}; all times are of this one run."""
    rig = load_rig()
    rows = []
    for name, (board_name, share) in RUNS.items():
        on_part(name)
        rows.append(_rehearsal(name, rig, board_name, max(2.0, days * share), seed))
    on_part("parts of a wake")
    parts = _parts()
    slowest = rows[0]["s_per_rig_year"]
    for row in rows:
        row["times_cpython"] = round(row["s_per_rig_year"] / slowest, 2)
    return {"interpreters": rows, "parts_us": parts}


def _rehearsal(name, rig, board_name, days, seed):
    session = make_session(rig, boards.load(board_name).device_dict(), days, seed)
    world_s = 0.0
    handle = session.handle

    def timed(text):
        nonlocal world_s
        began = time.perf_counter()
        answer = handle(text)
        world_s += time.perf_counter() - began
        return answer

    session.handle = timed
    began = time.perf_counter()
    engines.ENGINES[name](session)
    took_s = time.perf_counter() - began
    wakes = len(session.records)
    return {
        "interpreter": name,
        "board": board_name,
        "days": days,
        "wakes": wakes,
        "s": round(took_s, 2),
        "days_per_s": round(days / took_s, 1),
        "compression": round(days * 86400 / took_s),
        "s_per_rig_year": round(took_s / days * YEAR_DAYS, 1),
        "aim_s": AIMS_S[name],
        "wake_us": round(took_s / wakes * 1e6),
        "world_us": round(world_s / wakes * 1e6),
    }


def _parts():
    job = {
        "measure": "parts",
        "board": boards.load("rp2040_wifi").device_dict(),
        "settings": plainrig.settings(),
        "wakes": PART_WAKES,
    }
    return device.run("measure.py", job, heap="4m")[0]
