"""The small adapters every board has: voltage inputs, battery, I2C bus, clock, button, LEDs and beeper, the radio's
seam."""

import time

import machine
from machine import ADC, I2C, Pin

from potreeve.logic.debounce import PRESS_MS
from potreeve.logic.timekeep import believable
from potreeve.logic.units import const

_SAMPLES = const(16)

# Ports count from 1970 or from 2000; Unix seconds are what leaves here.
EPOCH_S = 946684800 if time.gmtime(0)[0] == 2000 else 0


def open_adc(board, number):
    """ADC of a GPIO, at its widest range."""
    # ADC(number) would leave the pad's pull-down on; through Pin it is set up afresh.
    if board["mcu"].startswith("esp32"):
        return ADC(Pin(number), atten=ADC.ATTN_11DB)
    return ADC(Pin(number))


def read_mv(adc, vref_mv):
    """Millivolts at the pin, the mean of the middle half of 16 readings; the port's calibration if it has one."""
    calibrated = hasattr(adc, "read_uv")
    values = sorted([adc.read_uv() // 1000 if calibrated else adc.read_u16() for _ in range(_SAMPLES)])
    quarter = _SAMPLES // 4
    mean = sum(values[quarter:-quarter]) // (_SAMPLES - 2 * quarter)
    return mean if calibrated else (mean * vref_mv + 32767) // 65535


class Battery:
    """rig.battery: its voltage through a divider on an ADC pin."""

    def __init__(self, board):
        number = board["pins"]["battery_adc"]
        self._vref_mv = board["adc"]["vref_mv"]
        self._divider_pm = board["adc"]["battery_divider_pm"]
        self._adc = open_adc(board, number) if number >= 0 else None

    def read_mv(self):
        """Battery voltage in mV, averaged; 0 if it can't be read or no pin is wired for it."""
        if self._adc is None:
            return 0
        try:
            return read_mv(self._adc, self._vref_mv) * 1000 // self._divider_pm
        except OSError:
            return 0


def open_bus(board):
    """The I2C bus of the board file, 100 kHz (long wires on a sill), or None if it names no pins."""
    pins = board["pins"]
    sda, scl = pins["i2c_sda"], pins["i2c_scl"]
    if sda < 0 or scl < 0:
        if board["latch"]:
            raise ValueError("a latched board needs I2C")
        return None
    _free(sda, scl)
    return I2C(pins["i2c_id"], sda=Pin(sda), scl=Pin(scl), freq=100000)


def _free(sda, scl):
    """Clock out what a device had to say when the chip was reset: until then it holds the data line down.

    Nine clocks and a stop (NXP UM10204, "Bus clear"; from memory).
    """
    if Pin(sda, Pin.IN).value():
        return
    data = Pin(sda, Pin.OPEN_DRAIN, value=1)
    clock = Pin(scl, Pin.OPEN_DRAIN, value=1)
    for _ in range(9):
        if data.value():
            break
        clock.value(0)
        time.sleep_us(10)
        clock.value(1)
        time.sleep_us(10)
    data.value(0)
    time.sleep_us(10)
    data.value(1)


class Clock:
    """rig.clock: ticks and wall clock. Time that can't be believed is 0, never a plausible date.

    chip: the external clock of a latched board, whose time outlives the power, or None. ticks_ms wraps (after
    12.4 days on boards); ticks_diff is right up to half of that.
    """

    ticks_ms = staticmethod(time.ticks_ms)
    ticks_diff = staticmethod(time.ticks_diff)
    ticks_add = staticmethod(time.ticks_add)
    sleep_ms = staticmethod(time.sleep_ms)

    def __init__(self, chip):
        self._chip = chip

    def utc_s(self):
        """Unix seconds, or 0 if the wall clock is not believable."""
        if self._chip is not None:
            unix_s = believable(self._chip.read_utc())
            if unix_s:
                return unix_s
        return believable(int(time.time()) + EPOCH_S)

    def set_utc(self, unix_s):
        """Set the wall clock, and the external clock if there is one; raises OSError if that one does not answer."""
        t = time.gmtime(unix_s - EPOCH_S)
        machine.RTC().datetime((t[0], t[1], t[2], t[6], t[3], t[4], t[5], 0))
        if self._chip is not None:
            self._chip.set_utc(unix_s)


class Button:
    """The push button, and what was done with it while nobody looked. pin: or None where there is none.

    held_ms: the longest press that is over since the last look; fell: 1 once it went down since then. Both are
    written in an interrupt.
    """

    def __init__(self, number):
        self.held_ms = 0
        self.fell = 0
        self._down = 0
        self._at_ms = 0
        self.pin = Pin(number, Pin.IN, Pin.PULL_UP) if number >= 0 else None
        if self.pin is not None:
            edges = Pin.IRQ_FALLING | Pin.IRQ_RISING
            try:
                self.pin.irq(self._on_edge, edges, hard=True)
            except TypeError:  # a port without hard interrupts
                self.pin.irq(self._on_edge, edges)

    def level(self):
        """1 while it is down."""
        return 0 if self.pin is None else 1 - self.pin.value()

    def look(self):
        """The level, bounces and all. What the caller sees for itself is not remembered."""
        self.held_ms = 0
        self.fell = 0
        return self.level()

    def pressed(self):
        """How long it was down since the last look, in ms: 1 while it still is, 0 if not at all.

        Less than debounce.PRESS_MS is a spark in the wire, and a contact that never opened no press.
        """
        if self.held_ms >= PRESS_MS:
            return self.held_ms
        return self.fell & self.level()

    def _on_edge(self, _):
        if self.pin.value():
            if self._down:
                self._down = 0
                ms = time.ticks_diff(time.ticks_ms(), self._at_ms)
                if ms > self.held_ms:
                    self.held_ms = ms
        elif not self._down:
            self._at_ms = time.ticks_ms()
            self._down = self.fell = 1


class Panel:
    """rig.panel: what a person sees, hears and presses. Everything is optional; what is not wired does nothing."""

    def __init__(self, board):
        pins = board["pins"]
        self.presses = Button(pins["button"])
        self.button = self.presses.look
        self._leds = {"ok": _output(pins["led_ok"]), "warn": _output(pins["led_warn"])}
        self._buzzer = _output(pins["buzzer"])

    def on_press(self, call):
        """Call call() whenever the button goes down, as a soft interrupt; takes the place of another's."""
        pin = self.presses.pin
        if pin is not None:
            pin.irq(lambda _: call() if self.button() else None, Pin.IRQ_FALLING)

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


class Radio:
    """rig.radio: the seam where records leave. `network` is not imported before a report is due, so an image without
    it works.

    Who sends implements reach, report and leave; see sending.Sending. report's count decides what is sent next, and
    nothing
    about water: records count as taken as delivered, whatever they hold, for one that rotted on flash would else be
    sent for ever.
    """

    def wifi(self):
        """The Wifi of hal/radio.py, for sending.py; raises ImportError without one."""
        from potreeve.hal.radio import Wifi

        return Wifi()

    def reach(self):
        """True when somebody is there to be told."""
        return False


class Absent:
    """rig.climate and rig.light of a rig without the sensor."""

    def read(self):
        """None."""
        return None

    def read_lx(self):
        """-1."""
        return -1
