"""A simulated rig that resembles the one a board's settings describe, to rehearse those settings on.

The settings say how large the pots are, what grows in them, how fast the pumps
are, what the tray takes and which battery there is. The rest (window, weather,
tub, leaves for a pot of that size) is the reading room's. The simulated probes
and pumps are calibrated as an owner would, and those few keys replace the
board's own: its curve belongs to probes nobody can simulate.
"""

import copy
import json
import tomllib

from potreeve_tools.owner import commission, recipe
from potreeve_tools.settings import judge
from potreeve_tools.terminal.faultlist import BadInput
from potreeve_tools.world.battery import full_mv
from potreeve_tools.world.plants import PLANTS
from potreeve_tools.world.potcare import make_pot
from potreeve_tools.world.rigfaults import VSYS_LEAST_MV, VSYS_MOST_MV
from potreeve_tools.world.rigfile import DEFAULT_RIG, check_rig, footprint_cm2, load_rig

SEED = 1
MEASURED = (
    "curve",
    "spread_raw",
    "warmth_pm_10c",
    "cal_temp_cdeg",
    "pump_ul_s",
    "pump_spread_pm",
    "pump_cal_mv",
    "prime_ms",
    "tube_full_h",
)
"""Keys of a channel that come from calibrating the simulated rig."""

FOLLOWING = ("pulse_ml", "pulse_max_ms")
"""Keys that must fit the measured flow; replaced only where they don't."""


def make_twin(settings, board, where="this board's settings"):
    """(rig file's mapping, settings for it). settings: checked; board: device form. Raises BadInput."""
    data = tomllib.loads(DEFAULT_RIG.read_text(encoding="utf-8"))
    patterns = {pot["plant"]: pot for pot in data["pot"]}
    channels = settings["channels"]
    data["rig"]["name"] = settings["name"]
    data["pot"] = [_pot(channel, patterns, index) for index, channel in enumerate(channels)]
    _name_once(data["pot"])
    _set_tray(data, settings)
    _set_battery(data, settings, where)
    _set_tub(data, patterns)
    rig = check_rig(data, f"the rig simulated for {where}")
    return data, _fit(settings, commission.make_settings(rig, board, SEED), where)


def fit_to(settings, rig_path, board, where="this board's settings"):
    """Settings, calibrated for the probes and pumps of a rig file. settings: checked; board: device form. Raises
    BadInput."""
    rig = load_rig(rig_path)
    if len(rig.pots) != len(settings["channels"]):
        raise BadInput(
            [
                f"{where}: channels = {len(settings['channels'])} tables, but {rig_path} has {len(rig.pots)} pots; "
                "give a rig with one pot per channel, in the same order"
            ]
        )
    return _fit(settings, commission.make_settings(rig, board, SEED), where)


def _pot(channel, patterns, index):
    plant = channel["plant"].strip().lower().replace(" ", "_")
    pattern = patterns[plant] if plant in PLANTS else list(patterns.values())[index % len(patterns)]
    scale = 1.0
    for _ in range(4):
        scale *= (channel["holds_ml"] / make_pot(_sized(pattern, scale), None).holds_ml) ** (1 / 3)
    pot = _sized(pattern, scale)
    pot["name"] = channel["name"]
    if channel["pump_ul_s"]:
        pot["pump_ml_s"] = min(60.0, max(0.05, channel["pump_ul_s"] / 1000))
    if channel["pump_cal_mv"] >= 1500:
        pot["pump_nominal_mv"] = float(channel["pump_cal_mv"])
    return {key: round(value, 2) if isinstance(value, float) else value for key, value in pot.items()}


def _sized(pattern, scale):
    """A pot of other size and the same shape, its leaves grown with its rim's area."""
    pot = dict(pattern)
    pot["diameter_cm"] = min(60.0, max(4.0, pattern["diameter_cm"] * scale))
    pot["height_cm"] = min(60.0, max(3.0, pattern["height_cm"] * scale))
    pot["probe_depth_cm"] = pot["height_cm"] / 2
    pot["leaf_area_cm2"] = pattern["leaf_area_cm2"] * scale * scale
    pot["outlet_mm"] = pot["height_cm"] * 10 + 25
    return pot


def _name_once(pots):
    """Channels may share a name, pots of a rig may not."""
    seen = set()
    for number, pot in enumerate(pots, 1):
        if pot["name"] in seen:
            pot["name"] = f"{pot['name']} {number}"
        seen.add(pot["name"])


def _set_tray(data, settings):
    """A tray as open as the settings say, that takes what they count on."""
    open_cm2 = float(settings["tray_area_cm2"])
    wall_mm = settings["tray_headroom_ml"] / recipe.HEADROOM_SHARE / open_cm2 * 10
    data["tray"] = {
        "area_cm2": round(open_cm2 + sum(footprint_cm2(pot) for pot in data["pot"]), 1),
        "wall_mm": round(min(300.0, max(2.0, wall_mm)), 1),
    }
    if not settings["pots_in_tray"]:
        # How high they stand is not known; so high they never draw up what ran through.
        data["tray"]["feet_mm"] = data["tray"]["wall_mm"]
    data["electronics"]["height_mm"] = data["tray"]["wall_mm"] + 245


def _set_battery(data, settings, where):
    """The pack of the settings; one that no board takes is refused here rather than in the middle of a rehearsal."""
    kind, cells = settings["battery_kind"], settings["battery_cells"]
    if not VSYS_LEAST_MV <= full_mv(kind, cells) <= VSYS_MOST_MV:
        raise BadInput(
            [
                f"{where}: battery_cells = {cells}: {full_mv(kind, cells):.0f} mV when full, boards take "
                f"{VSYS_LEAST_MV} to {VSYS_MOST_MV} mV; correct battery_kind or battery_cells"
            ]
        )
    data["battery"] = {"chemistry": kind, "cells": cells, "capacity_mah": settings["battery_mah"]}


def _set_tub(data, patterns):
    """A tub that lasts as long as the reading room's, and pumps that lift out of it."""
    tub = data["reservoir"]
    usual = sum(make_pot(pot, None).holds_ml for pot in patterns.values())
    tub["area_cm2"] = round(
        min(20_000.0, tub["area_cm2"] * max(1.0, sum(make_pot(pot, None).holds_ml for pot in data["pot"]) / usual))
    )
    for pot in data["pot"]:
        lift_mm = pot["outlet_mm"] - tub["base_mm"] - tub["inlet_mm"]
        pot["pump_lift_mm"] = round(max(900.0, 1.5 * lift_mm))


def _fit(settings, measured, where):
    """The settings with what calibrating the simulated rig gives in the keys that belong to its probes and pumps."""
    for following in ((), FOLLOWING):
        fitted = json.loads(json.dumps(settings))
        for channel, other in zip(fitted["channels"], copy.deepcopy(measured["channels"]), strict=True):
            channel.update({key: other[key] for key in MEASURED + following})
        clean, wrong = judge.check(fitted)
        if not wrong:
            return clean
    raise BadInput([f"{where}, on a rig simulated for them: {fault}" for fault in wrong])


def write(data):
    """A rig's mapping as the text of a rig file."""
    lines = ["# A simulated rig made to resemble a board's settings; everything here is invented or guessed from them."]
    for table, keys in data.items():
        for entry in keys if isinstance(keys, list) else [keys]:
            lines += ["", f"[[{table}]]" if isinstance(keys, list) else f"[{table}]"]
            lines += [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in entry.items()]
    return "\n".join(lines) + "\n"
