"""The rig that `hal.open_rig` gives the firmware, where there is no board.

It is one at rest: a warm room, daylight, a full battery, nobody at the button. Whoever needs more sets its values, puts
another function in a part, or overrides a method. Runs under CPython and MicroPython.
"""

from ends import Restart
from ticks import ticks_add, ticks_diff

POWER_ON = 0
TIMER = 2
OTHER_RESET = 4


class Part:
    """An adapter made of functions and values; each can be replaced."""

    def __init__(self, **calls):
        for name in calls:
            setattr(self, name, calls[name])


class Time:
    """Passes only when told. press_ms: how long the button stays down yet."""

    now_ms = 0
    press_ms = 0

    def pass_ms(self, ms):
        self.now_ms = ticks_add(self.now_ms, ms)


class Rig(Time):
    """time: what outlives this rig and keeps the time; the rig itself where nothing does."""

    battery_mv = 3900
    air = (2100, 550)
    lx = 800
    utc_s = 0
    usb = 0
    # Extras, None where they are not wired; whether one of them remembers something.
    tray_sensor = tub_sensor = soil_sensor = display = None
    extras = False

    def __init__(self, board, store, count, cause=POWER_ON, keeps_ram=1, time=None):
        time = self.time = time or self
        self.board = board
        self.store = store
        self.pumps = Part(count=count, sag_mv=0, all_off=self.pumps_off, pulse=self.pulse)
        self.probes = Part(burst=self.burst)
        self.climate = Part(read=lambda: self.air)
        self.light = Part(read_lx=lambda: self.lx)
        self.battery = Part(read_mv=lambda: self.battery_mv)
        self.clock = Part(
            ticks_ms=lambda: time.now_ms,
            ticks_diff=ticks_diff,
            ticks_add=ticks_add,
            sleep_ms=time.pass_ms,
            utc_s=lambda: self.utc_s,
            set_utc=self.set_utc,
        )
        self.panel = Part(button=self.button, led=self.led, beep=self.beep)
        self.power = Part(
            cause=cause,
            keeps_ram=keeps_ram,
            usb=lambda: self.usb,
            feed=self.feed,
            start_watchdog=self.start_watchdog,
            sleep=self.sleep,
            restart=self.restart,
        )
        self.radio = Part(reach=self.reach, report=self.report, leave=lambda: 0, wifi=self.wifi)
        self.code = Part(manifest=self.manifest, crc=self.crc)

    def forget(self, package, name):
        """There is room enough here."""

    def without_air(self):
        self.climate = Part(read=lambda: None)
        self.light = Part(read_lx=lambda: -1)

    def set_utc(self, unix_s):
        self.utc_s = unix_s

    def wifi(self):
        """No radio, unless somebody puts one here; see airwaves.py."""
        raise OSError(19)

    def pumps_off(self):
        pass

    def pulse(self, channel, ms, feed):
        raise NotImplementedError

    def burst(self, channel, buf):
        raise NotImplementedError

    def sleep(self, seconds, proves=1):
        """As hal.power's: proves 0 where a start after it must not take it for the sleep that was planned."""
        raise NotImplementedError

    def button(self):
        """A press is worn off by looking, which the firmware does every 10 ms."""
        left_ms = self.time.press_ms
        self.time.press_ms = left_ms - 10 if left_ms > 10 else 0
        return 1 if left_ms > 0 else 0

    def led(self, name, on):
        pass

    def beep(self, ms):
        pass

    def feed(self):
        pass

    def start_watchdog(self, ms):
        return 1

    def restart(self):
        raise Restart(OTHER_RESET)

    def reach(self):
        return True

    def report(self, records):
        raise NotImplementedError

    def manifest(self):
        """None: the files are the sources themselves."""
        return None

    def crc(self, path):
        return -1
