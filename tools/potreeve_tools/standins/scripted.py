"""A rig told in a few integers, for proofs that need thousands of boots.

Pots lose moisture by the hour and gain it by the pulse, all at once and all of
it. Every pulse is counted at the most it can bring; a little of it runs into
the tray, about what is counted for a dose that was taken up, and nothing dries
up there. What is on trial is the bookkeeping, not the soil. Runs under CPython and MicroPython.
"""

from binascii import crc32

from potreeve.logic import dosing
from potreeve.logic.record import RECORD_BYTES
from potreeve.logic.units import DAY_S

FALL_PM_H = 4
TRAY_SHARE = 25

# Raw counts of the plain rig's probes: air-dry and at container capacity.
DRY_RAW = 40000
WET_RAW = 20000

REST_MV = 3900
UNDER_MV = 3800

# A wake takes this long on the rig's clock.
AWAKE_MS = 1500

PERIOD = 1 << 30
HALF = PERIOD // 2

POWER_ON = 0
TIMER = 2
OTHER_RESET = 4


class Restart(BaseException):
    """The board lost its memory; `cause` is what the next start will say."""

    def __init__(self, cause):
        super().__init__("restart")
        self.cause = cause


class Sill:
    """What is really there. pm: moisture per pot, 0..1000.

    given: every pulse as (true second, channel, most ul); `on_pulse`, if set, is
    called with (channel, ms) while the pump runs; tray_ul: what truly stands in
    the tray; on: channels whose pump runs now.
    """

    def __init__(self, board, settings, pm):
        self.board = board
        self.settings = settings
        self.pm = list(pm)
        self.rest = [0] * len(pm)
        self.given = []
        self.tray_ul = 0
        self.now_s = 0
        self.now_ms = 0
        self.press_ms = 0
        self.on = []
        self.on_pulse = None

    def save(self):
        """Everything that changes, for `load`."""
        return list(self.pm), list(self.rest), list(self.given), self.tray_ul, self.now_s, self.now_ms

    def load(self, saved):
        pm, rest, given, self.tray_ul, self.now_s, self.now_ms = saved
        self.pm = list(pm)
        self.rest = list(rest)
        self.given = list(given)
        self.on = []

    def day_ul(self, channel):
        """Most water the channel was truly given in the last 24 hours."""
        total = 0
        for at_s, index, ul in self.given:
            if index == channel and self.now_s - at_s < DAY_S:
                total += ul
        return total

    def burst(self, channel, buf):
        pm = self.pm[channel]
        raw = DRY_RAW + (WET_RAW - DRY_RAW) * (0 if pm < 0 else pm) // 1000
        for place in range(len(buf)):
            # A burst all alike, wake after wake, would be a stuck probe.
            buf[place] = raw + (self.now_s // 60 + place) % 7
        return len(buf)

    def deliver(self, channel, ms):
        """The most water that ms of a running pump can bring."""
        pot = self.settings["channels"][channel]
        most_ul = dosing.most_ul(ms, pot, REST_MV)
        self.given.append((self.now_s, channel, most_ul))
        self.tray_ul += most_ul // TRAY_SHARE
        self.pm[channel] += dosing.rise_pm(most_ul, 1000, pot)

    def pulse(self, channel, ms):
        """Water flows for ms. `on_pulse` comes after it: whatever ends the pulse early, all of it counts."""
        self.deliver(channel, ms)
        if self.on_pulse:
            self.on_pulse(channel, ms)
        self.pass_ms(ms)

    def sleep(self, seconds):
        self.now_s += seconds
        self.pass_ms(seconds * 1000)
        for channel in range(len(self.pm)):
            fall = FALL_PM_H * seconds + self.rest[channel]
            self.pm[channel] -= fall // 3600
            self.rest[channel] = fall % 3600

    def pass_ms(self, ms):
        self.now_ms = (self.now_ms + ms) % PERIOD


class Pumps:
    def __init__(self, sill):
        self.sill = sill
        self.count = len(sill.board["pins"]["pumps"])
        self.sag_mv = 0

    def all_off(self):
        del self.sill.on[:]

    def pulse(self, channel, ms, feed):
        self.sag_mv = 0
        self.sill.on.append(channel)
        try:
            self.sill.pulse(channel, ms)
            feed()
        finally:
            del self.sill.on[:]
        self.sag_mv = UNDER_MV
        return ms


class Probes:
    def __init__(self, sill):
        self.burst = sill.burst


class Climate:
    def read(self):
        return 2100, 550


class Light:
    def read_lx(self):
        return 800


class Battery:
    def read_mv(self):
        return REST_MV


class Clock:
    def __init__(self, sill):
        self.sill = sill
        self.sleep_ms = sill.pass_ms

    def ticks_ms(self):
        return self.sill.now_ms

    def ticks_diff(self, one, other):
        return (one - other + HALF) % PERIOD - HALF

    def ticks_add(self, ticks, ms):
        return (ticks + ms) % PERIOD

    def utc_s(self):
        return 0


class Panel:
    """The button is down for the press the sill announced."""

    def __init__(self, sill):
        self.sill = sill

    def button(self):
        left = self.sill.press_ms
        self.sill.press_ms = left - 10 if left > 10 else 0
        return 1 if left > 0 else 0

    def led(self, name, on):
        pass

    def beep(self, ms):
        pass


class Power:
    def __init__(self, sill, cause):
        self.sill = sill
        self.cause = cause
        self.keeps_ram = sill.board["keeps_ram"]

    def usb(self):
        return 0

    def feed(self):
        pass

    def start_watchdog(self, ms):
        return 1

    def sleep(self, seconds):
        self.sill.pass_ms(AWAKE_MS)
        self.sill.sleep(seconds)
        if not self.keeps_ram:
            raise Restart(TIMER)
        return seconds * 1000, 0

    def restart(self):
        raise Restart(OTHER_RESET)


class Radio:
    """A broker takes whatever it is given. heard: check sum of each record it took; there: whether it is."""

    def __init__(self):
        self.heard = []
        self.there = True

    def reach(self):
        return self.there

    def report(self, records):
        for at in range(0, len(records), RECORD_BYTES):
            self.heard.append(crc32(records[at : at + RECORD_BYTES]))
        return len(records) // RECORD_BYTES


class Code:
    def manifest(self):
        return None

    def crc(self, path):
        return -1


class Rig:
    """What `hal.open_rig` gives the firmware. store: hal's own, on any file system."""

    def __init__(self, sill, store, cause=POWER_ON):
        self.board = sill.board
        self.pumps = Pumps(sill)
        self.probes = Probes(sill)
        self.climate = Climate()
        self.light = Light()
        self.battery = Battery()
        self.clock = Clock(sill)
        self.store = store
        self.panel = Panel(sill)
        self.power = Power(sill, cause)
        self.radio = Radio()
        self.code = Code()
