"""Stands in for MicroPython's `esp32`."""

from bench import bench

WAKEUP_ALL_LOW, WAKEUP_ANY_HIGH = False, True


def wake_on_ext0(pin, level):
    bench.log("wake on", pin.number, level)
