"""Settings and a state for the tests of service mode."""

from potreeve.logic import settings as settings_logic
from potreeve.logic.state import fresh

SETTINGS = {
    "tray_headroom_ml": 300,
    "tray_area_cm2": 400,
    "rig_day_ml": 200,
    "battery_kind": "lithium",
    "battery_cells": 1,
    "battery_stop_mv": 3200,
    "channels": [
        {
            "name": name,
            "pot_ml": 1000,
            "holds_ml": 300,
            "pump_ul_s": 10000,
            "pump_spread_pm": 100,
            "pulse_ml": 40,
            "day_ml": 120,
            "pulse_max_ms": 6000,
            "dose_ml": 80,
            "ration_ml": 15,
            "curve": [[50000, 0], [20000, 1000]],
        }
        for name in ("mint", "strawberry", "tomato")
    ],
}
"""Invented."""


def whole():
    """The settings as the board's check leaves them."""
    clean, found = settings_logic.check(SETTINGS)
    assert not found
    return clean


def rested():
    """A state whose memory is whole."""
    state = fresh(3)
    state.rig.memory = 0
    return state
