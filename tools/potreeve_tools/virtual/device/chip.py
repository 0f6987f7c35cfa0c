"""`machine` as a board has it: every call is a question to the simulated rig."""

wire = None
# The module that stands in for `time`.
clock = None
serial = b""

PWRON_RESET, HARD_RESET, WDT_RESET, DEEPSLEEP_RESET, SOFT_RESET = 1, 2, 3, 4, 5
PIN_WAKE = EXT0_WAKE = 2
EXT1_WAKE, TIMER_WAKE, TOUCHPAD_WAKE = 3, 4, 5

_handlers = {}
_timers = {}


class Pin:
    IN, OUT, OPEN_DRAIN = 0, 1, 2
    PULL_UP, PULL_DOWN = 1, 2
    IRQ_RISING, IRQ_FALLING = 8, 4

    def __init__(self, number, mode=-1, pull=-1, value=None):
        if isinstance(number, Pin):
            number = number.number
        pull = 0 if pull is None else pull
        if (
            type(number) is not int
            or wire.number_of("pm", number, mode, pull, -1 if value is None else int(bool(value))) < 0
        ):
            raise ValueError("invalid pin")
        self.number = number

    def value(self, level=None):
        if level is None:
            return wire.number_of("pi", self.number)
        wire.ask("po", self.number, 1 if level else 0)

    __call__ = value

    def on(self):
        self.value(1)

    def off(self):
        self.value(0)

    def high(self):
        self.value(1)

    def low(self):
        self.value(0)

    def init(self, mode=-1, pull=-1, value=None):
        self.__init__(self.number, mode, pull, value)

    def irq(self, handler=None, trigger=12, hard=False):
        _handlers[self.number] = (handler, self)
        wire.ask("pq", self.number, trigger if handler else 0)

    def __repr__(self):
        return "Pin(GPIO%d)" % self.number


class ADC:
    ATTN_11DB = 3

    def __init__(self, pin, atten=None):
        self.number = pin.number if isinstance(pin, Pin) else pin
        if wire.number_of("ad", self.number) < 0:
            raise ValueError("Pin doesn't have ADC capabilities")

    def read_u16(self):
        return wire.converted("ad", self.number)


class CalibratedADC(ADC):
    """As on the ESP32."""

    def read_uv(self):
        return wire.converted("uv", self.number)


class I2C:
    def __init__(self, number=0, scl=None, sda=None, freq=400000, timeout=50000):
        self.bus = "%d %d" % (sda.number if sda else -1, scl.number if scl else -1)

    def _check(self, answer):
        if not answer or answer[0] == "-":
            raise OSError(5)
        return answer

    def scan(self):
        return [int(word) for word in wire.ask("is", self.bus)]

    def readfrom(self, address, length, stop=True):
        return self._read("ir", address, -1, length)

    def readfrom_mem(self, address, register, length, addrsize=8):
        return self._read("ir", address, register, length)

    def _read(self, what, address, register, length):
        answer = self._check(wire.ask(what, self.bus, address, register, length))
        return bytes([int(answer[0][at : at + 2], 16) for at in range(0, 2 * length, 2)])

    def writeto(self, address, data, stop=True):
        self._check(wire.ask("iw", self.bus, address, "".join(["%02x" % byte for byte in bytes(data)])))
        return len(data)

    def writeto_mem(self, address, register, data, addrsize=8):
        self.writeto(address, bytes([register]) + bytes(data))


class OneWire:
    """`onewire` as the board's image brings it along."""

    def __init__(self, pin):
        self.number = pin.number

    def reset(self, required=False):
        return bool(wire.number_of("or", self.number))

    def write(self, data):
        wire.ask("ow", self.number, bytes(data).hex())

    def readbit(self):
        return wire.number_of("ob", self.number)

    def readbyte(self):
        return wire.number_of("oy", self.number)


class OneWireModule:
    OneWire = OneWire


class Timer:
    ONE_SHOT, PERIODIC = 0, 1

    made = 0

    def __init__(self, number=-1, mode=1, period=0, callback=None, freq=0, hard=False):
        # One that was made but does not run yet has its number, too.
        Timer.made += 1
        self.number = number if number >= 0 else 100 + Timer.made
        self.callback = None
        if callback is not None:
            self.init(mode=mode, period=period, callback=callback, freq=freq)

    def init(self, mode=1, period=0, callback=None, freq=0, hard=False):
        if freq:
            period = int(1000 / freq)
        self.callback = callback
        _timers[self.number] = self
        wire.ask("tm", self.number, period, mode)

    def deinit(self):
        wire.ask("td", self.number)


class WDT:
    def __init__(self, id=0, timeout=5000):
        if wire.number_of("wd", timeout) < 0:
            raise ValueError("timeout exceeds the longest this chip can")

    def feed(self):
        wire.ask("wf")


class RTC:
    def datetime(self, fields=None):
        import time

        if fields is None:
            t = time.gmtime()
            return (t[0], t[1], t[2], t[6], t[3], t[4], t[5], 0)
        y, mo, d, _, h, mi, s, _ = fields
        wire.ask("rs", time.mktime((y, mo, d, h, mi, s, 0, 0)) + time.epoch_s)

    def memory(self, data=None):
        return b""


class _Mem32:
    def __getitem__(self, address):
        value = wire.number_of("mr", address)
        # As on a board, where these come back negative.
        return value - 0x100000000 if value & 0x80000000 else value

    def __setitem__(self, address, value):
        wire.ask("mw", address, value & 0xFFFFFFFF)


mem32 = _Mem32()


def reset_cause():
    return wire.number_of("rc")


def wake_reason():
    return wire.number_of("wr")


def unique_id():
    return serial


def freq(hz=None):
    return 125000000 if hz is None else None


def idle():
    wire.ask("sl", 100, "n")


def lightsleep(ms=None):
    """Ends at its time, or as soon as a timer or an armed pin wants to be heard."""
    if ms is None:
        while True:
            wire.ask("sl", 3600000000, "l")
    wire.ask("sl", int(ms) * 1000, "l")


def deepsleep(ms=0):
    _end("ds", int(ms))


def reset():
    _end("hr")


def bootloader(*_):
    _end("bl")


def soft_reset():
    raise SystemExit


def _end(*words):
    """The rig takes this chip away; nothing comes back."""
    wire.tell(*words)
    while True:
        wire._read()


def hear(event):
    """A timer or a pin: run its handler."""
    kind, number = event[0], int(event[1])
    if kind == "t":
        timer = _timers.get(number)
        if timer is not None and timer.callback is not None:
            timer.callback(timer)
    elif kind == "p":
        handler, pin = _handlers.get(number, (None, None))
        if handler is not None:
            _edges(handler, pin, [int(word) for word in event[2:]])


def _edges(handler, pin, about):
    """Call a pin's handler for each edge; about: [count, and when the first and the last were]."""
    count = about[0]
    try:
        for n in range(count):
            if len(about) == 3:
                clock.past_us = about[2] if n == count - 1 else about[1]
            handler(pin)
    finally:
        clock.past_us = None


class WatchedModule:
    """esp32.*, as far as the firmware uses it."""

    WAKEUP_ALL_LOW, WAKEUP_ANY_HIGH = False, True

    def wake_on_ext0(self, pin, level):
        wire.ask("wk", pin.number if pin is not None else -1, int(level))
