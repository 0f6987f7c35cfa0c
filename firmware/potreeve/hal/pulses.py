"""Moisture probes that pulse: the faster, the wetter or the drier; their calibration knows."""

import time

from machine import Pin

from potreeve.hal.probes import Rail

RAW_MAX = 65535


class PulseProbes(Rail):
    """Samples are hundredths of hertz, one per window; 0 is silence."""

    def __init__(self, board):
        Rail.__init__(self, board)
        pins = board["pins"]
        self.count = len(pins["probes"])
        self._window_ms = pins["probe_window_ms"]
        # Pulled down, an unplugged probe is silent instead of picking up hum.
        self._pins = [Pin(number, Pin.IN, Pin.PULL_DOWN) for number in pins["probes"]]
        # Edges seen, tick of the first, tick of the last: written in the interrupt, so made beforehand.
        self._edges = [0, 0, 0]
        self._handler = self._on_edge

    def _on_edge(self, _):
        edges = self._edges
        now = time.ticks_us()
        if edges[0] == 0:
            edges[1] = now
        edges[2] = now
        edges[0] += 1

    def _fill(self, channel, buf):
        pin = self._pins[channel]
        try:
            pin.irq(self._handler, Pin.IRQ_RISING, hard=True)
        except TypeError:  # a port without hard interrupts
            pin.irq(self._handler, Pin.IRQ_RISING)
        try:
            for place in range(len(buf)):
                buf[place] = self._window()
        finally:
            pin.irq(None)
        return len(buf)

    def _window(self):
        """Hundredths of hertz over one window: from first to last edge, which is finer than a count."""
        edges = self._edges
        edges[0] = 0
        time.sleep_ms(self._window_ms)
        count = edges[0]
        span_us = time.ticks_diff(edges[2], edges[1])
        if count < 2:
            chz = count * 100000 // self._window_ms
        else:
            chz = (count - 1) * 1000000 // (span_us // 100) if span_us >= 100 else RAW_MAX
        return chz if chz < RAW_MAX else RAW_MAX
