"""Mishaps of the sensor in the tray. What they do to its reading is in world/extras.py."""

from potreeve_tools.world.faults.hooks import begins, ends
from potreeve_tools.world.faults.kinds import KINDS

OF_TRAY = tuple(name for name, kind in KINDS.items() if kind.part == "tray")


@begins(*OF_TRAY)
def _strikes(world, fault):
    world.extra_faults.append(fault)


@ends(*OF_TRAY)
def _mended(world, fault):
    world.extra_faults.remove(fault)
