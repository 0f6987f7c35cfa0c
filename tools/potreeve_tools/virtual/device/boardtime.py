"""`time` as a board has it: whole seconds, ticks that wrap at 2**30, the simulated rig's clock."""

import utime as _real
from ticks import PERIOD
from ticks import ticks_add as ticks_add
from ticks import ticks_diff as ticks_diff

wire = None
epoch_s = 0
# While a handler runs for an edge in the past: when that was.
past_us = None


def ticks_us():
    if past_us is not None:
        return past_us % PERIOD
    return wire.number_of("t") % PERIOD


def ticks_ms():
    return wire.number_of("t") // 1000 % PERIOD


def sleep_us(us):
    left_us = int(us)
    while left_us > 0:
        left_us -= wire.number_of("sl", left_us, "n")


def sleep_ms(ms):
    sleep_us(int(ms) * 1000)


def sleep(s):
    sleep_us(int(s * 1000000))


def time():
    return wire.number_of("rt") - epoch_s


def time_ns():
    return time() * 1000000000


def gmtime(seconds=None):
    if seconds is None:
        seconds = time()
    return tuple(_real.gmtime(seconds + epoch_s))[:8]


def localtime(seconds=None):
    return gmtime(seconds)


def mktime(fields):
    return int(_real.mktime(tuple(fields[:6]) + (0, 0, 0))) - epoch_s
