"""What an owner does before going away, done on the simulated rig.

Calibrates the probes and pumps the way a person would, on a scratch copy of the
rig, and writes the settings that follow. Rules of thumb here are common
practice, no source; a plan of the physical rig will take their place.
"""

import math
import random

from potreeve.logic import settings as settings_logic

from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world.faults.kinds import make_fault
from potreeve_tools.world.world import World

# Lowest voltage per cell under which a pump is no longer started.
STOP_MV = {"lithium": 3200, "alkaline": 1050, "nimh": 1080}

# The owner knows the substrate's volume to about this, one standard deviation.
HOLDS_ERROR = 0.05

CUP_MS = 5000
CUPS_MOST = 20

# What an owner's cups would not show of a pump's spread.
SPREAD_PM = 150

# As full as people fill it.
FULL_TUB = 0.9

# No pulse longer than this; much shorter ones can't be seen by the probe of a large pot.
PULSE_S = 15


def owner_presses():
    """The two long presses that say: the tray is empty, everything was seen to."""
    return [make_fault("button", 60.0, hold_ms=2600), make_fault("button", 180.0, hold_ms=2600)]


def make_settings(rig, board, seed):
    """Settings for a rig, calibrated on a scratch copy of it. Returns a checked dict.

    rig: a Rig; board: device form of a board; seed: as the world's. Raises
    BadInput when the rig can't be commissioned.
    """
    world = World(rig, board, seed)
    # Pumps are measured with the tub as full as it will be: the higher the water, the faster they run.
    tub = world.reservoir
    tub.put(max(0.0, FULL_TUB * tub.capacity_ml - tub.water_ml))
    tray_ml = world.tray.capacity_ml
    channels = [_channel(world, index, random.Random(f"{seed}/owner {index}")) for index in range(len(rig.pots))]
    pack = rig.battery
    stop_mv = max(1900, STOP_MV[pack["chemistry"]] * pack["cells"])
    headroom_ml = max(20, int(tray_ml * 0.85))
    data = {
        "name": rig.name[:24],
        "tray_headroom_ml": headroom_ml,
        "tray_area_cm2": max(20, int(world.tray.free_cm2)),
        "rig_day_ml": max(5, min(5000, sum(c["day_ml"] for c in channels), headroom_ml)),
        "battery_kind": pack["chemistry"],
        "battery_cells": pack["cells"],
        "battery_mah": int(pack["capacity_mah"]),
        "battery_stop_mv": stop_mv,
        "channels": channels,
    }
    clean, faults = settings_logic.check(data)
    if faults:
        raise BadInput([f"{rig.where}: settings that follow from it do not pass: {fault}" for fault in faults])
    return clean


def _channel(world, index, rng):
    spec = world.rig.pots[index]
    pot = world.channels[index].pot
    probe = world.calibrate(index)
    battery_mv = world.sense().battery_mv
    flow_ul_s, prime_ms = _cup(world, index)
    low_ul_s = _low_cup(world, index)
    pot_ml = math.pi / 4.0 * spec["diameter_cm"] ** 2 * spec["height_cm"]
    holds_ml = pot.holds_ml * (1.0 + rng.gauss(0.0, HOLDS_ERROR))
    wilting_pm = int(pot.wilting_pm)
    depletion_pm = int(min(500.0, 1000.0 * pot.allowed_depletion))
    drawn_ml = holds_ml * (1000 - wilting_pm) / 1000.0 * depletion_pm / 1000.0
    dose_ml = max(5, round(drawn_ml * 1.2))
    pulse_ml = max(2, min(round(pot_ml * 0.03), dose_ml, int(flow_ul_s * PULSE_S / 1000)))
    return {
        "name": spec["name"][:16],
        "plant": spec["plant"],
        "pot_ml": round(pot_ml),
        "holds_ml": round(holds_ml),
        "curve": make_curve(probe["dry_raw"], probe["wet_raw"]),
        "spread_raw": probe["spread_raw"],
        "warmth_pm_10c": round(0.022 / (pot.holds_ml / pot_ml) * 1000),
        "cal_temp_cdeg": int(world.soil_c * 100),
        "wilting_pm": wilting_pm,
        "depletion_pm": depletion_pm,
        "fill_pm": 900,
        "pump_ul_s": flow_ul_s,
        "pump_spread_pm": min(1000, SPREAD_PM + max(0, math.ceil((low_ul_s / flow_ul_s - 1.0) * 1000))),
        "pump_cal_mv": battery_mv,
        "prime_ms": prime_ms,
        "pulse_ml": pulse_ml,
        "pulse_max_ms": min(30000, math.ceil(pulse_ml * 1e6 / flow_ul_s) + prime_ms + 500),
        "dose_ml": dose_ml,
        "day_ml": max(round(dose_ml * 1.5), pulse_ml),
        "ration_ml": max(1, min(round(holds_ml * 0.08), dose_ml)),
    }


def make_curve(dry_raw, wet_raw):
    """A channel's curve from two readings: four points [raw, pm], evenly spread over pm.

    Between the two anchors 1/raw is taken as linear in water content: so it is
    for the output of capacitive probes (Hrisko 2020, technical note) and, as the
    period is, for pulse-counting ones. A straight line in raw would read a
    half-dry pot more than 100 pm too wet.
    """
    steps = (0, 333, 667, 1000)
    return [[round(1.0 / (1.0 / dry_raw + (1.0 / wet_raw - 1.0 / dry_raw) * pm / 1000.0)), pm] for pm in steps]


def _low_cup(world, index):
    """Flow in ul/s with the tube's end as low as it would hang if it came off: on the tray's floor."""
    line, before = world.channels[index].line, len(world.deliveries)
    line.drop_mm = 0.0
    world.pulse(index, CUP_MS)
    line.drop_mm = None
    return sum(d[3] for d in world.deliveries[before:] if d[1] == index) * 1e6 / CUP_MS


def _cup(world, index):
    """Run a pump into cups: (flow in ul/s with the tube full, priming in ms).

    A weak pump takes more than one cup to fill its tube; the first cup after one that
    got some water is a whole one.
    """
    cups = []
    while len(cups) < CUPS_MOST and (len(cups) < 2 or cups[-2] <= 0.0):
        before = len(world.deliveries)
        world.pulse(index, CUP_MS)
        cups.append(sum(d[3] for d in world.deliveries[before:] if d[1] == index))
    full = cups[-1]
    if full <= 0.0:
        raise BadInput(
            [f"{world.rig.where} [[pot]] {index + 1}: its pump brings no water; check lift, tube and battery"]
        )
    prime_ms = sum(full - cup for cup in cups) / full * CUP_MS
    return round(full * 1e6 / CUP_MS), min(10000, max(0, round(prime_ms)))
