"""What the tray's sensor says, and what is made of it: each threshold and its neighbour.

Dry it shows 680 pm, wet 200. This pot holds 500 ml, its stress point lies at 475 pm; the tray takes 1500 ml.
"""

from potreeve.logic import cycle, extra, recorded, wet

from vectors.made import changed, make_state, settings

DAY = 86400
# A pot that is short of water, and keeps what it gets.
DRY = {"known": 1, "pm": 460, "filtered": 38200 * 16, "raw": 38200, "dry_s": 3600, "kept_pm": 900, "model_pm": 460}
DUE = {"known": 1, "pm": 460, "filtered": 38200 * 16, "raw": 38200, "kept_pm": 900, "model_pm": 460}
AIR = {"temp_cdeg": 2000, "rh_pm": 500}


def classified(share_pm, sum_mv=3300, keys=None):
    """By the wires' share of a sum of both voltages."""
    told = {"tray_sensor": keys} if keys else {}
    forth_mv = share_pm * sum_mv // 1000
    return wet.classify(forth_mv, sum_mv - forth_mv, told)


def readings(pms, changes):
    """What a calm wake sees, half an hour after the last."""
    told = {
        "cause": 6, "elapsed_s": 1800, "awake_ms": 1500, "button": 0, "utc_s": 1780000000, "usb": 0,
        "battery_mv": 3900, "temp_cdeg": 2100, "rh_pm": 450, "lx": 800, "errors": 0, "tray_wet": 1,
        "raw": [52000 - 30 * pm for pm in pms], "spread": [40] * len(pms), "done_ms": [65535] * len(pms),
        "under_mv": [0] * len(pms),
    }
    told.update(changes)
    seen = cycle.Readings()
    for name in told:
        setattr(seen, name, told[name])
    return seen


def stepped(rig, more, changes, pot=None, wired=True):
    """(hold, alarm, whether a pump runs, the tray's account in ml, what the record says of sensor and tub) after a
    whole wake of a rig with a pot that is due."""
    made = _rig(rig, more, changed(DUE, pot or {}))
    made.extra = made.extra.pack() if wired else None
    energy = {"active_ua": 30000, "sleep_ua": 1500, "boot_ms": 500, "boot_ua": 40000, "pump_ua": 150000,
              "probe_ua": 5000, "report_uah": 60}
    now, actions, line = cycle.step(made, readings([460], changes), settings(1, {}, {}), energy)
    head = recorded.decode(line)[0]
    told = head["version"], head["tray_wet"], head["tub_mark"], head["tub_days"]
    return now.rig.hold, actions.alarm, any(actions.pulse_ms), now.rig.tray_ul // 1000, told


def _rig(rig, more, *pots):
    made = make_state(changed({"up_s": 10 * DAY}, rig), *(pots or ({"known": 1, "pm": 800},)))
    made.extra = extra.fresh()
    for name in more:
        setattr(made.extra, name, more[name])
    return made


def observed(rig, more, seen, told_ul=0, keys=None):
    """(hold, tray in ml, what the sensor added in ml, wet, held) after a wake; seen: changes of readings."""
    made = _rig(rig, more)
    said = readings([800], seen)
    wet.observe(made, said, settings(1, keys or {}, {}), told_ul)
    one = made.extra
    return made.rig.hold, made.rig.tray_ul // 1000, one.added_ul // 1000, one.wet, one.held


