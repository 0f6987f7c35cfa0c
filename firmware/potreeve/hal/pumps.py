"""Pumps: a master switch and one pin per channel, off unless a pulse is running."""

import time

import machine

from potreeve.hal import drive_off

# Short enough that Ctrl-C, the feed and the battery's sag are never late.
STEP_MS = 20
# The hardware cut-off comes this much after the pulse should have ended.
CUT_OFF_MARGIN_MS = 500


class Pumps:
    """rig.pumps.

    count: channels. sag_mv: lowest battery voltage seen during the last pulse,
    0 if it could not be read. cut_off: 1 if the hardware timer had to end the
    last pulse.
    """

    def __init__(self, board, enable, pins, battery):
        self._enable = enable
        self._pins = pins
        self._master = [] if enable is None else [enable]
        self._battery = battery
        self._timer = _open_timer(board["mcu"])
        # Made once: a bound method is an allocation, which a hard interrupt may not do.
        self._cut = self._on_timer
        self.count = len(pins)
        self.sag_mv = 0
        self.cut_off = 0

    def all_off(self):
        """Drive every channel and the master switch off; see hal.drive_off."""
        try:
            drive_off(self._pins)
        finally:
            drive_off(self._master)

    def pulse(self, channel, ms, feed):
        """Run one pump for ms; return the ms it was on, as the tick counter saw it.

        feed is called every 20 ms. Whatever is raised meanwhile passes
        through, after everything is off. ValueError if there is no such
        channel; ms of 0 or less does nothing.
        """
        if not 0 <= channel < self.count:
            raise ValueError("no such channel")
        self.sag_mv = 0
        self.cut_off = 0
        if ms <= 0:
            return 0
        started = time.ticks_ms()
        try:
            self._arm(ms + CUT_OFF_MARGIN_MS)
            if self._enable is not None:
                self._enable.value(1)
            self._pins[channel].value(1)
            self._wait(started, ms, feed)
        finally:
            try:
                self.all_off()
            finally:
                self._disarm()
        return time.ticks_diff(time.ticks_ms(), started)

    def _wait(self, started, ms, feed):
        while True:
            left_ms = ms - time.ticks_diff(time.ticks_ms(), started)
            if left_ms <= 0:
                return
            time.sleep_ms(left_ms if left_ms < STEP_MS else STEP_MS)
            feed()
            mv = self._battery.read_mv()
            if mv > 0 and (self.sag_mv == 0 or mv < self.sag_mv):
                self.sag_mv = mv

    def _arm(self, ms):
        """Have the hardware timer cut the pump off even if the main thread hangs."""
        if self._timer is None:
            return
        options = {"mode": machine.Timer.ONE_SHOT, "period": ms, "callback": self._cut}
        try:
            try:
                self._timer.init(hard=True, **options)
            except TypeError:  # this port or version has no hard timers
                self._timer.init(**options)
        except OSError:  # no alarm free: the loop below and the watchdog still end the pulse
            pass

    def _disarm(self):
        if self._timer is not None:
            self._timer.deinit()

    def _on_timer(self, _):
        self.all_off()
        self.cut_off = 1


def _open_timer(mcu):
    """A timer for the cut-off, or None where there is none: it is a second line, not the first."""
    try:
        return machine.Timer(0 if mcu.startswith("esp32") else -1)
    except Exception:
        return None


class ServiceTimer:
    """Ends service mode, also while the board sits at its prompt: calls call() every period_ms, as a
    soft callback: between two steps of whatever runs."""

    def __init__(self, mcu, period_ms, call):
        # The ESP32 has numbered timers, and the pumps' cut-off takes the first.
        self._timer = machine.Timer(1 if mcu.startswith("esp32") else -1)
        self._call = call
        self._timer.init(mode=machine.Timer.PERIODIC, period=period_ms, callback=self._on_timer)

    def stop(self):
        """No more calls."""
        self._timer.deinit()

    def _on_timer(self, _):
        self._call()
