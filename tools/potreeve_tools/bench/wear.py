"""How long the flash lasts: erases of each block in a rehearsal, carried on to the flash's endurance."""

import json

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.rehearsal import engines
from potreeve_tools.rehearsal.rehearse import make_session
from potreeve_tools.world.rigfile import load_rig

# Least erase cycles of a sector by the data sheets of such NOR flash (from memory).
CYCLES = 100_000

YEAR_DAYS = 365
DAY_S = 86400
BOARDS = ("rp2040_wifi", "rp2350_wifi", "esp32", "latched")


def run(names=BOARDS, days=30, seed=1, on_board=lambda name: None):
    """Rehearse the default rig in real MicroPython. Returns a list of dicts, one per board:

    board, days (to the last record), wakes, blocks, erases, erases_per_day, worst_block (erases), worst_per_day,
    used_blocks, years (until the worst block has seen CYCLES erases at this pace), years_spread (the same if all blocks
    that were used wore alike).
    """
    rig = load_rig()
    rows = []
    for name in names:
        on_board(name)
        rows.append(_wear(name, rig, days, seed))
    return rows


def _wear(name, rig, days, seed):
    board = boards.load(name).device_dict()
    session = make_session(rig, board, days, seed)
    handle = session.handle
    told = []

    def listening(text):
        if text.startswith("e "):
            told.append(json.loads(text[2:]))
            return ""
        return handle(text)

    session.handle = listening
    engines.run_unix(session, "wear")
    counts = told[0]
    # A battery that went flat ends the wear; what came before it sets the pace.
    days = session.record_s[-1] / DAY_S
    erases, worst, used = sum(counts), max(counts), sum(1 for one in counts if one)
    return {
        "board": board["name"],
        "days": round(days, 1),
        "wakes": len(session.records),
        "blocks": len(counts),
        "erases": erases,
        "erases_per_day": round(erases / days, 1),
        "worst_block": worst,
        "worst_per_day": round(worst / days, 2),
        "used_blocks": used,
        "years": round(CYCLES * days / worst / YEAR_DAYS, 1),
        "years_spread": round(CYCLES * days * used / erases / YEAR_DAYS, 1),
    }
