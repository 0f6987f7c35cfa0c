"""The least `machine` and `time` that the pump driver needs: pins that somebody watches, no timer, so that its own loop
is tried; time that passes on somebody's sill."""

from ticks import ticks_diff


class Pin:
    """on_level: called with (pin, level) for each write. The first pin of a pump driver is the master switch."""

    OUT = 1
    IN = 0

    def __init__(self, place, on_level):
        self.place = place
        self.on_level = on_level
        self.level = 0

    def value(self, level):
        self.on_level(self, level)


class Machine:
    Pin = Pin

    def Timer(self, number):
        raise ValueError("no such timer")


class Time:
    """Stands in for `time`: passes only here."""

    def __init__(self, bench):
        self.bench = bench

    def ticks_ms(self):
        self.bench.touch("time.ticks_ms")
        return self.bench.sill.now_ms

    def ticks_diff(self, later, earlier):
        return ticks_diff(later, earlier)

    def sleep_ms(self, ms):
        self.bench.touch("time.sleep_ms")
        self.bench.pass_ms(ms)
