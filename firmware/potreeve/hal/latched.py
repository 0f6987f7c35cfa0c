"""A latched board: its external clock of the PCF85063A class, and the sleep with the power cut that this one ends.

Registers and bits: NXP PCF85063A data sheet, section 7 (from memory; the
layout agrees with published drivers).
"""

import time

import machine

from potreeve.hal.parts import EPOCH_S
from potreeve.hal.power import Power, hardware_cause
from potreeve.logic.timekeep import BUTTON, TIMER, WATCHDOG
from potreeve.logic.units import const

_ADDRESS = const(0x51)
_CONTROL_2 = const(0x01)
_RAM_BYTE = const(0x03)
_SECONDS = const(0x04)
_TIMER_VALUE = const(0x10)
_TIMER_MODE = const(0x11)

_TIMER_FLAG = const(0x08)
_OSCILLATOR_STOPPED = const(0x80)
# Countdown on, interrupt on and level (the line stays low until the flag is cleared).
_MODE_SECONDS = const(0x16)
_MODE_MINUTES = const(0x1E)
_MODE_OFF = const(0x18)
_COUNT_MAX = const(255)
# In the chip's RAM byte while a countdown runs that is long enough; its only reader takes it away.
_WHOLE = const(0x3C)


class Pcf85063:
    """The chip on its I2C bus."""

    def __init__(self, i2c):
        self._i2c = i2c

    def read_utc(self):
        """Unix seconds, or 0 if the chip does not answer or its oscillator has stopped since it was set."""
        try:
            raw = self._i2c.readfrom_mem(_ADDRESS, _SECONDS, 7)
        except OSError:
            return 0
        if raw[0] & _OSCILLATOR_STOPPED:
            return 0
        second, minute, hour, day = (_from_bcd(raw[n] & m) for n, m in ((0, 0x7F), (1, 0x7F), (2, 0x3F), (3, 0x3F)))
        month, year = _from_bcd(raw[5] & 0x1F), 2000 + _from_bcd(raw[6])
        if not (1 <= month <= 12 and 1 <= day <= 31 and hour < 24 and minute < 60 and second < 60):
            return 0
        return int(time.mktime((year, month, day, hour, minute, second, 0, 0))) + EPOCH_S

    def set_utc(self, unix_s):
        """Set date and time, which also marks them as valid; raises OSError."""
        t = time.gmtime(unix_s - EPOCH_S)
        # Weekdays count from Sunday here and from Monday in gmtime.
        fields = (t[5], t[4], t[3], t[2], (t[6] + 1) % 7, t[1], t[0] - 2000)
        self._i2c.writeto_mem(_ADDRESS, _SECONDS, bytes([_to_bcd(n) for n in fields]))

    def take_wake(self):
        """1 if a countdown of at least the length asked for has run out, and nobody has asked since; else 0.

        Anything else proves no sleep: a restart before the flag was cleared, a
        countdown cut short, a chip that does not answer.
        """
        try:
            flagged = self._get(_CONTROL_2) & _TIMER_FLAG
            whole = self._get(_RAM_BYTE) == _WHOLE
            self._put(_RAM_BYTE, 0)
        except OSError:
            return 0
        return 1 if flagged and whole else 0

    def start_countdown(self, s, proves=1):
        """Start the countdown, then clear its flag. Seconds it takes at most, 0 unless the chip reads back as set.

        Its first period may be short by up to one, so it gets one more: s is
        the least it takes, in seconds up to 254, beyond in minutes, up to 254
        of them. It repeats by itself: a wake that dies before it set the next
        one is woken again.
        """
        if s < _COUNT_MAX:
            count, unit_s, mode = (s if s > 1 else 1) + 1, 1, _MODE_SECONDS
        else:
            count, unit_s, mode = (s + 59) // 60 + 1, 60, _MODE_MINUTES
        if count > _COUNT_MAX:
            count = _COUNT_MAX
        try:
            self._put(_TIMER_MODE, _MODE_OFF)
            self._put(_TIMER_VALUE, count)
            self._put(_RAM_BYTE, _WHOLE if proves and (count - 1) * unit_s >= s else 0)
            self._put(_TIMER_MODE, mode)
            self._put(_CONTROL_2, 0)
            obeyed = self._get(_TIMER_MODE) & 0x1F == mode and not self._get(_CONTROL_2) & _TIMER_FLAG
        except OSError:
            return 0
        return count * unit_s if obeyed else 0

    def _get(self, register):
        return self._i2c.readfrom_mem(_ADDRESS, register, 1)[0]

    def _put(self, register, byte):
        self._i2c.writeto_mem(_ADDRESS, register, bytes((byte,)))


class LatchedPower(Power):
    """A board whose external clock brings the power back. hold: the pin that keeps it on until then."""

    keeps_ram = 0
    # Pieces while the power stays on; sleep_max_ms is the clock's countdown.
    _piece_max_ms = 6000

    def __init__(self, board, button, hold, chip):
        self._hold = hold
        self._chip = chip
        Power.__init__(self, board, button)

    def sleep(self, s, proves=1):
        """Cut the power for at least s seconds, or until the button. Returns only where a press came first.

        Sleeps longer than the board's longest are cut to it, and then prove no
        time. The countdown is set and its flag cleared before the hold is
        dropped: without the first the board would never wake, without the
        second never go off. If the clock does not obey, the power stays on.
        Where it stays on anyway (USB), the board waits in its place and starts
        again.
        """
        pressed_ms = self._button.pressed()
        slept_ms = 0
        if not pressed_ms:
            slept_ms, pressed_ms = self._cut(s, proves)
        if pressed_ms:
            return slept_ms, pressed_ms
        self.restart()

    def _cut(self, s, proves):
        takes_s = self._chip.start_countdown(s, proves)
        if takes_s:
            self._hold.value(0)
        rested = self._rest((takes_s or s) * 1000)
        self._hold.value(1)
        return rested

    def restart(self):
        """Start again by a soft reset, which keeps the hold pin high; a hard one would drop it and the power."""
        machine.soft_reset()

    def restart_anyhow(self):
        """From a callback or the raw prompt a soft reset would not start main.py: USB holds the power through a hard
        one, and without USB the clock brings it back."""
        if self.usb():
            machine.reset()
        self._cut(1, 0)

    def _find_cause(self):
        """The clock's flag or the button say what switched the power on."""
        cause = hardware_cause(self._mcu)
        woken = self._chip.take_wake()
        if cause == WATCHDOG:
            return cause
        if woken:
            return TIMER
        return BUTTON if self._button.level() else cause


def _from_bcd(byte):
    return (byte >> 4) * 10 + (byte & 0x0F)


def _to_bcd(number):
    return number // 10 << 4 | number % 10
