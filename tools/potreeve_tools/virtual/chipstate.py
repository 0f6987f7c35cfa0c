"""The virtual chip apart from its interpreter: time, timers, watchdog, why it last started."""

import math
import time

NEVER = math.inf
TICK_COST_US = 10

PWRON, HARD, WDT, DEEPSLEEP, SOFT = 1, 2, 3, 4, 5


class SimTime:
    """Simulated microseconds.

    awake: simulated seconds per real second while the board is awake; 0: time
    passes only in sleeps and at each look at the clock, which makes runs
    repeatable. asleep: the same while it sleeps; infinite: a sleep is over at once.
    """

    def __init__(self, awake, asleep):
        self.awake, self.asleep = awake, asleep
        self._base_us = 0
        self._real = time.monotonic()
        self.rate = awake
        self._stop_us = NEVER

    def now_us(self):
        if self.rate in (0, math.inf):
            return self._base_us
        return min(self._base_us + int((time.monotonic() - self._real) * self.rate * 1e6), self._stop_us)

    def stop_at(self, us):
        """Time waits there until jump_to or set_rate: when it runs fast, what is due must not be overshot."""
        self._stop_us = us

    def set_rate(self, rate, stop_us=NEVER):
        """From now on; infinite means: go to what is due at once. stop_us: as stop_at, from the first moment on."""
        self._base_us = self.now_us()
        self._stop_us = stop_us
        self._real = time.monotonic()
        self.rate = rate

    def jump_to(self, us):
        """Forward only. In a fast sleep time then waits there, as at stop_at."""
        self._base_us = max(us, self.now_us())
        self._stop_us = self._base_us if self.rate == self.asleep else NEVER
        self._real = time.monotonic()

    def real_s(self, due_us):
        """Real seconds until a simulated time comes by itself."""
        if due_us == NEVER or self.rate == 0:
            return NEVER
        if self.rate == math.inf:
            return 0.0
        return max(0.0, (due_us - self.now_us()) / 1e6 / self.rate)


class ChipState:
    """What a reset changes, and what it leaves."""

    def __init__(self, mcu):
        self.mcu = mcu
        self.scratch = {}
        self.cause = PWRON
        self.wake_reason = 0
        self.begin()

    def begin(self):
        """The interpreter starts: timers and interrupts are gone, the watchdog is not."""
        self.timers = {}
        self.irqs = {}
        self.events = []
        self.wake_pin = -1

    def lose_power(self):
        self.scratch.clear()
        self.cause = PWRON
        self.stop_watchdog()

    wdt_ms = 0
    wdt_due_us = NEVER

    def start_watchdog(self, ms, now_us, most_ms):
        """-1 if the chip can't do it that long."""
        if not 1 <= ms <= most_ms:
            return -1
        self.wdt_ms = ms
        self.feed(now_us)
        return 0

    def feed(self, now_us):
        if self.wdt_ms:
            self.wdt_due_us = now_us + self.wdt_ms * 1000

    def stop_watchdog(self):
        self.wdt_ms, self.wdt_due_us = 0, NEVER

    def next_timer(self):
        """(due_us, number) of the timer that runs out first, or (NEVER, None)."""
        return min(((due_us, number) for number, (due_us, _, _) in self.timers.items()), default=(NEVER, None))

    def fire_timer(self, number):
        due_us, period_us, periodic = self.timers[number]
        if periodic:
            self.timers[number] = (due_us + period_us, period_us, periodic)
        else:
            del self.timers[number]
        event = f"t {number}"
        if event not in self.events:
            self.events.append(event)
