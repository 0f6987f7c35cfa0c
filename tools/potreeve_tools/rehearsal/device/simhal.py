"""What stands in for potreeve.hal while the firmware is rehearsed.

Runs under CPython and under MicroPython, so it keeps to the latter's language.
It decides nothing: each call either answers from what the rig last said or asks
the rig over the link. One exchange per sleep carries everything a wake reads.

The link is a function text -> text:

    b                                       boot: JSON with board, settings, sense
    l PART                                  a part of the ledger, before a pulse
    p CHANNEL MS                            pulse -> "actual_ms sag_mv brown_out"
    s SECONDS AWAKE_MS REFUSED PANEL RECORDS  sleep -> sense, or "q" at the end
    n                                       the text of newly sent settings
    r RECORDS                               records for the broker -> how many it says it took

A sense is integers: cause pressed_ms slept_ms left_ms battery_mv temp rh lx utc usb
trouble, and nine samples per channel. pressed_ms: of the press that ended the sleep; left_ms: how much of it
is left when the firmware looks. `trouble` is what ails the file system:
the bits below, and how many of a thousand writes fail from bit TIRED_SHIFT on.

PARTs (hex, small ones: the heap is a board's) make up the ledger slot written
last, read back from the store: what was safely on flash when the pump was
switched on. REFUSED counts store
calls that failed since the last sleep; PANEL is what the panel showed: 1 for
the "ok" LED, 2 for "warn", 4 for a beep, and 8 where a report was not sent.
"""

import json

HEAD = 11
BURST = 9

# Trouble with files, and the radio's; TORN to SENT strike once, before the board starts.
FULL = 1
SPOILT = 2
TORN = 4
FORGOTTEN = 8
FORMATTED = 16
SENT = 32
MUTE = 64
TIRED_SHIFT = 8

UNSENT = 8
PART_BYTES = 128

# Time a wake takes apart from pumping: reading, deciding, storing. From memory
# of such boards, not measured; the energy figures depend on it.
AWAKE_MS = 1500

# Reaching a broker, and each piece of the queue it is given: invented, there is no radio yet.
REACH_MS = 2000
PIECE_MS = 300

# What a counter that began with the power shows by the time the firmware reads it.
SINCE_POWER_MS = 1000

PERIOD = 1 << 30
HALF = PERIOD // 2

BUTTON = 3
KEPT = 6


class Restart(BaseException):
    """The board lost its memory; `cause` is what the next start will say."""

    def __init__(self, cause):
        super().__init__("restart")
        self.cause = cause


class Finished(BaseException):
    """The rehearsal is over."""


class Link:
    """The exchange with the simulated rig, and what it last said."""

    def __init__(self, ask):
        self.ask = ask
        hello = json.loads(ask("b"))
        self.board = hello["board"]
        self.settings = hello["settings"]
        self.sense = hello["sense"]
        self.broker = hello.get("broker", False)
        self.records = []
        self.now_ms = SINCE_POWER_MS if hello.get("goes_on") else hello["ticks_ms"]
        self.cause = self.sense[0]
        self.unsure_ms = 0
        self.slot = None
        self.refused = 0
        self.shown = 0
        self.dice = 12345

    def trouble(self, bit):
        return self.sense[10] & bit

    def tired(self):
        """True when this write fails on a worn flash."""
        bad_pm = self.sense[10] >> TIRED_SHIFT
        if not bad_pm:
            return False
        self.dice = (self.dice * 1103 + 12345) % 65536
        return self.dice % 1000 < bad_pm

    def sleep(self, seconds, awake_ms):
        records = "".join(self.records)
        self.records = []
        answer = self.ask("s %d %d %d %d %s" % (seconds, awake_ms, self.refused, self.shown, records))
        self.refused = 0
        self.shown = 0
        if answer == "q":
            raise Finished()
        self.sense = [int(word) for word in answer.split()]
        self.now_ms = (self.now_ms + self.sense[2]) % PERIOD
        self.cause = self.sense[0]
        if self.cause != KEPT:
            raise Restart(self.cause)
        return self.sense[2], self.sense[1]


class Pumps:
    def __init__(self, link, store, count):
        self.link = link
        self.store = store
        self.count = count
        self.sag_mv = 0

    def all_off(self):
        pass

    def pulse(self, channel, ms, feed):
        slot = self.store.read(self.link.slot) if self.link.slot else b""
        for at in range(0, len(slot), PART_BYTES):
            self.link.ask("l " + slot[at : at + PART_BYTES].hex())
        answer = [int(word) for word in self.link.ask("p %d %d" % (channel, ms)).split()]
        self.link.now_ms = (self.link.now_ms + answer[0]) % PERIOD
        self.sag_mv = answer[1]
        feed()
        if answer[2]:
            self.link.sense = answer[3:]
            raise Restart(self.link.sense[0])
        return answer[0]


