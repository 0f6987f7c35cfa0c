"""Stands in for MicroPython's `time`: the bench's clock, ticks that wrap as on a board."""

from bench import bench
from ticks import PERIOD
from ticks import ticks_add as ticks_add
from ticks import ticks_diff as ticks_diff

try:
    import utime as _calendar  # MicroPython's own, under its other name

    _to_seconds = _calendar.mktime
except ImportError:
    import calendar
    import time as _calendar  # CPython's own: this file is not registered under that name yet

    def _to_seconds(fields):
        return calendar.timegm(fields[:6])


def ticks_ms():
    if not bench.ticks_frozen:
        bench.pass_us(bench.tick_cost_us)
    return bench.now_us // 1000 % PERIOD


def ticks_us():
    return bench.now_us % PERIOD


def sleep_us(us):
    bench.pass_us(us)


def sleep_ms(ms):
    bench.pass_us(ms * 1000)


def time():
    return bench.wall_s - bench.epoch_s + bench.now_us // 1000000


def gmtime(seconds):
    return tuple(_calendar.gmtime(seconds + bench.epoch_s))[:8]


def mktime(fields):
    return _to_seconds(tuple(fields)) - bench.epoch_s
