"""Why the board woke, the watchdog, and sleep: light, deep, or with the power cut."""

import time

import machine
from machine import Pin

# rig.power.cause
POWER_ON, WATCHDOG, TIMER, BUTTON, RESET, UNKNOWN = range(6)

# Watchdog scratch register 4: the SDK's mark while a watchdog is armed, 0 after machine.reset()
# (pico-sdk 2.2.0, watchdog.c). MicroPython itself calls both a watchdog reset.
SCRATCH_4 = {"rp2040": 0x4005801C, "rp2350": 0x400D801C}
ARMED = 0x6AB73121
# USB device controller, SIE_STATUS: bit 16 connected, bit 4 suspended (RP2040 data sheet 4.1.4, from memory).
SIE_STATUS = 0x50110050
# With USB present the port must stay up, so naps replace lightsleep.
NAP_MS = 200


def open_power(board, button, hold, chip):
    """rig.power of the board: one that keeps its memory, one that sleeps deeply, or one that cuts its power."""
    if board["latch"]:
        return LatchedPower(board, button, hold, chip)
    if board["keeps_ram"]:
        return Power(board, button)
    return DeepPower(board, button)


class Power:
    """A board that keeps its memory in its sleep.

    cause: 0 power-on, 1 watchdog, 2 timer wake, 3 button wake, 4 soft or other
    reset, 5 unknown. keeps_ram: 1 if sleep() returns.
    """

    keeps_ram = 1
    _piece_max_ms = 0

    def __init__(self, board, button):
        self._mcu = board["mcu"]
        self._wdt_max_ms = board["wdt_max_ms"]
        self._sleep_max_ms = board["sleep_max_ms"]
        self._wdt = None
        self._wdt_ms = 0
        self._button = button
        # Set in an interrupt, so that a press shorter than a wake is not lost.
        self._pressed = bytearray(1)
        sense = board["pins"]["usb_sense"]
        self._usb = Pin(sense, Pin.IN) if sense >= 0 else None
        self.cause = self._find_cause()

    def usb(self):
        """1 if USB is present, as far as the port can tell: the sense pin, else (RP2) an awake host."""
        if self._usb is not None:
            return self._usb.value()
        if self._mcu in SCRATCH_4:
            return 1 if _register(SIE_STATUS) & 0x10010 == 0x10000 else 0
        return 0

    def start_watchdog(self, ms):
        """Start the watchdog, at most the board's longest time-out; from then on it can't be stopped."""
        if self._wdt is None:
            self._wdt_ms = ms if ms < self._wdt_max_ms else self._wdt_max_ms
            self._wdt = machine.WDT(timeout=self._wdt_ms)

    def feed(self):
        """Feed the watchdog, if it runs."""
        if self._wdt is not None:
            self._wdt.feed()

    def sleep(self, s):
        """Sleep s seconds, or until the button or USB comes; return (slept_ms by the tick counter, woke_by_button)."""
        return self._rest(s * 1000)

    def restart(self):
        """Reset the chip. Does not return on a board."""
        machine.reset()

    def restart_anyhow(self):
        """The same, also from a timer's callback and from the raw prompt."""
        machine.reset()

    def _find_cause(self):
        return _hardware_cause(self._mcu)

    def _rest(self, ms):
        """Sleep in pieces below the watchdog's time-out until ms have passed or the button is pressed.

        lightsleep may return early, even at once (any interrupt ends it), so only the tick counter
        says how much has passed. The watchdog is fed only when that counter has moved.
        """
        self._pressed[0] = 0
        self._watch_button()
        self.feed()
        had_usb = self.usb()
        slept_ms = 0
        last = time.ticks_ms()
        while slept_ms < ms:
            self._piece(ms - slept_ms)
            now = time.ticks_ms()
            gone_ms = time.ticks_diff(now, last)
            last = now
            slept_ms += gone_ms
            if gone_ms > 0:
                self.feed()
            else:
                time.sleep_ms(1)
            if self._is_pressed():
                return slept_ms, 1
            # Somebody has plugged in a cable, and waits.
            if self.usb() and not had_usb:
                break
        return slept_ms, 0

    def _piece(self, left_ms):
        longest_ms = self._piece_max_ms or self._sleep_max_ms
        if self._wdt is not None and longest_ms > self._wdt_ms * 3 // 4:
            longest_ms = self._wdt_ms * 3 // 4
        piece_ms = left_ms if left_ms < longest_ms else longest_ms
        if self.usb():
            time.sleep_ms(piece_ms if piece_ms < NAP_MS else NAP_MS)
            return
        before = time.ticks_ms()
        machine.lightsleep(piece_ms)
        short_ms = piece_ms - time.ticks_diff(time.ticks_ms(), before)
        # Something keeps waking the chip: a plain nap costs less than trying again in a tight loop.
        if short_ms > 0 and not self._is_pressed():
            time.sleep_ms(short_ms if short_ms < NAP_MS else NAP_MS)

    def _watch_button(self):
        """A press ends lightsleep only if the pin has an interrupt."""
        if self._button is not None:
            self._button.irq(self._on_press, Pin.IRQ_FALLING)

    def _on_press(self, _):
        self._pressed[0] = 1

    def _is_pressed(self):
        return self._pressed[0] == 1 or _level(self._button) == 1


