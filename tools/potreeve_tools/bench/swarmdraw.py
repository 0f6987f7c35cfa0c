"""One seed of the swarm, drawn: a rig, its settings, its weather, and up to three mishaps.

What is drawn is a mishap scenario (see potreeve_tools.mishaps.scenario) as a
plain mapping, so that a seed that breaks is a file already. Ranges are what an
ordinary windowsill has (common practice, no source); combinations that the rig
file or the settings refuse are drawn again.
"""

import datetime
import random

from potreeve.logic import settings as settings_logic

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.mishaps import scenario as scenarios
from potreeve_tools.owner import commission
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world.faults.kinds import EXTRA_KINDS, HELPS, KINDS
from potreeve_tools.world.plants import PLANTS
from potreeve_tools.world.substrates import SUBSTRATES
from potreeve_tools.world.weather import FILES

DAYS = 90
BOARDS = tuple(boards.names())
CELLS = {"lithium": (1,), "alkaline": (3,), "nimh": (3, 4)}
TRIES = 200

# Somebody listens to one rig in so many: its queue is sent.
LISTENED_TO = 4

# A pressed pellet that was never soaked is a mishap of its own.
MIXES = tuple(sorted(name for name in SUBSTRATES if name != "coir_pellet"))

# What moves water with every pump off, or wets the electronics, whatever the firmware does.
BY_ITSELF = ("siphon", "pump_stuck_on", "tray_weeping")
WETTING = ("water_on_electronics",)

# Probes that are wrong in a way no reading shows at once; for the others the law of belief applies.
HARD_TO_TELL = ("probe_leaning", "probe_stuck", "probe_noisy", "probe_coating", "tipped_over", "pot_removed")


DRAWN = tuple(name for name in KINDS if name not in (*EXTRA_KINDS, *HELPS, "display_gone"))


def draw(seed, rig_data, kinds=DRAWN):
    """A scenario's mapping for a seed. rig_data: the mapping of the rig that is changed; it stays as it is."""
    rng = random.Random(f"swarm {seed}")
    for _ in range(TRIES):
        data = _try(rng, seed, rig_data, kinds)
        if data is not None:
            return data
    raise BadInput([f"swarm seed {seed}: no rig in {TRIES} tries that its own file would pass; look at swarmdraw.py"])


def _try(rng, seed, rig_data, kinds):
    count = rng.randint(1, min(3, len(rig_data["pot"])))
    start = datetime.date(2026, 1, 1) + datetime.timedelta(days=rng.randrange(365))
    board = rng.choice(BOARDS)
    changes = _rig(rng, count)
    faults = _faults(rng, count, kinds)
    data = {
        "name": f"swarm_{seed}",
        "title": f"seed {seed} of the swarm",
        "days": DAYS,
        "start": start.isoformat(),
        "board": board,
        "pots": count,
        "rig": changes,
        "settings": {},
        "fault": faults,
        "broker": seed % LISTENED_TO == 0,
        "person": _persons(rng, faults),
        "expects": _expects(faults),
    }
    data["about"] = "Drawn by the swarm: " + (", ".join(f["kind"] for f in faults) or "no mishap") + "."
    if not faults:
        data["fault"] = [{"kind": "daylight_saving", "start_h": 240.0}]
    if any(f["kind"] == "settings_sent" for f in faults):
        data["sent"] = rng.choice(({"rig_day_ml": 500000}, {"wake_s": 900}, {"ack": 1}))
    try:
        rig = scenarios.the_rig(scenarios.check(data, data["name"] + ".toml"), rig_data, "the swarm's rig")
        base = commission.make_settings(rig, boards.load(board).device_dict(), seed)
    except BadInput:
        return None
    data["settings"] = _settings(rng, base)
    return data


def _rig(rng, count):
    """Changes to a rig, as dotted keys."""
    wall_mm = rng.randint(8, 40)
    changes = {
        "site.data": rng.choice(sorted(FILES)),
        "window.azimuth_deg": rng.randint(60, 300),
        "window.horizon_deg": rng.randint(0, 35),
    }
    footprint = 0.0
    for index in range(count):
        pot, area = _pot(rng, f"pot.{index}.")
        changes.update(pot)
        footprint += area
    chemistry = rng.choice(sorted(CELLS))
    height_mm = rng.randint(120, 320)
    changes.update(
        {
            "tray.area_cm2": round(footprint * rng.uniform(1.25, 2.5) + 60),
            "tray.wall_mm": wall_mm,
            "electronics.height_mm": wall_mm + rng.randint(20, 300),
            "electronics.clock_set": rng.random() < 0.8,
            "electronics.clock_drift_ppm": rng.choice((0, -100, 100, 3000)),
            "reservoir.area_cm2": rng.randint(150, 800),
            "reservoir.height_mm": height_mm,
            "reservoir.base_mm": -height_mm - rng.randint(20, 250),
            "reservoir.level_mm": round(height_mm * rng.uniform(0.3, 0.95)),
            "reservoir.refill_days": rng.choice((7, 14, 21)),
            "battery.chemistry": chemistry,
            "battery.cells": rng.choice(CELLS[chemistry]),
            "battery.capacity_mah": rng.choice((1500, 2500, 5000, 10000)),
            "battery.start_pct": rng.randint(60, 100),
        }
    )
    return changes


