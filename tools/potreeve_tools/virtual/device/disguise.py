"""What makes the desktop interpreter look like a board to what runs on it: modules in place of its own."""

import os
import sys
from collections import namedtuple

Implementation = namedtuple("Implementation", ("name", "version", "_machine", "_mpy", "_build"))
Uname = namedtuple("Uname", ("sysname", "nodename", "release", "version", "machine"))


class Module:
    """Attributes of another module, some of them replaced or hidden."""

    def __init__(self, name, other, hidden, **own):
        self.__name__ = name
        self._other = other
        self._hidden = hidden
        for key in own:
            setattr(self, key, own[key])

    def __getattr__(self, name):
        if name in self._hidden:
            raise AttributeError(name)
        return getattr(self._other, name)


class WLAN:
    """A radio that finds one access point or none. air: (its name, its key), or None. What is sent leaves by real
    sockets."""

    IF_STA = 0
    PM_NONE = 16
    POINT = b"\x02\x00\x00\x00\x00\x01"
    CHANNEL = 6
    air = None

    def __init__(self, interface=0):
        self._on = False
        self._status = 0

    def active(self, on=None):
        if on is None:
            return self._on
        self._on = bool(on)
        self._status = 0

    def connect(self, ssid, key=None, bssid=None, channel=None):
        if not self._on:
            raise OSError(1)
        if not self.air or self.air[0] != ssid or bssid not in (None, self.POINT):
            self._status = -2
        else:
            self._status = 3 if (key or "") == self.air[1] else -3

    def disconnect(self):
        self._status = 0

    def isconnected(self):
        return self._status == 3

    def status(self, *_):
        return self._status

    def scan(self):
        return [(self.air[0].encode(), self.POINT, self.CHANNEL, -50, 3, 0)] if self.air else []

    def config(self, *_, **__):
        return None

    def ifconfig(self, *_):
        return ("0.0.0.0", "0.0.0.0", "0.0.0.0", "0.0.0.0")


class Network:
    """`network` of a board with Wi-Fi."""

    WLAN = WLAN

    def country(self, *_):
        pass


def put_on(config, chip, boardtime):
    """Replace machine, time, os, sys and, as the board has them, network and esp32."""
    esp = config["mcu"].startswith("esp32")
    version = tuple(config["version"])
    platform = "esp32" if esp else "rp2"
    implementation = Implementation(
        "micropython", version, config["machine"], sys.implementation._mpy & 0x3FF, config["build"]
    )
    release = "%d.%d.%d" % version[:3]
    modules = sys.modules
    modules["machine"] = chip
    modules["time"] = modules["utime"] = boardtime
    modules["os"] = modules["uos"] = Module(
        "os",
        os,
        ("system", "getenv", "putenv", "unsetenv", "VfsPosix"),
        uname=lambda: Uname(platform, platform, release, release, config["machine"]),
        sync=lambda: None,
        dupterm=lambda *_: None,
    )
    modules["sys"] = modules["usys"] = Module(
        "sys", sys, ("executable", "atexit"), platform=platform, implementation=implementation, argv=[]
    )
    if esp:
        chip.ADC = chip.CalibratedADC
        modules["esp32"] = chip.WatchedModule()
    else:
        for name in ("HARD_RESET", "DEEPSLEEP_RESET", "SOFT_RESET", "wake_reason", "TIMER_WAKE", "PIN_WAKE"):
            delattr(chip, name)
    modules["onewire"] = chip.OneWireModule()
    if config["radio"]:
        WLAN.air = config["air"]
        modules["network"] = Network()
    for name in ("wire", "boardtime", "chip", "disguise", "repl", "flash", "ticks", "power"):
        modules.pop(name, None)
    sys.path[:] = ["", ".frozen", "/lib"]
