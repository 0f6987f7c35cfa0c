"""What can't be in one rig though each key of its file is fine by itself, in lines of `faultlist.fault_line`."""

import datetime

from potreeve_tools.terminal.faultlist import fault_line
from potreeve_tools.world import ownparts
from potreeve_tools.world.battery import full_mv
from potreeve_tools.world.potspec import SOILS
from potreeve_tools.world.substrates import SUBSTRATES

VSYS_MOST_MV = 5_500
VSYS_LEAST_MV = 2_000


def contradictions(rig):
    """Return the faults of a rig whose keys are fine one by one but not together."""
    faults = _start_faults(rig) + _soil_faults(rig) + _tray_faults(rig) + _reservoir_faults(rig) + _battery_faults(rig)
    names = [pot["name"] for pot in rig.pots]
    for place, pot in enumerate(rig.pots, 1):
        faults += _pot_faults(pot, f"{rig.where} [[pot]] {place}") + _lift_faults(rig, pot, place)
        if pot["name"] in names[: place - 1]:
            faults.append(
                fault_line(
                    f"{rig.where} [[pot]] {place}", "name", pot["name"], "used twice", "give each pot its own name"
                )
            )
    return faults + _siphon_faults(rig)


def _start_faults(rig):
    try:
        datetime.date.fromisoformat(rig.rig["start"])
    except ValueError:
        return [fault_line(f"{rig.where} [rig]", "start", rig.rig["start"], "not a date", "write YYYY-MM-DD")]
    return ownparts.start_faults(rig)


def _soil_faults(rig):
    """Only the layers know how a pellet swells."""
    soil = rig.rig["soil"]
    swells = any(SUBSTRATES[pot["substrate"]].swells_from.value < 1.0 for pot in rig.pots)
    if soil == "layers" or not (swells or any(fault.kind == "swelling_pellet" for fault in rig.faults)):
        return []
    return [
        fault_line(f"{rig.where} [rig]", "soil", soil, "no model of a swelling pellet", f'write soil = "{SOILS[0]}"')
    ]


def _tray_faults(rig):
    where, tray, faults = f"{rig.where} [tray]", rig.tray, []
    if tray["area_cm2"] <= rig.footprint_cm2:
        faults.append(
            fault_line(
                where,
                "area_cm2",
                tray["area_cm2"],
                f"smaller than the pots' {rig.footprint_cm2:.0f} cm2",
                "use a larger tray, or fewer or smaller pots",
            )
        )
    elif tray["water_ml"] > rig.tray_capacity_ml:
        faults.append(
            fault_line(
                where,
                "water_ml",
                tray["water_ml"],
                f"more than the tray's {rig.tray_capacity_ml:.0f} ml",
                "start with less water in it",
            )
        )
    height = rig.electronics["height_mm"]
    if height <= tray["wall_mm"]:
        faults.append(
            fault_line(
                f"{rig.where} [electronics]",
                "height_mm",
                height,
                f"not above the spill line at {tray['wall_mm']:g} mm (the tray's wall)",
                "mount the electronics higher, with a drip loop in every cable",
            )
        )
    return faults


def _reservoir_faults(rig):
    where, tub, faults = f"{rig.where} [reservoir]", rig.reservoir, []
    if tub["level_mm"] > tub["height_mm"]:
        faults.append(
            fault_line(
                where,
                "level_mm",
                tub["level_mm"],
                f"above its brim at {tub['height_mm']:g} mm",
                "give a level up to height_mm",
            )
        )
    if tub["inlet_mm"] >= tub["height_mm"]:
        faults.append(
            fault_line(
                where, "inlet_mm", tub["inlet_mm"], f"not below its brim at {tub['height_mm']:g} mm", "lower the inlet"
            )
        )
    return faults


def _battery_faults(rig):
    pack = rig.battery
    full = full_mv(pack["chemistry"], pack["cells"])
    where = f"{rig.where} [battery]"
    if full > VSYS_MOST_MV:
        return [
            fault_line(
                where,
                "cells",
                pack["cells"],
                f"{full:.0f} mV when full, boards take {VSYS_MOST_MV} mV at most",
                "use fewer cells",
            )
        ]
    if full < VSYS_LEAST_MV:
        return [
            fault_line(
                where, "cells", pack["cells"], f"{full:.0f} mV when full, too little for any board", "use more cells"
            )
        ]
    return []


def _pot_faults(pot, where):
    faults = []
    height_mm = pot["height_cm"] * 10.0
    if pot["probe_depth_cm"] >= pot["height_cm"]:
        faults.append(
            fault_line(
                where,
                "probe_depth_cm",
                pot["probe_depth_cm"],
                f"deeper than the pot's {pot['height_cm']:g} cm",
                "give less than height_cm",
            )
        )
    if pot["outlet_mm"] <= height_mm:
        faults.append(
            fault_line(
                where,
                "outlet_mm",
                pot["outlet_mm"],
                f"not above the soil's surface at {height_mm:g} mm, water could be sucked back",
                "fix the tube's end above the soil",
            )
        )
    slim = pot["height_cm"] / pot["diameter_cm"]
    if not 0.3 <= slim <= 3.0:
        faults.append(
            fault_line(
                where,
                "height_cm",
                pot["height_cm"],
                f"{slim:.1f} times its diameter of {pot['diameter_cm']:g} cm",
                "check both measures",
            )
        )
    return faults


def _lift_faults(rig, pot, place):
    """A pump that can't lift water from a nearly empty tub to the outlet is no pump for this rig."""
    lift_mm = pot["outlet_mm"] - rig.reservoir["base_mm"] - rig.reservoir["inlet_mm"]
    if pot["pump_kind"] == "peristaltic" or pot["pump_lift_mm"] > lift_mm:
        return []
    return [
        fault_line(
            f"{rig.where} [[pot]] {place}",
            "pump_lift_mm",
            pot["pump_lift_mm"],
            f"not more than the {lift_mm:.0f} mm from the tub's inlet to this outlet",
            "use a stronger pump, or stand the tub higher",
        )
    ]


def _siphon_faults(rig):
    """A full tub above an open outlet runs out by itself: only fine if the tray can take it."""
    tub, faults = rig.reservoir, []
    brim_mm = tub["base_mm"] + tub["height_mm"]
    for place, pot in enumerate(rig.pots, 1):
        if pot["pump_kind"] == "peristaltic" or pot["air_hole"] or brim_mm <= pot["outlet_mm"]:
            continue
        runs_ml = min(tub["height_mm"], brim_mm - pot["outlet_mm"]) * tub["area_cm2"] / 10.0
        if runs_ml > rig.tray_capacity_ml:
            faults.append(
                fault_line(
                    f"{rig.where} [reservoir]",
                    "base_mm",
                    tub["base_mm"],
                    f"its brim stands {brim_mm - pot['outlet_mm']:.0f} mm above the outlet of pot {place}, so "
                    f"{runs_ml:.0f} ml could siphon into a tray of {rig.tray_capacity_ml:.0f} ml",
                    "stand it lower, or set air_hole = true and make that hole",
                )
            )
    return faults