def _pot(rng, where):
    """(changes, footprint in cm2) of one pot."""
    plant = rng.choice(sorted(PLANTS))
    diameter_cm = rng.randint(8, 24)
    height_cm = round(diameter_cm * rng.uniform(0.7, 1.1), 1)
    leaf_most = PLANTS[plant].leaf_area_max_cm2.value
    changes = {
        "plant": plant,
        "diameter_cm": diameter_cm,
        "height_cm": height_cm,
        "substrate": rng.choice(MIXES),
        "leaf_area_cm2": round(min(leaf_most, diameter_cm**2 * rng.uniform(0.5, 4.0))),
        "start_pm": rng.randint(300, 1000),
        "probe_depth_cm": round(height_cm * rng.uniform(0.3, 0.7), 1),
        "probe_noise_mv": round(rng.uniform(1.0, 8.0), 1),
        "probe_drift_vwc_month": round(rng.uniform(0.0, 0.01), 4),
        "pump_ml_s": round(rng.uniform(1.0, 10.0), 1),
        "pump_kind": rng.choice(("centrifugal", "centrifugal", "peristaltic")),
        "outlet_mm": round(height_cm * 10) + rng.randint(10, 60),
        "check_valve": rng.random() < 0.7,
        "air_hole": rng.random() < 0.8,
        "pump_lift_mm": rng.randint(700, 3000),
    }
    return {where + key: value for key, value in changes.items()}, 0.7854 * diameter_cm**2


def _settings(rng, base):
    """Changes to commissioned settings, each of which passes the check with those before it."""
    wishes = {
        "wake_s": rng.choice((600, 900, 1800, 3600, 7200)),
        "night_wake_s": rng.choice((600, 3600, 14400)),
        "soak_s": rng.choice((300, 900, 1800, 3600, 7200)),
        "battery_reserve_pm": rng.randint(30, 200),
        "tray_headroom_ml": int(base["tray_headroom_ml"] * rng.uniform(0.3, 1.0)),
        "rig_day_ml": int(base["rig_day_ml"] * rng.uniform(0.4, 1.0)),
    }
    for index, channel in enumerate(base["channels"]):
        for key, low, high in (
            ("pulse_ml", 0.5, 1.0),
            ("dose_ml", 0.5, 1.2),
            ("day_ml", 0.7, 1.5),
            ("ration_ml", 0.5, 1.5),
            ("holds_ml", 0.8, 1.2),
            ("fill_pm", 0.9, 1.1),
            ("depletion_pm", 0.6, 1.3),
        ):
            wishes[f"channels.{index}.{key}"] = int(channel[key] * rng.uniform(low, high))
        wishes[f"channels.{index}.unproven_max"] = rng.randint(1, 5)
    taken = {}
    for key, value in wishes.items():
        if rng.random() < 0.4 and _passes(base, {**taken, key: value}):
            taken[key] = value
    return taken


def _passes(base, changes):
    data = {**base, "channels": [dict(one) for one in base["channels"]]}
    for key, value in changes.items():
        way = key.split(".")
        (data if len(way) == 1 else data["channels"][int(way[1])])[way[-1]] = value
    return not settings_logic.check(data)[1]


def _faults(rng, count, kinds):
    """Up to three [[fault]] tables."""
    found = []
    for _ in range(rng.choice((0, 1, 1, 2, 2, 2, 3, 3, 3, 3))):
        name = rng.choice(sorted(kinds))
        kind = KINDS[name]
        keys = {key.name: key for key in kind.params}
        if "other" in keys and count < 2:
            continue
        start_h = round(rng.uniform(24.0, DAYS * 24 - 240.0), 1)
        fault = {"kind": name, "start_h": start_h}
        if kind.channel:
            fault["channel"] = rng.randrange(count)
        if not kind.instant and rng.random() < 0.8:
            fault["end_h"] = round(min(start_h + 24 * 10 ** rng.uniform(-1.0, 1.5), DAYS * 24 - 1.0), 1)
        for key in kind.params:
            value = _param(rng, key, fault.get("channel", -1), count)
            if value is not None:
                fault[key.name] = value
        if not any(_clash(fault, other) for other in found):
            found.append(fault)
    return found


def _param(rng, key, channel, count):
    """A value for one of a kind's own keys, None to leave it at its default."""
    if key.name == "other":
        return rng.choice([one for one in range(count) if one != channel])
    if key.kind == "choice":
        return rng.choice(key.choices)
    if key.kind == "float" and isinstance(key.default, float) and key.default and key.name != "every_s":
        return round(min(key.high, max(key.low, key.default * rng.choice((0.3, 0.6, 1.0, 1.5, 2.5)))), 4)
    return None


def _clash(one, other):
    """The same kind twice on one channel says nothing more."""
    return one["kind"] == other["kind"] and one.get("channel") == other.get("channel")


def _persons(rng, faults):
    """Somebody puts most mishaps right, and presses the button."""
    found = []
    for fault in faults:
        if "end_h" in fault and rng.random() < 0.7:
            found.append(
                {
                    "kind": "button",
                    "start_h": round(fault["end_h"] + rng.uniform(0.1, 30.0), 1),
                    "hold_ms": rng.choice((300.0, 300.0, 2600.0)),
                }
            )
    return found


def _expects(faults):
    kinds = {fault["kind"] for fault in faults}
    expects = {}
    if kinds & set(WETTING) or any(f.get("where") == "electronics" for f in faults):
        expects["wet_by_itself"] = True
    if kinds & set(HARD_TO_TELL):
        expects["believed_h"] = 1000.0
    if kinds & set(BY_ITSELF):
        expects["runs_by_itself_ml"] = 100000.0
    return expects
