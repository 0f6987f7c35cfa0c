"""Mishaps of the sensor in the tray. What they do to its reading is in world/extras.py."""

from potreeve_tools.world.faults.kinds import EXTRA_KINDS
from potreeve_tools.world.faults.registry import begins, ends


@begins(*EXTRA_KINDS)
def _strikes(world, fault):
    world.extra_faults.append(fault)


@ends(*EXTRA_KINDS)
def _mended(world, fault):
    world.extra_faults.remove(fault)
