"""Which action belongs to which kind of mishap."""

from potreeve_tools.world.faults.kinds import KINDS

BEGIN, END = {}, {}


def begins(*kinds):
    """Enter action(world, fault) as what these kinds do when they strike."""
    return _enter(BEGIN, kinds)


def ends(*kinds):
    """Enter action(world, fault) as what undoes these kinds."""
    return _enter(END, kinds)


def _enter(table, kinds):
    def enter(action):
        for kind in kinds:
            assert kind in KINDS and kind not in table, kind
            table[kind] = action
        return action

    return enter


def again(world, fault, action):
    """Schedule a repeating mishap's next time, while it lasts."""
    every_s = fault.params.get("every_s", 0.0)
    if every_s > 0 and world.now_s + every_s < fault.end_s:
        world.at(world.now_s + every_s, action, fault)


def cross(world, fault, attribute):
    """Exchange an attribute of a fault's two channels."""
    a, b = world.channels[fault.channel], world.channels[fault.params["other"]]
    here, there = getattr(a, attribute), getattr(b, attribute)
    setattr(a, attribute, there)
    setattr(b, attribute, here)
