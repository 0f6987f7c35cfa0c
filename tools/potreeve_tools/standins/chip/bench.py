"""The workbench behind this folder's `machine` and `time`: one virtual clock, one list of everything that happened.

Runs in CPython and in MicroPython. Time moves only when firmware sleeps or
reads a tick; what is planned for a moment (a press, Ctrl-C, a timer) happens
in passing.
"""

from ends import Restart


class Bench:
    """State of the fake board."""

    def __init__(self):
        self.clear()

    def clear(self):
        self.now_us = 0
        self.tick_cost_us = 10
        # ("mode", pin, mode), ("pin", pin, level, ms), ("lightsleep", ms), ("feed",), ("i2c", address, bytes) ...
        self.events = []
        self.levels = {}
        self.pulls = {}
        self.irqs = {}
        self.adc = {}
        self.devices = {}
        self.wires = {}
        self.mem = {}
        self.plans = []
        self.wdt_ms = 0
        self.fed_us = 0
        self.early_ms = []
        self.reset_cause = 1
        self.wake_reason = 4
        self.wall_s = 1609459200
        self.epoch_s = 0
        self.hard_timers = True
        self.refused_pins = ()
        self.power_pin = -1
        self.ticks_frozen = False
        self.rtc_memory = b""
        # A device that holds bus_data down until it was clocked so often.
        self.bus_data, self.bus_clock, self.bus_held = 12, 13, 0

    def log(self, *event):
        self.events.append(event)

    def plan(self, at_ms, action):
        """Have action() run when the clock reaches at_ms."""
        self.plans.append([at_ms * 1000, action])

    def unplan(self, action):
        self.plans = [plan for plan in self.plans if plan[1] != action]

    def pass_us(self, us):
        """Let time pass, with whatever is planned in it."""
        end_us = self.now_us + us
        while True:
            due = None
            for plan in self.plans:
                if plan[0] <= end_us and (due is None or plan[0] < due[0]):
                    due = plan
            if due is None:
                break
            self.plans.remove(due)
            self._move(max(self.now_us, due[0]))
            due[1]()
        self._move(end_us)

    def _move(self, to_us):
        if self.wdt_ms and to_us - self.fed_us > self.wdt_ms * 1000:
            self.log("watchdog bites")
            raise Restart("watchdog")
        if to_us > self.now_us:
            self.now_us = to_us

    def set_input(self, pin, level):
        """A wire changes level from outside: interrupts fire."""
        old = self.levels.get(pin, 1)
        self.levels[pin] = level
        if pin in self.irqs and old != level:
            handler, trigger = self.irqs[pin]
            if handler is not None and trigger & (1 if level else 2):
                handler(pin)

    def writes(self, *pins):
        """Levels written, in order: [(pin, level), ...] of the given pins, or of all."""
        return [(e[1], e[2]) for e in self.events if e[0] == "pin" and (not pins or e[1] in pins)]

    def count(self, kind):
        """How many events of a kind there were."""
        return len([event for event in self.events if event[0] == kind])

    def first(self, kind):
        """Place of the first event of a kind, or -1."""
        for place, event in enumerate(self.events):
            if event[0] == kind:
                return place
        return -1


bench = Bench()
