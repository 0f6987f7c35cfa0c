"""Stands in for MicroPython's `machine`: every call lands on the bench."""

from bench import bench
from ends import Restart

PWRON_RESET, HARD_RESET, WDT_RESET, DEEPSLEEP_RESET, SOFT_RESET = 1, 2, 3, 4, 5
PIN_WAKE = EXT0_WAKE = 2
EXT1_WAKE, TIMER_WAKE, TOUCHPAD_WAKE = 3, 4, 5


class Pin:
    IN, OUT, OPEN_DRAIN = 0, 1, 2
    PULL_UP, PULL_DOWN = 1, 2
    IRQ_RISING, IRQ_FALLING = 1, 2

    def __init__(self, number, mode=-1, pull=-1, value=None):
        if number in bench.refused_pins:
            raise ValueError("invalid pin")
        self.number = number
        self.mode = mode
        bench.log("mode", number, mode)
        bench.pulls[number] = pull
        if value is not None:
            self.value(value)

    def value(self, level=None):
        if level is None:
            if self.number == bench.bus_data and bench.bus_held:
                return 0
            return bench.levels.get(self.number, 1)
        if self.number == bench.bus_clock and level and bench.bus_held and not bench.levels.get(self.number, 1):
            bench.bus_held -= 1
        bench.levels[self.number] = level
        bench.log("pin", self.number, level, bench.now_us // 1000)
        if level == 0 and self.number == bench.power_pin:
            raise Restart("power cut")

    def irq(self, handler=None, trigger=0, hard=False):
        bench.irqs[self.number] = (handler, trigger)


class ADC:
    ATTN_11DB = 3

    def __init__(self, pin, atten=None):
        self._number = pin.number
        bench.log("adc", pin.number, atten)

    def read_u16(self):
        value = bench.adc[self._number]
        if callable(value):
            value = value()
        if isinstance(value, list):
            value = value.pop(0)
        return value


class I2C:
    def __init__(self, number, sda, scl, freq):
        bench.log("bus", number, sda.number, scl.number)

    def _device(self, address):
        if address not in bench.devices:
            raise OSError(5)
        return bench.devices[address]

    def readfrom_mem(self, address, register, length):
        return self._device(address).read_mem(register, length)

    def writeto_mem(self, address, register, data):
        bench.log("i2c", address, bytes([register]) + bytes(data))
        self._device(address).write_mem(register, data)

    def writeto(self, address, data):
        bench.log("i2c", address, bytes(data))
        self._device(address).write(data)

    def readfrom(self, address, length):
        return self._device(address).read(length)


class Timer:
    ONE_SHOT, PERIODIC = 0, 1

    def __init__(self, number):
        self._callback = None
        bench.log("timer", number)

    def init(self, mode=1, period=0, callback=None, **extra):
        if extra and not bench.hard_timers:
            raise TypeError("extra keyword arguments given")
        self._callback = callback
        bench.log("timer on", period, mode)
        bench.plan(bench.now_us // 1000 + period, self._fire)

    def _fire(self):
        self._callback(self)

    def deinit(self):
        bench.unplan(self._fire)


class WDT:
    def __init__(self, timeout=5000):
        bench.log("wdt", timeout)
        bench.wdt_ms = timeout
        bench.fed_us = bench.now_us

    def feed(self):
        bench.log("feed")
        bench.fed_us = bench.now_us


class RTC:
    def memory(self, data=None):
        if data is None:
            return bench.rtc_memory
        bench.rtc_memory = bytes(data)

    def datetime(self, fields):
        bench.log("rtc", fields)


class _Mem32:
    def __getitem__(self, address):
        return bench.mem.get(address, 0)

    def __setitem__(self, address, value):
        bench.mem[address] = value


mem32 = _Mem32()


def reset_cause():
    return bench.reset_cause


def wake_reason():
    return bench.wake_reason


def lightsleep(ms):
    """Sleep, or as long as the bench's list of early returns says. A wake by a pin ends it as well."""
    bench.log("lightsleep", ms)
    asked_us = (bench.early_ms.pop(0) if bench.early_ms else ms) * 1000
    end_us = bench.now_us + asked_us
    before = dict(bench.levels)
    while bench.now_us < end_us and before == bench.levels:
        bench.pass_us(min([end_us] + [plan[0] for plan in bench.plans if plan[0] > bench.now_us]) - bench.now_us)


def deepsleep(ms):
    bench.log("deepsleep", ms)
    raise Restart("deepsleep", ms)


def reset():
    bench.log("reset")
    raise Restart("reset")


def soft_reset():
    bench.log("soft reset")
    raise Restart("soft reset")
