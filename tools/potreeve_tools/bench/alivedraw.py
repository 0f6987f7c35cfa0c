"""One rig for `bench alive`, drawn: what a person might well put together for a windowsill, and no mishap.

Ranges are what an ordinary sill has and shops sell (common practice, no source), set
before anything was run on them. Each part of the rig has its own random stream, so that
a part that is added shifts no other. Nothing is drawn again because it goes ill.
"""

import datetime
import math
import random
from dataclasses import dataclass

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.world.plants import PLANTS
from potreeve_tools.world.substrates import SUBSTRATES
from potreeve_tools.world.weather import FILES

POT_LEAST_ML, POT_MOST_ML = 300.0, 8000.0
# Boards that come with Potreeve, without those that only show what may be wired besides.
PLAIN_BOARDS = tuple(name for name in boards.names() if "extras" not in boards.load(name).data)
MIXES = tuple(sorted(name for name in SUBSTRATES if name != "coir_pellet"))

# Nobody keeps a tomato in a yoghurt pot for a quarter year.
SMALLEST_ML = {"mint": 300.0, "strawberry": 700.0, "cherry_tomato": 1500.0}

# A pump is bought for its pots: none that fills the smallest by 3 % in a second, none that needs an
# hour for the largest.
PUMP_LEAST_ML_S, PUMP_MOST_ML_S = 1.0, 30.0
PUMP_LEAST_SHARE, PUMP_MOST_SHARE = 0.0003, 0.03
PERISTALTIC_MOST_ML_S = 4.0

PACKS = (
    # chemistry, cells, mAh least, mAh most: a flat or round lithium cell; mignon to mono cells. Four nickel cells off
    # the charger are 5.6 V: whoever reads a board's sheet (5.5 V at most) does not fit them.
    ("lithium", 1, 2000, 10_000),
    ("alkaline", 3, 2000, 12_000),
    ("nimh", 3, 1900, 8000),
)

# The middle of a probe that is pushed in far enough to stand.
PROBE_MIDDLE_LEAST_CM = 2.0


@dataclass(frozen=True)
class Drawn:
    """One rig: its number, the name of its board, the rig file's mapping."""

    seed: int
    board: str
    data: dict


def draw(seed):
    """Returns Drawn."""

    def stream(part):
        return random.Random(f"alive {seed}/{part}")

    rng = stream("rig")
    count = rng.randint(1, 3)
    start = datetime.date(2026, 1, 1) + datetime.timedelta(days=rng.randrange(365))
    pots = [_pot(stream(f"pot {index}"), index) for index in range(count)]
    footprint_cm2 = sum(math.pi / 4.0 * pot["diameter_cm"] ** 2 for pot in pots)
    tray = _tray(stream("tray"), footprint_cm2)
    reservoir = _reservoir(stream("reservoir"))
    pump = _pump(stream("pump"), [_ml(pot) for pot in pots])
    for index, pot in enumerate(pots):
        pot.update(_line(stream(f"line {index}"), pump, pot, reservoir))
    data = {
        "rig": {"name": f"drawn {seed}", "start": start.isoformat()},
        "site": {"data": stream("site").choice(sorted(FILES))},
        "window": _window(stream("window")),
        "tray": tray,
        "reservoir": reservoir,
        "battery": _battery(stream("battery")),
        "electronics": _electronics(stream("electronics"), tray["wall_mm"]),
        "pot": pots,
    }
    return Drawn(seed, stream("board").choice(sorted(PLAIN_BOARDS)), data)


def _ml(pot):
    return math.pi / 4.0 * pot["diameter_cm"] ** 2 * pot["height_cm"]


def _between(rng, low, high):
    """Evenly on a logarithmic scale."""
    return math.exp(rng.uniform(math.log(low), math.log(high)))


