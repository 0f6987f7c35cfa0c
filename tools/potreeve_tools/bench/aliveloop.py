"""The rival of `bench alive`: a plain threshold loop on the same rig, with the same probes and the same calibration.

Once per wake, below the refill point, one pulse. It knows no soak, no doubt, no cap and no battery, and stops for
nothing."""

from statistics import median

from potreeve.logic import dosing, moisture

from potreeve_tools.bench.alivewatch import Watch
from potreeve_tools.world.world import World

DAY_S = 86400


def run(rig, board, seed, settings, days):
    """Run it. Returns (Watch, World)."""
    world = World(rig, board, seed)
    watch = Watch(world, lambda: (None, False))
    channels = settings["channels"]
    below = [1000 - (1000 - one["wilting_pm"]) * one["depletion_pm"] // 1000 for one in channels]
    pulse_ms = [one["pulse_ml"] * 1_000_000 // one["pump_ul_s"] + dosing.day_prime_ms(one) for one in channels]
    while world.now_s < days * DAY_S:
        world.battery.left_mah = world.battery.capacity_mah
        raws = world.sense().probe_raw
        for index, one in enumerate(channels):
            if moisture.to_pm(int(median(raws[index])), one["curve"]) < below[index]:
                world.pulse(index, pulse_ms[index])
        world.advance(settings["wake_s"])
    return watch, world
