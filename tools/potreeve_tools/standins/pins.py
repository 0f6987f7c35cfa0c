"""The least `machine` that the pump driver needs: pins that somebody watches, no timer, so that its own loop is
tried."""


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
