"""Pots, rigs and settings for the vectors, in the language both Pythons share."""

from potreeve.logic import state

CHANNEL = {
    "name": "mint", "plant": "mint", "pot_ml": 1200, "holds_ml": 500, "curve": [(52000, 0), (22000, 1000)],
    "spread_raw": 100, "warmth_pm_10c": 0, "cal_temp_cdeg": 2000, "wilting_pm": 250, "depletion_pm": 400,
    "fill_pm": 900, "pump_ul_s": 4000, "pump_spread_pm": 200, "pump_cal_mv": 0, "prime_ms": 500,
    "tube_full_h": 0, "pulse_ml": 25,
    "pulse_max_ms": 8000, "dose_ml": 150, "day_ml": 200, "unproven_max": 3, "ration_ml": 25,
}

SETTINGS = {
    "schema": 1, "name": "sill", "wake_s": 1800, "night_wake_s": 3600, "soak_s": 1200, "dark_lx": 20,
    "tray_headroom_ml": 1500, "tray_area_cm2": 900, "tray_dry_um_day": 500, "rig_day_ml": 400,
    "battery_kind": "lithium", "battery_cells": 1, "battery_mah": 2500, "battery_stop_mv": 3200,
    "battery_reserve_pm": 80, "beep": True, "ack": 0, "insist": False, "pots_in_tray": False, "channels": [CHANNEL],
}


def changed(what, changes):
    """A copy of a dictionary with some values changed."""
    new = dict(what)
    new.update(changes)
    return new


def settings(count, changes, channel):
    new = changed(SETTINGS, changes)
    new["channels"] = [changed(CHANNEL, channel) for _ in range(count)]
    return new


# A rig and a pot told with what they must be told alone; the rest is as settings come.
RIG = {"tray_headroom_ml": 1500, "tray_area_cm2": 900}
POT = {"name": "mint", "pot_ml": 1200, "holds_ml": 500}


def faults(rig, pot, drop=()):
    """What settings.check finds wrong with that rig and pot once changed, some of the rig's keys left out."""
    from potreeve.logic import settings as checking

    data = changed(RIG, rig)
    if "channels" not in data:
        data["channels"] = [changed(POT, pot)]
    for key in drop:
        del data[key]
    return checking.check(data)[1]


def make_state(rig, *pots):
    """A state with whole memory; rig and each pot: dictionaries of changed fields."""
    made = state.fresh(len(pots))
    made.rig.memory = 0
    made.rig.rest_mv = 3900
    for name in rig:
        setattr(made.rig, name, rig[name])
    for pot, changes in zip(made.pots, pots):
        for name in changes:
            value = changes[name]
            # Buckets are changed in place; the vectors must not be.
            setattr(pot, name, list(value) if name == "spent" else value)
    return made


def fields(names, thing):
    """{name: value} of some fields, for comparing."""
    return {name: getattr(thing, name) for name in names}


# A tub of 8 litres with a lid, floats at 0.5, 2 and 5 litres.
TUB = {
    "mark1_ml": 500, "mark2_ml": 2000, "mark3_ml": 5000, "mark4_ml": 0, "full_ml": 8000, "open_cm2": 0, "strip": (),
    "share_full_pm": 1000, "share_low_pm": 0,
}

# Below 5 litres since a float fell there ten days ago; 200 ml a day.
HALF = {
    "tub_mark": 3, "tub_seen": 3, "tub_known": 5, "tub_sure": 2, "tub_from_ml": 5000, "tub_gone_pm": 1000,
    "tub_air_ul_h": 100, "tub_day_ul": 200000, "tub_s": 36000, "tub_drawn_ul": 2000000, "tub_total_ul": 9000000,
}
TUB_UP_S = 900000


def make_tub(memory, rig, pots):
    """A state that remembers this of its tub."""
    # Only boards with extras have it.
    from potreeve.logic import extra

    state = make_state(changed({"up_s": TUB_UP_S, "day_s": 890000}, rig or {}), *pots)
    state.extra = extra.fresh()
    for name in memory:
        setattr(state.extra, name, memory[name])
    return state


def with_tub(table, count=2):
    return settings(count, {"tub": table}, {})
