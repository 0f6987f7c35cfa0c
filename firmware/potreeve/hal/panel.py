"""What a person sees, hears and presses."""

import time

from machine import Pin


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

    def on_press(self, call):
        """Call call() whenever the button goes down, as a soft interrupt; takes the place of another's."""
        if self.button_pin is not None:
            self.button_pin.irq(lambda _: call() if self.button() else None, Pin.IRQ_FALLING)

    def led(self, name, on):
        """Switch the LED "ok" or "warn"."""
        pin = self._leds[name]
        if pin is not None:
            pin.value(1 if on else 0)

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