class Probes:
    def __init__(self, link):
        self.link = link

    def burst(self, channel, buf):
        at = HEAD + channel * BURST
        buf[:] = self.link.sense[at : at + BURST]
        return BURST


class Climate:
    def __init__(self, link):
        self.link = link

    def read(self):
        temp, rh = self.link.sense[5], self.link.sense[6]
        return None if temp == -32768 or rh < 0 else (temp, rh)


class Light:
    def __init__(self, link):
        self.link = link

    def read_lx(self):
        return self.link.sense[7]


class Battery:
    def __init__(self, link):
        self.link = link

    def read_mv(self):
        return self.link.sense[4]


class Clock:
    def __init__(self, link):
        self.link = link

    def ticks_ms(self):
        return self.link.now_ms

    def ticks_diff(self, one, other):
        return (one - other + HALF) % PERIOD - HALF

    def ticks_add(self, ticks, ms):
        return (ticks + ms) % PERIOD

    def sleep_ms(self, ms):
        self.link.now_ms = (self.link.now_ms + ms) % PERIOD

    def utc_s(self):
        return self.link.sense[8]


class Panel:
    """The button is down for the press the rig announced, from this wake on."""

    def __init__(self, link):
        self.link = link
        self.seen_ms = 0

    def button(self):
        left = self.link.sense[3]
        if left > 0:
            self.link.sense[3] = left - 10 if left > 10 else 0
            return 1
        return 0

    def led(self, name, on):
        if on:
            self.link.shown |= 1 if name == "ok" else 2

    def beep(self, ms):
        if ms:
            self.link.shown |= 4


class Power:
    def __init__(self, link, store):
        self.link = link
        self.store = store
        self.cause = link.cause
        # What woke a board that forgets was a press, whether it is over by now or not.
        self.pressed_ms = link.sense[1] if link.cause == BUTTON else 0
        self.keeps_ram = link.board["keeps_ram"]
        self.woke_ms = link.now_ms

    def usb(self):
        return self.link.sense[9]

    def feed(self):
        pass

    def start_watchdog(self, ms):
        return 1

    def sleep(self, seconds):
        link = self.link
        awake_ms = (link.now_ms - self.woke_ms + HALF) % PERIOD - HALF + AWAKE_MS
        link.now_ms = (link.now_ms + AWAKE_MS) % PERIOD
        answer = link.sleep(seconds, awake_ms)
        self.store.suffer()
        self.woke_ms = link.now_ms
        return answer

    def restart(self):
        raise Restart(4)


class Radio:
    """Nobody is there to be told, or a broker at the rig's end of the link; a mute radio fails."""

    def __init__(self, link):
        self.link = link

    def reach(self):
        if self.link.trouble(MUTE):
            self.link.shown |= UNSENT
            raise OSError(110)
        if self.link.broker:
            self._take_ms(REACH_MS)
        return self.link.broker

    def report(self, records):
        self._take_ms(PIECE_MS)
        return int(self.link.ask("r " + records.hex()))

    def _take_ms(self, ms):
        self.link.now_ms = (self.link.now_ms + ms) % PERIOD


class Code:
    """The rehearsed files are the sources themselves: there is no manifest,
    until one of them is spoilt."""

    def __init__(self, link):
        self.link = link

    def manifest(self):
        return {"potreeve/app.py": 0} if self.link.trouble(SPOILT) else None

    def crc(self, path):
        return -1


class SimRig:
    """What `hal.open_rig` gives the firmware here."""

    def __init__(self, link, store):
        self.board = link.board
        self.pumps = Pumps(link, store, len(link.board["pins"]["pumps"]))
        self.probes = Probes(link)
        self.climate = Climate(link)
        self.light = Light(link)
        self.battery = Battery(link)
        self.clock = Clock(link)
        self.store = store
        self.panel = Panel(link)
        self.power = Power(link, store)
        self.radio = Radio(link)
        self.code = Code(link)


class Hal:
    """The module `potreeve.hal` as main.py sees it."""

    def __init__(self, link, store):
        self.link = link
        self.store = store

    def open_rig(self, root="/"):
        self.store.suffer()
        return SimRig(self.link, self.store)

    def pumps_off(self):
        pass

    def stand_by(self, rig, fault):
        raise fault
