"""Chips on the virtual board's I2C bus, register by register, fed from what the simulated rig senses.

Registers: the same data sheets as hal's own (BME280, SHT4x, HTU21D, BH1750, PCF85063A).
Raw values are found by asking `logic`, whose inverse they are.
"""

import calendar
import time

from potreeve.logic import air, sht4x

from potreeve_tools.standins import displaychip

# Calibration of the BMP280 data sheet's worked example (section 3.12), with typical humidity trimming (from memory).
BME280_FIRST = bytes.fromhex("706b436718fc7d8e43d6d00b270b8c00f9ff8c3cf8c67017004b")
BME280_SECOND = bytes.fromhex("7201001329031e")
SKIPPED = b"\x80\x00\x00\x80\x00\x00\x80\x00"


def lowest(wanted, low, high, value):
    """The least n in low..high with value(n) >= wanted (value never falls); high if there is none."""
    while low < high:
        middle = (low + high) // 2
        if value(middle) >= wanted:
            high = middle
        else:
            low = middle + 1
    return low


class Bme280:
    """sense: function -> Sense. Measures in forced mode only."""

    def __init__(self, sense):
        self._sense = sense
        self._pointer = 0
        self._registers = bytearray(256)
        self._registers[0xD0] = 0x60
        self._registers[0x88:0xA2] = BME280_FIRST
        self._registers[0xE1:0xE8] = BME280_SECOND
        self._registers[0xF7:0xFF] = SKIPPED
        self._calibration = air.parse_bme280(BME280_FIRST, BME280_SECOND)

    def write(self, data):
        self._pointer = data[0]
        for place in range(1, len(data)):
            register = (data[0] + place - 1) & 0xFF
            self._registers[register] = data[place]
            if register == 0xE0 and data[place] == 0xB6:
                self._registers[0xF7:0xFF] = SKIPPED
            if register == 0xF4 and data[place] & 3:
                self._measure()

    def read(self, length):
        start, self._pointer = self._pointer, self._pointer + length
        return bytes(self._registers[start : start + length])

    def answers(self):
        return self._sense().temp_cdeg is not None

    def _measure(self):
        sense = self._sense()
        if sense.temp_cdeg is None:
            return
        raw = bytearray(SKIPPED)
        calibration = self._calibration
        # 0x80000 and 0x8000 say "not measured": nothing is worked out from them, and the chip never means them.
        adc = lowest(sense.temp_cdeg * 256 // 5, 1, 0xFFFFE, lambda n: air.bme280_fine(calibration, n + (n == 0x80000)))
        adc += adc == 0x80000
        raw[3:6] = bytes((adc >> 12, adc >> 4 & 0xFF, adc << 4 & 0xF0))
        if self._registers[0xF2] & 7:
            fine = air.bme280_fine(calibration, adc)
            adc = lowest(
                sense.rh_pm * 1024 // 10,
                1,
                0xFFFE,
                lambda n: air.bme280_rh_q10(calibration, n + (n == 0x8000), fine) or 0,
            )
            adc += adc == 0x8000
            raw[6:8] = bytes((adc >> 8, adc & 0xFF))
        self._registers[0xF7:0xFF] = raw


class _AsksAndReads:
    """A climate sensor that is told what to measure and then read."""

    def __init__(self, sense):
        self._sense = sense
        self._answer = b""

    def answers(self):
        return self._sense().temp_cdeg is not None

    def read(self, length):
        return self._answer[:length].ljust(length, b"\xff")


class Sht4x(_AsksAndReads):
    """Answers the high-precision command with temperature and humidity, each with its CRC."""

    def write(self, data):
        if data[0] != 0xFD:
            return
        sense = self._sense()
        temp = min(65535, max(0, round((sense.temp_cdeg + 4500) * 65535 / 17500)))
        rh = min(65535, max(0, round((sense.rh_pm + 60) * 65535 / 1250)))
        self._answer = b"".join(
            pair + bytes((sht4x.crc8(pair),)) for pair in (temp.to_bytes(2, "big"), rh.to_bytes(2, "big"))
        )


class Htu21d(_AsksAndReads):
    """Answers its two commands without holding the bus; the status bit tells humidity."""

    def write(self, data):
        sense = self._sense()
        if data[0] == 0xF3:
            word, status = round((sense.temp_cdeg + 4685) * 65536 / 17572), 0
        elif data[0] == 0xF5:
            word, status = round((sense.rh_pm + 60) * 65536 / 1250), 2
        else:
            return
        pair = (min(65532, max(0, word)) & 0xFFFC | status).to_bytes(2, "big")
        self._answer = pair + bytes((sht4x.crc8(pair, 0),))


class Bh1750:
    """Counts of the last measurement: 1.2 counts per lux at the default sensitivity of 69."""

    def __init__(self, sense):
        self._sense = sense
        self._mtreg = 69

    def answers(self):
        return self._sense().lx >= 0

    def write(self, data):
        command = data[0]
        if command & 0xF8 == 0x40:
            self._mtreg = self._mtreg & 0x1F | (command & 7) << 5
        elif command & 0xE0 == 0x60:
            self._mtreg = self._mtreg & 0xE0 | command & 0x1F

    def read(self, length):
        counts = min(65535, max(0, round(self._sense().lx * 1.2 * self._mtreg / 69)))
        return counts.to_bytes(2, "big")[:length].ljust(length, b"\xff")


class Ssd1306(displaychip.Ssd1306):
    """flag: function -> the mishap that takes it off the bus in mid-write, or None."""

    def __init__(self, flag):
        super().__init__()
        self._flag = flag

    def answers(self):
        fault = self._flag()
        if fault is None:
            self.left = None
        elif self.left is None:
            # It still hears the question whether it is there, how a page begins, and some of it.
            self.left = 9
        if self.left == 0:
            fault.bit += 1
        return super().answers()


class Pcf85063:
    """Clock with a countdown; it has its own supply. utc_s, set_utc: the clock itself; now_us: simulated time."""

    def __init__(self, utc_s, set_utc, now_us):
        self._utc_s, self._set_utc, self._now_us = utc_s, set_utc, now_us
        self._registers = bytearray(18)
        self._pointer = 0
        self.due_us = None
        """When the countdown next runs out, in simulated time; None while it is off."""

    def answers(self):
        return True

    def interrupt(self):
        """Whether the interrupt line is pulled."""
        self._count()
        return bool(self._registers[1] & 8)

    def _count(self):
        if self.due_us is not None and self._now_us() >= self.due_us:
            self._registers[1] |= 8
            while self.due_us <= self._now_us():
                self.due_us += self._period_us()

    def _period_us(self):
        unit_us = 60_000_000 if self._registers[0x11] & 0x18 == 0x18 else 1_000_000
        return max(1, self._registers[0x10]) * unit_us

    def write(self, data):
        self._count()
        self._pointer = data[0]
        for place, byte in enumerate(data[1:], data[0]):
            if place < 18:
                self._registers[place] = byte
        if data[0] == 4 and len(data) >= 8:
            self._set_clock(data[1:8])
        if data[0] <= 0x11 < data[0] + len(data) - 1 or data[0] == 0x11 and len(data) > 1:
            self.due_us = self._now_us() + self._period_us() if self._registers[0x11] & 4 else None

    def _set_clock(self, raw):
        second, minute, hour, day, _, month, year = (
            bcd(b & m) for b, m in zip(raw, (0x7F, 0x7F, 0x3F, 0x3F, 7, 0x1F, 0xFF), strict=True)
        )
        self._set_utc(calendar.timegm((2000 + year, month, day, hour, minute, second)))

    def read(self, length):
        self._count()
        utc_s = self._utc_s()
        t = time.gmtime(utc_s or 946684800)
        fields = (t.tm_sec, t.tm_min, t.tm_hour, t.tm_mday, (t.tm_wday + 1) % 7, t.tm_mon, t.tm_year - 2000)
        self._registers[4:11] = bytes(n // 10 << 4 | n % 10 for n in fields)
        if not utc_s:
            self._registers[4] |= 0x80
        start, self._pointer = self._pointer, self._pointer + length
        return bytes(self._registers[start : start + length]).ljust(length, b"\xff")


def bcd(byte):
    """Two decimal digits in one byte, as a number."""
    return (byte >> 4) * 10 + (byte & 15)


class Ds18b20:
    """The soil's thermometer, alone on its wire. measured: function, the scratchpad after measuring, b"" where nothing
    answers, zeros where the wire is shorted; follow: function, seconds of the world."""

    CONVERSION_S = {0x1F: 0.094, 0x3F: 0.188, 0x5F: 0.375, 0x7F: 0.75}
    """By the configuration's byte (data sheet, from memory)."""

    def __init__(self, measured, follow):
        self._measured, self._follow = measured, follow
        self._config, self._done_s = 0x7F, None
        self._said, self._heard, self._tells = b"", b"", b""

    def reset(self):
        """Whether something holds the line down in answer."""
        self._heard = self._tells = b""
        self._follow()
        return bool(self._measured())

    def write(self, data):
        self._heard += data
        if self._heard[:2] == b"\xcc\x4e" and len(self._heard) == 5:
            self._config = self._heard[4] & 0x60 | 0x1F
        elif self._heard == b"\xcc\x44":
            self._done_s = self._follow() + self.CONVERSION_S[self._config]
            self._said = self._measured()
        elif self._heard == b"\xcc\xbe":
            self._tells = self._said

    def _shorted(self):
        return self._measured() == bytes(9)

    def read_bit(self):
        if self._shorted():
            return 0
        return int(self._done_s is None or self._follow() >= self._done_s)

    def read_byte(self):
        if self._shorted():
            return 0
        told, self._tells = self._tells[:1], self._tells[1:]
        return told[0] if told else 0xFF
