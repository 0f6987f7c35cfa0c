"""What a person sees, hears and presses."""

import time

from machine import Pin

FLASHES = (1, 2, 5)
FLASH_MS = 40
BEEP_MS = 60


class Panel:
    """rig.panel. Everything is optional; what is not wired does nothing."""

    def __init__(self, board):
        pins = board["pins"]
        self.button_pin = Pin(pins["button"], Pin.IN, Pin.PULL_UP) if pins["button"] >= 0 else None
        self._leds = {"ok": _output(pins["led_ok"]), "warn": _output(pins["led_warn"])}
        self._buzzer = _output(pins["buzzer"])

    def button(self):
        """1 while the button is pressed, 0 otherwise: the raw level, bounces and all."""
        if self.button_pin is None:
            return 0
        return 1 - self.button_pin.value()

    def led(self, name, on):
        """Switch the LED "ok" or "warn"."""
        pin = self._leds[name]
        if pin is not None:
            pin.value(1 if on else 0)

    def show(self, alarm):
        """Tell how the rig fares: 0 calm, 1 a note, 2 a call for help. LEDs end up off: lit, one draws more than the sleep.

        Calm is one flash of "ok", a note two of "warn", a call five of "warn" and a short beep.
        """
        self.led("ok", 0)
        self.led("warn", 0)
        for _ in range(FLASHES[alarm]):
            self.led("warn" if alarm else "ok", 1)
            time.sleep_ms(FLASH_MS)
            self.led("warn" if alarm else "ok", 0)
            time.sleep_ms(FLASH_MS)
        if alarm == 2:
            self.beep(BEEP_MS)

    def beep(self, ms):
        """Sound the buzzer for ms."""
        if self._buzzer is None or ms <= 0:
            return
        try:
            self._buzzer.value(1)
            time.sleep_ms(ms)
        finally:
            self._buzzer.value(0)


def _output(number):
    return Pin(number, Pin.OUT, value=0) if number >= 0 else None
