"""What a memory keeps when it comes back from a copy: one state, field by field."""

from potreeve_tools.owner import carry
from vectors.made import make_state

RIG = {
    "seq": 700,
    "up_s": 900000,
    "bucket_s": 899000,
    "ack": 3,
    "typical_um": 2500,
    "last_um": 2400,
    "usage_uah": 9000,
    "used_uah": 80000,
    "sag_mv": 210,
    "turn": 1,
    "tray_ul": 5000,
    "boots": 4,
    "planned_s": 1800,
    "soc_pm": 400,
    "day_s": 850000,
    "day_um": 900,
    "utc_s": 1780000000,
    "lx": 500,
}
POT = {
    "ladder": 0,
    "since_s": 600000,
    "gain_pm": 800,
    "use_ul_mm": 3000,
    "total_ul": 90000,
    "pulsed": 1,
    "pulse_s": 890000,
    "pulse_ul": 20000,
    "pulse_most_ul": 24000,
    "rationed": 1,
    "ration_s": 500000,
    "known": 1,
    "pm": 400,
    "filtered": 640000,
    "doubt": 3,
    "trust": 9,
    "dosing": 1,
    "day_ul": 20000,
    "day_ok": 1,
    "unproven": 1,
    "crossed": 1,
}


def carried(rig, *pots):
    """(fields of the new rig, of its pots) that are not as in a fresh one."""
    new = carry.carry(make_state(rig, *pots))
    plain = make_state({"memory": 2, "rest_mv": 0}, *[{} for _ in pots])
    return _changed(new.rig, plain.rig), [_changed(one, other) for one, other in zip(new.pots, plain.pots)]


def _changed(one, other):
    return {name: getattr(one, name) for name in sorted(vars_of(one)) if getattr(one, name) != getattr(other, name)}


def vars_of(thing):
    return [name for name in dir(thing) if name[0] != "_"]


def picked(what, names, **changes):
    """Those fields of `what`, and the changes."""
    return with_({name: what[name] for name in names.split()}, **changes)


def with_(what, **changes):
    new = dict(what)
    new.update(changes)
    return new


KEPT_RIG = picked(
    RIG,
    "seq up_s bucket_s ack typical_um last_um usage_uah used_uah sag_mv turn",
    day_s=900000,
    day_uah=80000,
    boot_s=900000,
)
KEPT_POT = picked(
    POT,
    "gain_pm use_ul_mm total_ul pulsed pulse_s pulse_ul pulse_most_ul rationed ration_s unproven crossed",
    since_s=900000,
)

VECTORS = (
    ("carried", (RIG, POT), (KEPT_RIG, [KEPT_POT])),
    ("carried", (RIG, with_(POT, judge=1)), (KEPT_RIG, [with_(KEPT_POT, unproven=2)])),
    ("carried", (RIG, with_(POT, intent_ms=4000)), (KEPT_RIG, [with_(KEPT_POT, unproven=2)])),
    ("carried", (RIG, with_(POT, judge=1, unproven=250)), (KEPT_RIG, [with_(KEPT_POT, unproven=250)])),
    # rationed starts over, held stays
    ("carried", (RIG, with_(POT, ladder=1, reason=5)), (KEPT_RIG, [KEPT_POT])),
    (
        "carried",
        (RIG, with_(POT, ladder=2, reason=20)),
        (KEPT_RIG, [with_(KEPT_POT, ladder=2, reason=20, since_s=600000)]),
    ),
    # a person's hold stays, a fault's does not
    ("carried", (with_(RIG, hold=50, hold_s=880000), POT), (with_(KEPT_RIG, hold=50, hold_s=880000), [KEPT_POT])),
    ("carried", (with_(RIG, hold=53, hold_s=880000), POT), (KEPT_RIG, [KEPT_POT])),
    (
        "carried",
        (RIG, POT, with_(POT, spent=[1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13])),
        (KEPT_RIG, [KEPT_POT, with_(KEPT_POT, spent=[1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13])]),
    ),
)
