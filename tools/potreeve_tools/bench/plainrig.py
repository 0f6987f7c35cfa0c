"""The rig of the proofs: pots in round numbers, invented."""

from potreeve_tools.settings import judge

ENERGY = {
    "active_ua": 30000,
    "sleep_ua": 1500,
    "boot_ms": 500,
    "boot_ua": 40000,
    "pump_ua": 150000,
    "probe_ua": 5000,
    "report_uah": 60,
}
"""A board that draws this, likewise invented."""

PROBE = {"curve": [[40000, 0], [20000, 1000]], "spread_raw": 100}


POTS = (("mint", 600), ("strawberry", 900), ("cherry tomato", 1500), ("everbearer", 700))


def settings(pots=3, **changes):
    """Checked settings of the plain rig, whose tray never dries; pots: 1 to 4; changes: keys of the whole rig."""
    channels = [_channel(*pot) for pot in POTS[:pots]]
    data = {
        "name": "bay window",
        "tray_headroom_ml": 900,
        "tray_area_cm2": 900,
        "tray_dry_um_day": 0,
        "rig_day_ml": 640,
        "channels": channels,
        **changes,
    }
    clean, faults = judge.check(data)
    if faults:
        raise ValueError("; ".join(faults))
    return clean


def measured(board):
    """What settings say of a board's sensors in tray and tub: their tables. board: device form."""
    extras = board.get("extras", {})
    tables = {"tray_sensor": {}} if extras.get("tray_probe") else {}
    if extras.get("tub_pins"):
        marks = {f"mark{n}_ml": 1000 * n for n in range(1, len(extras["tub_pins"]) + 1)}
        tables["tub"] = {**marks, "full_ml": 9000}
    return tables


def _channel(name, holds_ml):
    return {
        "name": name,
        "pot_ml": holds_ml * 2,
        "holds_ml": holds_ml,
        **PROBE,
        "pump_ul_s": 20000,
        "pump_spread_pm": 150,
        "prime_ms": 0,
        "pulse_ml": 25,
        "pulse_max_ms": 2000,
        "dose_ml": 100,
        "day_ml": 260,
        "ration_ml": 30,
    }
