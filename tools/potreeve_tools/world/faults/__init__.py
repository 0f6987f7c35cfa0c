"""What each kind of mishap does to the world, and how it is undone.

`begin(world, fault)` and `end(world, fault)` are called by the world at a
fault's times. A fault's `bit` is counted where it really made a difference:
here for things that happen at once, in the world's pulses and readings for
those that lie in wait.
"""

from potreeve_tools.world.faults import extras, plumbing, pots  # noqa: F401 (they enter their actions)
from potreeve_tools.world.faults.board import cut_pulse
from potreeve_tools.world.faults.hooks import BEGIN, END
from potreeve_tools.world.faults.kinds import KINDS
from potreeve_tools.world.faults.probes import drift_converter, faulty_burst

__all__ = ["begin", "cut_pulse", "drift_converter", "end", "faulty_burst"]

assert set(BEGIN) == set(KINDS), set(KINDS) ^ set(BEGIN)


def begin(world, fault):
    """Let a mishap strike."""
    fault.active = True
    BEGIN[fault.kind](world, fault)


def end(world, fault):
    """End a mishap; undo what a person could undo."""
    if fault.active:
        fault.active = False
        undo = END.get(fault.kind)
        if undo:
            undo(world, fault)
