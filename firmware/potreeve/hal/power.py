"""Why the board woke, the watchdog, and sleep, light or deep; latched.py cuts the power."""

import time

import machine
from machine import Pin

from potreeve.logic.debounce import PRESS_MS
from potreeve.logic.timekeep import BUTTON, OTHER_RESET, POWER_ON, TIMER, WATCHDOG

# Watchdog scratch register 4: the SDK's mark while a watchdog is armed, 0 after machine.reset()
# (pico-sdk 2.2.0, watchdog.c). MicroPython itself calls both a watchdog reset.
SCRATCH_4 = {"rp2040": 0x4005801C, "rp2350": 0x400D801C}
ARMED = 0x6AB73121
# USB device controller, SIE_STATUS: bit 16 connected, bit 4 suspended (RP2040 data sheet 4.1.4, from memory).
SIE_STATUS = 0x50110050
# With USB present the port must stay up, so naps replace lightsleep.
NAP_MS = 200


class Power:
    """A board that keeps its memory in its sleep.

    cause: timekeep.*, why it started. keeps_ram: 1 if a sleep returns at its end. pressed_ms: debounce.PRESS_MS
    where a press woke it. button: panel's Button.
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
        sense = board["pins"]["usb_sense"]
        self._usb = Pin(sense, Pin.IN) if sense >= 0 else None
        self.cause = self._find_cause()
        self.pressed_ms = PRESS_MS if self.cause == BUTTON else 0

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

    def sleep(self, s, proves=1):
        """Sleep s seconds, or until the button or USB comes; return (slept_ms by the tick counter, pressed_ms).

        pressed_ms: see Button.pressed; a press since it was last looked at counts, too, and then there is no
        sleep. proves: 0 where a start after it must not take it for the sleep that was planned.
        """
        return self._rest(s * 1000)

    def restart(self):
        """Reset the chip. Does not return on a board."""
        machine.reset()

    def restart_anyhow(self):
        """The same, also from a timer's callback and from the raw prompt."""
        machine.reset()

    def carry(self, clock, leaving=1):
        """The wall clock over a reset that sets it back to 2021 (RP2): through the watchdog's scratch register 0.

        leaving: 1 just before the reset, 0 at the start after it. Decides nothing; some tenths of a second are lost.
        """
        if self._mcu in SCRATCH_4:
            place = SCRATCH_4[self._mcu] - 16
            utc_s = clock.utc_s()
            kept_s = _register(place)
            machine.mem32[place] = utc_s * leaving
            if kept_s > utc_s and not leaving:
                clock.set_utc(kept_s)

    def _find_cause(self):
        return hardware_cause(self._mcu)

    def _rest(self, ms):
        """Sleep in pieces below the watchdog's time-out until ms have passed or the button is pressed.

        lightsleep may return early, even at once (any interrupt ends it), so only the tick counter
        says how much has passed. The watchdog is fed only when that counter has moved.
        """
        self.feed()
        had_usb = self.usb()
        slept_ms = 0
        last = time.ticks_ms()
        while slept_ms < ms and not self._button.pressed():
            self._piece(ms - slept_ms)
            now = time.ticks_ms()
            gone_ms = time.ticks_diff(now, last)
            last = now
            slept_ms += gone_ms
            if gone_ms > 0:
                self.feed()
            else:
                time.sleep_ms(1)
            # Somebody has plugged in a cable, and waits.
            if self.usb() and not had_usb:
                break
        return slept_ms, self._button.pressed()

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
        if short_ms > 0 and not self._button.pressed():
            time.sleep_ms(short_ms if short_ms < NAP_MS else NAP_MS)


class DeepPower(Power):
    """A chip with a real deep sleep (ESP32): its memory is lost, waking is a reset."""

    keeps_ram = 0

    def sleep(self, s, proves=1):
        """Sleep s seconds (at most the board's longest sleep) or until the button. Returns only where a press came
        first."""
        button = self._button
        if button.pressed():
            return 0, button.pressed()
        ms = s * 1000 if s * 1000 < self._sleep_max_ms else self._sleep_max_ms
        machine.RTC().memory(b"" if proves else b"-")
        # A contact that sticks would wake the chip at once, again and again.
        if button.pin is not None and not button.level():
            import esp32

            esp32.wake_on_ext0(pin=button.pin, level=esp32.WAKEUP_ALL_LOW)
        machine.deepsleep(ms if ms > 1 else 1)
        machine.reset()


def _register(address):
    # mem32 may come back negative.
    return machine.mem32[address] & 0xFFFFFFFF


def hardware_cause(mcu):
    """Cause as far as the chip knows it."""
    reset = machine.reset_cause()
    if reset == machine.PWRON_RESET:
        return POWER_ON
    if reset == machine.WDT_RESET:
        # Where no scratch register tells one from the other, it was the watchdog.
        return WATCHDOG if mcu not in SCRATCH_4 or _register(SCRATCH_4[mcu]) == ARMED else OTHER_RESET
    if mcu not in SCRATCH_4 and reset == machine.DEEPSLEEP_RESET:
        wake = machine.wake_reason()
        if wake == machine.TIMER_WAKE and not machine.RTC().memory():
            return TIMER
        if wake in (machine.PIN_WAKE, machine.EXT0_WAKE, machine.EXT1_WAKE):
            return BUTTON
    return OTHER_RESET
