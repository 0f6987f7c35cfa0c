"""A world in the middle of a mishap, and what the tests of mishaps ask of it."""

import statistics

from potreeve_tools.world.faults.kinds import KINDS, make_fault
from small_rigs import world


def median(one, channel=0):
    return statistics.median(one.sense().probe_raw[channel])


def struck(kind, change=None, the_board=None, start=1000.0, end=50_000.0, primed=True, **more):
    """A world half an hour into a mishap that ends at 50,000 s; tubes filled before it."""
    if KINDS[kind].channel:
        more.setdefault("channel", 0)
    one = world([make_fault(kind, start, end, **more)], change=change, the_board=the_board)
    if primed:
        for c in one.channels:
            one.pulse(c.index, 3000)
    one.advance(start + 1800.0 - one.now_s)
    return one, one.faults[0]


def over(one):
    """Let the mishap end."""
    one.advance(50_001.0 - one.now_s)
    assert not one.faults[0].active
    return one


def given(one, channel=0, ms=5000):
    """ml the pot of a channel gets from one pulse of that channel."""
    before = one.channels[channel].given_ml
    one.pulse(channel, ms)
    return one.channels[channel].given_ml - before


def dry_raw(one, channel=0):
    return one.calibrate(channel)["dry_raw"]