def walked(seen, rig=None, step_s=1800):
    """(hold, tray in ml) after each of some readings, so far apart."""
    made = _rig(rig or {}, {})
    found = []
    for tray_wet in seen:
        made.rig.up_s += step_s
        wet.observe(made, readings([800], {"tray_wet": tray_wet}), settings(1, {}, {}), made.rig.tray_ul)
        found.append((made.rig.hold, made.rig.tray_ul // 1000))
    return found


def dried(more, seen, keys=None, open_ul=0, wakes=48):
    """The tray's account in ml, of a litre, after so many dry half hours."""
    pot = {"known": 1, "pm": 800, "closing": 1, "dose_most_ul": open_ul}
    made = _rig({"tray_ul": 1000000}, changed({"tray_wet": 1}, more), pot)
    for _ in range(wakes):
        wet.observe(made, readings([800], changed({"tray_wet": 1}, seen)), settings(1, keys or {}, {}), 0)
    return made.rig.tray_ul // 1000


def decided(more, pots, believed=None, tray_ul=0):
    """(pulses that run, tray in ml, hold) in a rig held for water, of which the sensor added all but tray_ul."""
    made = _rig({"hold": 56, "tray_ul": 1500000, "soc_pm": 900}, changed({"wet": 1, "tray_wet": 2}, more), *pots)
    made.extra.added_ul = 1500000 - tray_ul
    told = settings(len(pots), {}, {})
    pulses = wet.decide(made, told, believed or [True] * len(pots))
    return [ms > 0 for ms in pulses], made.rig.tray_ul // 1000, made.rig.hold


VECTORS = (
    ("classified", (680,), 1),
    ("classified", (760,), 1),
    ("classified", (762,), 3),
    ("classified", (1000,), 3),
    ("classified", (562,), 1),
    ("classified", (560,), 2),
    ("classified", (200,), 2),
    ("classified", (9,), 2),
    ("classified", (7,), 4),
    ("classified", (0,), 4),
    ("classified", (680, 2000), 1),
    ("classified", (680, 1999), 4),
    ("classified", (680, 4600), 1),
    ("classified", (680, 4601), 4),
    ("classified", (600, 3300, {"dry_pm": 900, "wet_pm": 100}), 2),
    ("classified", (910, 3300, {"dry_pm": 900, "wet_pm": 100}), 1),
    ("classified", (930, 3300, {"dry_pm": 900, "wet_pm": 100}), 3),
    ("share_pm", (2250, 1050), 681),
    ("share_pm", (0, 3100), 0),
    ("share_pm", (0, 1999), -1),
    ("share_pm", (0, 4601), -1),
    ("classify", (0, 0, {}), 4),
    ("classify", (3100, 0, {}), 3),
    ("classify", (3300, 3300, {"tray_sensor": None}), 4),
    # Dry: nothing. Wet: held, and full. A short as well; a broken wire says nothing.
    ("observed", ({"tray_ul": 100000}, {}, {"tray_wet": 1}), (0, 100, 0, 0, 0)),
    ("observed", ({"tray_ul": 100000}, {}, {"tray_wet": 2}), (56, 1500, 1400, 1, 0)),
    ("observed", ({"tray_ul": 100000}, {}, {"tray_wet": 4}), (56, 1500, 1400, 1, 0)),
    ("observed", ({"tray_ul": 100000}, {}, {"tray_wet": 3}), (0, 100, 0, 0, 0)),
    ("observed", ({"tray_ul": 1600000}, {}, {"tray_wet": 2}), (56, 1600, 0, 1, 0)),
    # It waits until it was dry for two hours; a broken wire ends nothing.
    ("observed", ({}, {"wet": 1, "wet_last_s": 10 * DAY - 7199}, {"tray_wet": 1}), (56, 1500, 1500, 1, 0)),
    ("observed", ({"hold": 56}, {"wet": 1, "wet_last_s": 10 * DAY - 7200}, {"tray_wet": 1}), (0, 50, 0, 0, 0)),
    ("observed", ({"hold": 57}, {"wet": 1, "wet_last_s": 10 * DAY - 7200}, {"tray_wet": 1}), (0, 50, 0, 0, 0)),
    ("observed", ({"hold": 56}, {"wet": 1}, {"tray_wet": 3}), (56, 1500, 1500, 1, 0)),
    # What was of the account's own stays; and what the sensor does not reach may be there, as far as the tray takes.
    ("observed", ({"hold": 56, "tray_ul": 1500000}, {"wet": 1, "added_ul": 1100000}, {"tray_wet": 1}),
     (0, 400, 0, 0, 0)),
    ("observed", ({"hold": 56, "tray_ul": 900000}, {"wet": 1, "added_ul": 1100000}, {"tray_wet": 1}), (0, 50, 0, 0, 0)),
    ("observed", ({"hold": 56}, {"wet": 1}, {"tray_wet": 1}, 0, {"tray_headroom_ml": 30}), (0, 30, 0, 0, 0)),
    ("observed", ({"hold": 56}, {"wet": 1}, {"tray_wet": 1}, 0, {"tray_sensor": {"dry_pm": 680, "wet_pm": 200,
                                                                               "reach_ml": 80}}), (0, 80, 0, 0, 0)),
    # What dried while it was wet was the account's own.
    ("observed", ({"hold": 56, "tray_ul": 900000}, {"wet": 1, "added_ul": 1100000}, {"tray_wet": 2}),
     (56, 1500, 1500, 1, 0)),
    # Other holds: a person's stands an hour, what the probes said yields, and comes back; what stops harder stays.
    ("observed", ({"hold": 50, "hold_s": 10 * DAY - 3599}, {}, {"tray_wet": 2}), (50, 1500, 1500, 1, 0)),
    ("observed", ({"hold": 50, "hold_s": 10 * DAY - 3600}, {}, {"tray_wet": 2}), (56, 1500, 1500, 1, 50)),
    ("observed", ({"hold": 54}, {}, {"tray_wet": 2}), (56, 1500, 1500, 1, 54)),
    ("observed", ({"hold": 55}, {}, {"tray_wet": 2}), (56, 1500, 1500, 1, 55)),
    ("observed", ({"hold": 51}, {}, {"tray_wet": 2}), (51, 1500, 1500, 1, 0)),
    ("observed", ({"hold": 53}, {}, {"tray_wet": 2}), (53, 1500, 1500, 1, 0)),
    ("observed", ({"hold": 56}, {"wet": 1, "held": 55}, {"tray_wet": 1}), (55, 50, 0, 0, 0)),
    ("observed", ({"hold": 53}, {"wet": 1, "held": 55}, {"tray_wet": 1}), (53, 50, 0, 0, 0)),
    ("observed", ({"hold": 56}, {"wet": 1, "held": 55}, {"tray_wet": 1, "button": 1}), (0, 50, 0, 0, 0)),
    # A press that has just said "empty", with no hold left: contradicted while it is wet, else believed.
    ("observed", ({}, {"wet": 1}, {"tray_wet": 2, "button": 2}, 300000), (57, 1500, 1200, 1, 0)),
    ("observed", ({}, {"wet": 1}, {"tray_wet": 4, "button": 2}, 300000), (57, 1500, 1200, 1, 0)),
    ("observed", ({}, {"wet": 1, "added_ul": 5000, "wet_last_s": 10 * DAY}, {"tray_wet": 1, "button": 2}, 300000),
     (0, 0, 0, 0, 0)),
    ("observed", ({}, {"wet": 1, "added_ul": 5000}, {"tray_wet": 3, "button": 2}, 300000), (0, 0, 0, 0, 0)),
    ("observed", ({"hold": 50, "hold_s": 10 * DAY}, {"wet": 1}, {"tray_wet": 2, "button": 2}, 300000),
     (50, 1500, 1500, 1, 0)),
    ("observed", ({}, {"wet": 1}, {"tray_wet": 2, "button": 1}, 300000), (56, 1500, 1500, 1, 0)),
    ("walked", ([1, 2, 1, 1, 1, 1, 1],), [(0, 0), (56, 1500), (56, 1500), (56, 1500), (56, 1500), (0, 50), (0, 50)]),
    ("walked", ([2, 1, 1, 2, 1, 1, 1, 1],), [(56, 1500)] * 7 + [(0, 50)]),
    # A whole wake: it stops within the same one, whatever was due; and goes on where the sensor was taken away.
    ("stepped", ({}, {}, {}), (0, 0, True, 32, (2, 1, 0, 255))),
    ("stepped", ({}, {}, {"tray_wet": 2}), (56, 2, False, 1500, (2, 2, 0, 255))),
    ("stepped", ({}, {}, {"tray_wet": 4, "errors": 8192}), (56, 2, False, 1500, (2, 4, 0, 255))),
    ("stepped", ({}, {}, {"tray_wet": 3, "errors": 8192}), (0, 1, True, 32, (2, 3, 0, 255))),
    ("stepped", ({}, {"tub_days": 5}, {"tub_mark": 3}), (0, 0, True, 32, (2, 1, 3, 4))),
    ("stepped", ({}, {"wet": 1, "wet_since_s": 0}, {"tray_wet": 2}), (56, 2, True, 1532, (2, 2, 0, 255))),
    ("stepped", ({}, {"wet": 1, "wet_since_s": 0}, {"tray_wet": 2, "errors": 1}), (56, 2, False, 1500, (2, 2, 0, 255))),
    ("stepped", ({"hold": 50, "hold_s": 10 * DAY, "tray_ul": 300000}, {}, {"tray_wet": 2, "button": 2}),
     (57, 2, False, 1500, (2, 2, 0, 255))),
    ("stepped", ({"hold": 50, "hold_s": 10 * DAY, "tray_ul": 300000}, {}, {"button": 2}),
     (0, 0, True, 32, (2, 1, 0, 255))),
    ("stepped", ({"hold": 56}, {}, {"tray_wet": 0}), (0, 0, True, 32, (2, 0, 0, 255))),
    ("stepped", ({}, {}, {"tray_wet": 0}, None, False), (0, 0, True, 32, (1, 0, 0, 255))),
    # A day of dry readings, and the account dries by the air as well: 1169 Pa let 701 um a day, 500 of them are passed
    # by what dries anyway.
    ("dried", ({"dry_since_s": 9 * DAY}, AIR), 981),
    ("dried", ({"tray_wet": 0}, AIR), 1000),
    ("dried", ({"dry_since_s": 9 * DAY + 1}, AIR), 1000),
    ("dried", ({"dry_since_s": 9 * DAY}, {"temp_cdeg": 2000, "rh_pm": 650}), 1000),
    ("dried", ({"dry_since_s": 9 * DAY}, {"temp_cdeg": -32768, "rh_pm": 500}), 1000),
    ("dried", ({"dry_since_s": 9 * DAY}, {"temp_cdeg": 2000, "rh_pm": -1}), 1000),
    ("dried", ({"dry_since_s": 9 * DAY}, AIR, {"tray_dry_um_day": 0}), 1000),
    ("dried", ({"dry_since_s": 9 * DAY}, AIR, None, 990000), 990),
    ("dried", ({"dry_since_s": 9 * DAY}, changed(AIR, {"tray_wet": 3})), 1000),
    # A day of holding, then a pot that is short of water and keeps it gets a dose, on the account without the sensor.
    ("decided", ({"wet_since_s": 9 * DAY}, [DRY]), ([True], 1532, 56)),
    ("decided", ({"wet_since_s": 9 * DAY + 1}, [DRY]), ([False], 1500, 56)),
    ("decided", ({"wet_since_s": 0}, [changed(DRY, {"dry_s": 0})]), ([False], 1500, 56)),
    ("decided", ({"wet_since_s": 0}, [changed(DRY, {"kept_pm": 499})]), ([False], 1500, 56)),
    ("decided", ({"wet_since_s": 0}, [changed(DRY, {"ladder": 1})]), ([False], 1500, 56)),
    ("decided", ({"wet_since_s": 0}, [changed(DRY, {"ladder": 2, "reason": 20})]), ([False], 1500, 56)),
    ("decided", ({"wet_since_s": 0}, [DRY], [False]), ([False], 1500, 56)),
    ("decided", ({"wet_since_s": 0}, [DRY], None, 1490000), ([False], 1500, 56)),
    ("decided", ({"wet_since_s": 0}, [changed(DRY, {"dry_s": 0}), DRY]), ([False, True], 1532, 56)),
    ("decided", ({"wet_since_s": 0}, [changed(DRY, {"dry_s": 0, "dosing": 1, "pm": 700})]), ([True], 1532, 56)),
)
