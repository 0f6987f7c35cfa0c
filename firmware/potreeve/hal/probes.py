"""Moisture probes: analogue ones, straight or through an analogue switch, and ones that pulse."""

import time

from machine import Pin

from potreeve.hal import adc

RAW_MAX = 65535
# The analogue switch and the probe's own output resistance need a moment.
SWITCH_SETTLE_MS = 2


def open_probes(board):
    """rig.probes of the kind the board file names."""
    if board["pins"]["probe_kind"] == "pulses":
        return PulseProbes(board)
    return AnalogueProbes(board)


class _Rail:
    """Shared by both kinds: probes draw current only while they are read."""

    def __init__(self, board):
        pins = board["pins"]
        self._settle_ms = pins["probe_settle_ms"]
        self._rail = Pin(pins["probe_power"], Pin.OUT, value=0) if pins["probe_power"] >= 0 else None
        self._on = self._rail is None

    def power(self, on):
        """Switch the rail and wait until the probes have settled; 0 or 1. Without a rail it stays on."""
        if self._rail is None:
            return
        self._rail.value(1 if on else 0)
        if on and not self._on:
            time.sleep_ms(self._settle_ms)
        self._on = bool(on)

    def burst(self, channel, buf):
        """Fill buf with samples 0..65535 of one channel; return how many, 0 if it has no probe.

        Switches the rail on for the burst, unless power(1) has been called.
        """
        if not 0 <= channel < self.count:
            return 0
        was_on = self._on
        try:
            if not was_on:
                self.power(1)
            return self._fill(channel, buf)
        finally:
            if not was_on:
                self.power(0)


class AnalogueProbes(_Rail):
    """Samples are what the ADC reads, scaled to 16 bits."""

    def __init__(self, board):
        _Rail.__init__(self, board)
        pins = board["pins"]
        self.count = len(pins["probes"])
        self._inputs = pins["probes"]
        self._select = [Pin(number, Pin.OUT, value=0) for number in pins["probe_select"]]
        if self._select:
            shared = adc.open_adc(board, pins["probe_adc"])
            self._adcs = [shared for _ in self._inputs]
        else:
            self._adcs = [adc.open_adc(board, number) for number in self._inputs]

    def _fill(self, channel, buf):
        try:
            if self._select:
                self._address(self._inputs[channel])
                time.sleep_ms(SWITCH_SETTLE_MS)
            source = self._adcs[channel]
            for place in range(len(buf)):
                buf[place] = source.read_u16()
        finally:
            # Left high, the address lines would feed the unpowered switch.
            self._address(0)
        return len(buf)

    def _address(self, number):
        for line in self._select:
            line.value(number & 1)
            number >>= 1


class PulseProbes(_Rail):
    """Samples are hundredths of hertz, one per window; 0 is silence."""

    def __init__(self, board):
        _Rail.__init__(self, board)
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
