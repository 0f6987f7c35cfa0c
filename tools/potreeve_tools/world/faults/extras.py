"""Mishaps of the sensors in tray and soil. What they do to a reading is in world/extras.py."""

from potreeve_tools.world.faults.hooks import begins, ends
from potreeve_tools.world.faults.kinds import KINDS

OF_EXTRAS = tuple(name for name, kind in KINDS.items() if kind.part in ("tray", "soil"))


@begins(*OF_EXTRAS)
def _strikes(world, fault):
    world.extra_faults.append(fault)


@ends(*OF_EXTRAS)
def _mended(world, fault):
    world.extra_faults.remove(fault)
