"""What a person may pump in service mode."""

from potreeve.logic import commanded

from vectors.made import fields, make_state, settings

LATE = {"up_s": 100000, "soc_pm": 800}


def opened(rig, pots, ms, battery_mv=3900, cup_ms=0, index=0, channel={}, drop=0):
    """(ms, reason, cup) and the accounts after a commanded pulse."""
    start = dict(LATE)
    start.update(rig)
    before = make_state(start, *pots)
    now, ms, reason, cup = commanded.open_pulse(before, index, ms, settings(len(pots), {}, channel), battery_mv, cup_ms,
                                               drop)
    told = fields(("intent_ms", "pulse_s", "pulsed", "dosing"), now.pots[index])
    told["spent"] = now.pots[index].spent[0]
    told["tray_ul"] = now.rig.tray_ul
    if before.pots[index].intent_ms or before.rig.tray_ul != start.get("tray_ul", 0):
        return "the state before was changed"
    return (ms, reason, cup), told


def _told(intent_ms, spent, tray_ul, dosing=0):
    ran = intent_ms > 0
    return {"intent_ms": intent_ms, "pulse_s": 100000 if ran else 0, "pulsed": 1 if ran else 0, "dosing": dosing,
            "spent": spent, "tray_ul": tray_ul}


UNKNOWN = {"pump_ul_s": 0}
SPENT = {"spent": [2000] + [0] * 12}

VECTORS = (
    ("opened", ({}, [{}], 1000), ((1000, 0, 0), _told(1000, 48, 4800))),
    ("opened", ({}, [{"dosing": 1}], 1000), ((1000, 0, 0), _told(1000, 48, 4800))),
    ("opened", ({}, [{}], 60000), ((8000, 0, 0), _told(8000, 384, 38400))),
    ("opened", ({}, [{}, {}], 1000, 3900, 0, 1), ((1000, 0, 0), _told(1000, 48, 4800))),
    # A battery too low, or unknown.
    ("opened", ({}, [{}], 1000, 3299), ((0, 34, 0), _told(0, 0, 0))),
    ("opened", ({}, [{}], 1000, 0), ((0, 34, 0), _told(0, 0, 0))),
    # The caps, and a cup where they leave nothing: the tray is not charged.
    ("opened", ({}, [SPENT], 1000), ((0, 31, 0), _told(0, 2000, 0))),
    ("opened", ({}, [SPENT], 1000, 3900, 1000), ((1000, 0, 1), _told(1000, 2048, 0))),
    ("opened", ({}, [SPENT], 1001, 3900, 1000), ((0, 31, 0), _told(0, 2000, 0))),
    ("opened", ({"tray_ul": 1500000}, [{}], 1000), ((0, 33, 0), _told(0, 0, 1500000))),
    ("opened", ({}, [{}, {"spent": [4000] + [0] * 12}], 1000), ((0, 32, 0), _told(0, 0, 0))),
    # A first drop that somebody watches: beyond the day, into the tray's account, in its own bounds.
    ("opened", ({}, [SPENT], 1000, 3900, 10000, 0, {}, 1), ((1000, 0, 0), _told(1000, 2048, 4800))),
    ("opened", ({}, [SPENT], 1000, 3900, 0, 0, {}, 1), ((0, 31, 0), _told(0, 2000, 0))),
    ("opened", ({}, [SPENT], 2583, 3900, 10000, 0, {}, 1), ((2583, 0, 0), _told(2583, 2124, 12399))),
    ("opened", ({}, [SPENT], 2584, 3900, 10000, 0, {}, 1), ((0, 31, 0), _told(0, 2000, 0))),
    ("opened", ({"tray_ul": 745200}, [SPENT], 1000, 3900, 10000, 0, {}, 1), ((1000, 0, 0), _told(1000, 2048, 750000))),
    ("opened", ({"tray_ul": 745201}, [SPENT], 1000, 3900, 10000, 0, {}, 1), ((0, 33, 0), _told(0, 2000, 745201))),
    ("opened", ({}, [{}], 1000, 3900, 10000, 0, UNKNOWN, 1), ((0, 24, 0), _told(0, 0, 0))),
    ("opened", ({"hold": 50}, [SPENT], 1000, 3900, 10000, 0, {}, 1), ((0, 50, 0), _told(0, 2000, 0))),
    ("opened", ({}, [{"ladder": 2, "reason": 20}], 1000, 3900, 10000, 0, {}, 1), ((0, 20, 0), _told(0, 0, 0))),
    ("opened", ({"memory": 2}, [{}], 1000, 3900, 10000, 0, {}, 1), ((0, 33, 0), _told(0, 2000, 1500000))),
    # Where the day has room, it is what is used.
    ("opened", ({}, [{}], 8000, 3900, 10000, 0, {}, 1), ((8000, 0, 0), _told(8000, 384, 38400))),
    # A memory just lost has its day given and its tray full.
    # a pump never measured runs into a cup, or not at all
    ("opened", ({}, [{}], 1000, 3900, 0, 0, UNKNOWN), ((0, 24, 0), _told(0, 0, 0))),
    ("opened", ({}, [{}], 1000, 3900, 1000, 0, UNKNOWN), ((1000, 0, 1), _told(1000, 0, 0))),
    ("opened", ({}, [{}], 1001, 3900, 1000, 0, UNKNOWN), ((0, 24, 0), _told(0, 0, 0))),
    ("opened", ({"memory": 2}, [{}], 1000), ((0, 31, 0), _told(0, 2000, 1500000))),
    # Holds; what holds the water does not hold a cup, but damaged code does.
    ("opened", ({"hold": 50}, [{}], 1000), ((0, 50, 0), _told(0, 0, 0))),
    ("opened", ({"hold": 50}, [{}], 1000, 3900, 10000), ((1000, 0, 0), _told(1000, 48, 4800))),
    ("opened", ({"hold": 53}, [{}], 1000, 3900, 10000), ((0, 53, 0), _told(0, 0, 0))),
    ("opened", ({}, [{"ladder": 2, "reason": 20}], 1000), ((0, 20, 0), _told(0, 0, 0))),
    ("opened", ({}, [{"ladder": 2, "reason": 24}], 1000), ((1000, 0, 0), _told(1000, 48, 4800))),
)