def _pot(rng, index):
    volume_ml = _between(rng, POT_LEAST_ML, POT_MOST_ML)
    slim = rng.uniform(0.7, 1.1)
    plant = rng.choice([name for name in sorted(PLANTS) if SMALLEST_ML[name] <= volume_ml])
    mix = rng.choice(MIXES)
    grown = rng.uniform(0.15, 1.0)
    diameter_cm = round((volume_ml / (math.pi / 4.0 * slim)) ** (1.0 / 3.0), 1)
    height_cm = round(slim * diameter_cm, 1)
    depth_cm = max(PROBE_MIDDLE_LEAST_CM, rng.uniform(0.3, 0.75) * height_cm)
    return {
        "name": f"{plant} {index + 1}".replace("cherry_", ""),
        "plant": plant,
        "diameter_cm": diameter_cm,
        "height_cm": height_cm,
        "substrate": mix,
        "leaf_area_cm2": round(grown * PLANTS[plant].leaf_area_in(volume_ml)),
        # Its probe was calibrated in the soaked pot (see owner.commission) within the days before.
        "start_pm": rng.randint(850, 1000),
        "probe_depth_cm": round(depth_cm, 1),
        "probe_noise_mv": round(rng.uniform(1.0, 5.0), 1),
        "probe_drift_vwc_month": round(rng.uniform(0.0, 0.006), 4),
    }


def _tray(rng, footprint_cm2):
    return {"area_cm2": round(footprint_cm2 * rng.uniform(1.2, 2.5)), "wall_mm": rng.randint(15, 50)}


def _reservoir(rng):
    height_mm = rng.randint(150, 350)
    return {
        "area_cm2": rng.randint(250, 800),
        "height_mm": height_mm,
        "base_mm": -height_mm - rng.randint(20, 250),
        "level_mm": round(height_mm * 0.9),
        "lid": rng.random() < 0.8,
    }


def _pump(rng, pots_ml):
    """What all pumps of a rig have in common: people buy three alike."""
    low = max(PUMP_LEAST_ML_S, PUMP_LEAST_SHARE * max(pots_ml))
    high = min(PUMP_MOST_ML_S, PUMP_MOST_SHARE * min(pots_ml))
    kind = rng.choice(("centrifugal", "centrifugal", "peristaltic"))
    if kind == "peristaltic":
        high = max(low, min(high, PERISTALTIC_MOST_ML_S))
    return {
        "pump_kind": kind,
        "pump_ml_s": round(_between(rng, low, high), 2),
        "pump_ma": rng.randint(80, 250),
        "tube_id_mm": rng.choice((3, 4, 4, 5)),
        "check_valve": rng.random() < 0.7,
        "spare_lift": rng.uniform(1.4, 3.0),
    }


def _line(rng, pump, pot, reservoir):
    outlet_mm = round(pot["height_cm"] * 10) + rng.randint(10, 60)
    lift_mm = outlet_mm - reservoir["base_mm"] - 8.0
    return {
        **{key: value for key, value in pump.items() if key != "spare_lift"},
        "pump_ml_s": round(pump["pump_ml_s"] * rng.uniform(0.9, 1.1), 2),
        "pump_lift_mm": round(lift_mm * pump["spare_lift"]),
        "outlet_mm": outlet_mm,
        "tube_mm": rng.randint(500, 1500),
        "air_hole": rng.random() < 0.9,
    }


def _window(rng):
    return {"azimuth_deg": rng.randint(60, 300), "horizon_deg": rng.randint(0, 35), "panes": rng.choice((1, 2, 2, 3))}


def _battery(rng):
    chemistry, cells, low, high = rng.choice(PACKS)
    return {
        "chemistry": chemistry,
        "cells": cells,
        "capacity_mah": round(_between(rng, low, high), -2),
        "start_pct": rng.randint(90, 100),
    }


def _electronics(rng, wall_mm):
    return {"height_mm": wall_mm + rng.randint(20, 300), "clock_set": rng.random() < 0.9}
