"""`machine`, `time`, `esp32` and `onewire` that answer something plausible at once: to weigh the firmware's own memory.

Loaded, and counted as the interpreter's own, before anything of the firmware is.
"""

import sys

from ticks import ticks_add, ticks_diff

_now = [0]


class Pin:
    IN, OUT, OPEN_DRAIN = 0, 1, 2
    PULL_UP, PULL_DOWN = 1, 2
    IRQ_RISING, IRQ_FALLING = 8, 4

    def __init__(self, number, mode=-1, pull=-1, value=None):
        self.number = number

    # Contacts that are closed: floats that are up.
    low = ()

    def value(self, level=None):
        return 0 if self.number in Pin.low else 1

    def irq(self, handler=None, trigger=0, hard=False):
        pass


class ADC:
    ATTN_11DB = 3

    def __init__(self, pin, atten=None):
        self.place = 0

    def read_u16(self):
        # A battery at 4 V, a dry probe; one spike each, so that none looks stuck.
        self.place = (self.place + 1) % 9
        return 40000 + (16 if self.place == 4 else 0)


class I2C:
    """Every register of every device reads alike: a BME280's name, "ready", a clock that never stopped."""

    def __init__(self, number, sda, scl, freq):
        pass

    def readfrom_mem(self, address, register, length):
        return b"\x60" * length

    def writeto_mem(self, address, register, data):
        pass

    def writeto(self, address, data):
        pass

    def readfrom(self, address, length):
        return b"\x10" * length


class Timer:
    ONE_SHOT, PERIODIC = 0, 1

    def __init__(self, number):
        pass

    def init(self, **options):
        pass

    def deinit(self):
        pass


class WDT:
    def __init__(self, timeout=0):
        pass

    def feed(self):
        pass


class RTC:
    def memory(self, data=None):
        return b""


class Mem32:
    def __getitem__(self, address):
        return 0

    def __setitem__(self, address, value):
        """Nothing keeps it here."""


class Machine:
    """The module."""


def _machine():
    made = Machine()
    for part in (Pin, ADC, I2C, Timer, WDT, RTC):
        setattr(made, part.__name__, part)
    made.mem32 = Mem32()
    made.PWRON_RESET, made.HARD_RESET, made.WDT_RESET, made.DEEPSLEEP_RESET, made.SOFT_RESET = 1, 2, 3, 4, 5
    made.PIN_WAKE = made.EXT0_WAKE = 2
    made.EXT1_WAKE, made.TIMER_WAKE = 3, 4
    made.reset_cause = lambda: 1
    made.wake_reason = lambda: 4
    made.lightsleep = made.deepsleep = lambda ms: pass_ms(ms)
    made.reset = made.soft_reset = lambda: None
    return made


def pass_ms(ms):
    _now[0] += ms


class Time:
    """The module."""

    ticks_ms = staticmethod(lambda: _now[0])
    ticks_us = staticmethod(lambda: _now[0] * 1000)
    ticks_diff = staticmethod(ticks_diff)
    ticks_add = staticmethod(ticks_add)
    sleep_ms = staticmethod(pass_ms)
    sleep_us = staticmethod(lambda us: None)
    time = staticmethod(lambda: 0)
    gmtime = staticmethod(lambda seconds: (1970, 1, 1, 0, 0, 0, 3, 1))
    mktime = staticmethod(lambda fields: 0)


class Esp32:
    """The module."""

    WAKEUP_ALL_LOW = False
    wake_on_ext0 = staticmethod(lambda pin, level: None)


class OneWire:
    """A thermometer at 25 degC that has always measured already."""

    def __init__(self, pin):
        self.said = []

    def reset(self):
        self.said = list(b"\x91\x01\x7f\x80\x3f\xff\x0c\x10\x1f")
        return True

    def write(self, data):
        pass

    def readbit(self):
        return 1

    def readbyte(self):
        return self.said.pop(0)


class Wires:
    """`onewire`, which a board's image holds."""

    OneWire = OneWire


class Files:
    """rig.store in a dictionary: what littlefs takes is not Python's heap."""

    def __init__(self):
        self.files = {}

    def read(self, name):
        return self.files.get(name)

    def read_part(self, name, start, size):
        return self.read(name)[start : start + size]

    def write(self, name, data):
        self.files[name] = data

    replace = write

    def append(self, name, data):
        pass

    def size(self, name):
        return len(self.files.get(name, b""))

    def names(self):
        return list(self.files)

    def remove(self, name):
        del self.files[name]


sys.modules["machine"] = _machine()
sys.modules["time"] = Time
sys.modules["esp32"] = Esp32
sys.modules["onewire"] = Wires