class DeepPower(Power):
    """A chip with a real deep sleep (ESP32): its memory is lost, waking is a reset."""

    keeps_ram = 0

    def sleep(self, s):
        """Sleep s seconds (at most the board's longest sleep) or until the button. Does not return."""
        ms = s * 1000 if s * 1000 < self._sleep_max_ms else self._sleep_max_ms
        # A button held now would wake the chip at once, again and again.
        if self._button is not None and not _level(self._button):
            import esp32

            esp32.wake_on_ext0(pin=self._button, level=esp32.WAKEUP_ALL_LOW)
        machine.deepsleep(ms if ms > 1 else 1)
        machine.reset()


class LatchedPower(Power):
    """A board whose external clock brings the power back. hold: the pin that keeps it on until then."""

    keeps_ram = 0
    # Pieces while the power stays on; sleep_max_ms is the clock's countdown.
    _piece_max_ms = 6000

    def __init__(self, board, button, hold, chip):
        self._hold = hold
        self._chip = chip
        Power.__init__(self, board, button)

    def sleep(self, s):
        """Cut the power for at least s seconds, or until the button. Does not return.

        Sleeps longer than the board's longest are cut to it, and then prove no
        time. The countdown is set and its flag cleared before the hold is
        dropped: without the first the board would never wake, without the
        second never go off. If the clock does not obey, the power stays on.
        Where it stays on anyway (USB), the board waits in its place and starts
        again.
        """
        takes_s = self._chip.start_countdown(s)
        if takes_s:
            self._hold.value(0)
        self._rest((takes_s or s) * 1000)
        self._hold.value(1)
        self.restart()

    def restart(self):
        """Start again by a soft reset, which keeps the hold pin high; a hard one would drop it and the power."""
        machine.soft_reset()

    def restart_anyhow(self):
        """From a callback or the raw prompt a soft reset would not start main.py: USB holds the power through a hard one,
        and without USB the clock brings it back."""
        if self.usb():
            machine.reset()
        self.sleep(1)

    def _find_cause(self):
        """The clock's flag or the button say what switched the power on."""
        cause = _hardware_cause(self._mcu)
        woken = self._chip.take_wake()
        if cause == WATCHDOG:
            return cause
        if woken:
            return TIMER
        return BUTTON if _level(self._button) else cause


def _level(button):
    return 0 if button is None else 1 - button.value()


def _register(address):
    # mem32 may come back negative.
    return machine.mem32[address] & 0xFFFFFFFF


def _hardware_cause(mcu):
    """Cause as far as the chip knows it."""
    reset = machine.reset_cause()
    if reset == machine.PWRON_RESET:
        return POWER_ON
    if mcu in SCRATCH_4:
        if reset == machine.WDT_RESET:
            return WATCHDOG if _register(SCRATCH_4[mcu]) == ARMED else RESET
        return UNKNOWN
    if reset == machine.WDT_RESET:
        return WATCHDOG
    if reset == machine.DEEPSLEEP_RESET:
        wake = machine.wake_reason()
        if wake == machine.TIMER_WAKE:
            return TIMER
        return BUTTON if wake in (machine.PIN_WAKE, machine.EXT0_WAKE, machine.EXT1_WAKE) else UNKNOWN
    return RESET if reset in (machine.HARD_RESET, machine.SOFT_RESET) else UNKNOWN
