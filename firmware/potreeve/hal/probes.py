"""Moisture probes that give a voltage, straight or through an analogue switch; and what they share with others."""

import time

from machine import Pin

from potreeve.hal import parts

# The analogue switch and the probe's own output resistance need a moment.
SWITCH_SETTLE_MS = 2


class Rail:
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


class AnalogueProbes(Rail):
    """Samples are what the ADC reads, scaled to 16 bits."""

    def __init__(self, board):
        Rail.__init__(self, board)
        pins = board["pins"]
        self.count = len(pins["probes"])
        self._inputs = pins["probes"]
        self._select = [Pin(number, Pin.OUT, value=0) for number in pins["probe_select"]]
        if self._select:
            shared = parts.open_adc(board, pins["probe_adc"])
            self._adcs = [shared for _ in self._inputs]
        else:
            self._adcs = [parts.open_adc(board, number) for number in self._inputs]

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
