"""Small rigs for the tests of the simulated world."""

import copy
import tomllib

from potreeve_tools.world.air import Air
from potreeve_tools.world.rigfile import DEFAULT_RIG, check_rig
from potreeve_tools.world.world import World

BOARD = {
    "name": "test board",
    "mcu": "rp2040",
    "latch": False,
    "pins": {"probes": [0, 1, 2], "probe_kind": "analogue", "pumps": [10, 11, 12], "pump_enable": 13},
    "sensors": {"climate": "bme280", "light": "bh1750"},
    "adc": {"bits": 12, "vref_mv": 3300, "battery_divider_pm": 500},
    "energy": {"active_ua": 25_000},
}


class SameAir:
    """A climate that never changes: a stand-in where the weather is beside the point."""

    utc_offset_h = 0.0

    def __init__(self, temp_c=22.0, rh_pct=50.0, solar_wm2=60.0, lux=8_000.0):
        self._air = Air(temp_c, rh_pct, solar_wm2, lux)

    def at(self, t_s):
        return self._air


def rig_data():
    """The default rig as a mapping that a test may change."""
    return tomllib.loads(DEFAULT_RIG.read_text(encoding="utf-8"))


def board(**pins):
    changed = copy.deepcopy(BOARD)
    changed["pins"].update(pins)
    return changed


def world(faults=(), seed=1, change=None, the_board=None, climate=None, start=None):
    """A World of the default rig, with `change(data)` applied to its mapping first."""
    data = rig_data()
    if change:
        change(data)
    rig = check_rig(data, "test.toml")
    return World(rig, the_board or board(), seed, start, faults, climate or SameAir())
