"""The simulated rig's end of the link: answers the firmware, keeps the trace."""

import hashlib
import json
from typing import NamedTuple

from potreeve.logic import outbox, record, timekeep

from potreeve_tools.standins import troubles

DAY_S = 86400

# A board whose battery is flat is looked at again this often.
DEAD_S = 3600

# How long the press of a button takes to notice after the board woke for it.
NO_TEMP = record.NO_TEMP


# What flags of the world mean to the simulated store; each of ONCE strikes once.
LASTING = {
    "flash_full": troubles.FULL,
    "file_damaged": troubles.SPOILT,
    "radio_down": troubles.MUTE,
    "display_gone": troubles.BLANK,
}
ONCE = {
    "settings_half_written": troubles.TORN,
    "memory_lost": troubles.FORGOTTEN,
    "flash_formatted": troubles.FORMATTED,
    "settings_sent": troubles.SENT,
}


class Pulse(NamedTuple):
    """One pump run: true start, what was asked, what ran, the ledger slot on flash then (bytes)."""

    t_s: float
    channel: int
    ms: int
    actual_ms: int
    sag_mv: int
    brownout: bool
    slot: bytes


class Session:
    """One run. world: a World; board: the device form of a board file; settings:
    the settings file's text, "" for none; days: how long; on_day: called with
    the number of whole days gone by; on_wake: called before each wake with the
    true seconds gone by; sent: settings that the mishap "settings_sent" brings,
    text; broker: a Broker, or None where nobody listens; air: what surrounds the radio that the
    settings speak of (see standins/airwaves.py), None where there is no access point; ca: bytes of the board's ca.der.

    Afterwards: `records` (bytes each), `record_s`, `panels` ((t_s, what it
    showed) per wake), `dead_s` (true seconds at which it lay without power), `pulses`, `samples` (see `_sample`),
    `digest`.
    """

    def __init__(
        self,
        world,
        board,
        settings,
        days,
        on_day=None,
        start_ticks_ms=0,
        sent="",
        broker=None,
        air=None,
        ca=b"",
        on_wake=None,
    ):
        self.world = world
        self.board = board
        self.settings = settings
        self.end_s = days * DAY_S
        self.on_day = on_day or (lambda day: None)
        self.on_wake = on_wake or (lambda now_s: None)
        self.start_ticks_ms = start_ticks_ms
        self.records = []
        self.record_s = []
        self.samples = []
        self.panels = []
        self.pulses = []
        self.sent = sent
        self.broker = broker
        self.air = air
        self.ca = ca
        self.air_ms = self._unpaid_ms = self.lit_ms = 0
        self.dead_s = []
        self._slot = b""
        self.last_words = ""
        self.over = False
        self._day = 0
        self._hash = hashlib.sha256()
        energy = board["energy"]
        self._active_ua = energy["active_ua"] + energy["probe_ua"]
        self._sleep_ua = energy["sleep_ua"]
        # On top of being awake, as the firmware reckons it.
        self._radio_ua = energy["report_uah"] * 3600000 // outbox.REPORT_MS
        self._boot = (energy["boot_ua"], energy["boot_ms"])
        self._keeps_ram = board["keeps_ram"]
        self._left = 0.0
        self._last = []

    @property
    def digest(self):
        """SHA-256 over all records, in order."""
        return self._hash.hexdigest()

    def handle(self, text):
        """Answer one line of the link."""
        kind = text[:1] if text[1:2] in ("", " ") else ""
        if kind == "s":
            return self._sleep(text)
        if kind == "p":
            return self._pulse(text)
        if kind == "b":
            return self._hello()
        if kind == "g":
            return json.dumps(self.board["flash"])
        if kind == "n":
            return self.sent
        if kind == "r":
            return str(self.broker.take(self.world.now_s, bytes.fromhex(text[2:])))
        if kind == "w":
            return self._transmit(int(text[2:]))
        if kind == "d":
            return self._lit(int(text[2:]))
        if kind == "l":
            self._slot += bytes.fromhex(text[2:])
            return ""
        self.last_words += text + "\n"
        return ""

    def _hello(self):
        """Answer to a boot: the first of the run, or one that goes on elsewhere."""
        first = not self.samples
        if first:
            self._sample()
            self._sense(timekeep.POWER_ON, 0, 0, 0)
        return json.dumps(
            {
                "board": self.board,
                "settings": self.settings if first else "",
                "sense": self._last,
                "ticks_ms": self.start_ticks_ms,
                "goes_on": not first,
                "broker": self.broker is not None,
                "air": self.air,
                "ca": self.ca.hex() if first else "",
            }
        )

    def _transmit(self, air_ms):
        """The radio was on. The firmware takes whole seconds of it off its sleep."""
        self.air_ms += air_ms
        whole_ms = -(-air_ms // 1000) * 1000
        if self.air.get("free"):
            self._unpaid_ms += whole_ms
        else:
            self.world.draw(self._radio_ua, air_ms)
        self.world.advance(self.world.clock.true_s(whole_ms))
        return ""

    def _lit(self, lit_ms):
        """The display was lit: so much less sleep. Being awake is paid for with the wake."""
        self.lit_ms += lit_ms
        self.world.draw(self.board["energy"]["display_ua"], lit_ms)
        self.world.advance(self.world.clock.true_s(lit_ms))
        return ""

    def _pulse(self, text):
        _, channel, ms = text.split()
        t_s = self.world.now_s
        pulse = self.world.pulse(int(channel), int(ms))
        self.pulses.append(Pulse(t_s, int(channel), int(ms), pulse.actual_ms, pulse.sag_mv, pulse.brownout, self._slot))
        self._slot = b""
        if pulse.brownout:
            # Otherwise the time of a pulse is part of the wake's, which the board tells when it sleeps.
            self.world.draw(self._active_ua, pulse.actual_ms)
            self._reboot()
            sense = self._sense(timekeep.POWER_ON, 0, 0, 0)
            return "%d %d 1 %s" % (pulse.actual_ms, pulse.sag_mv, " ".join(map(str, sense)))
        return "%d %d 0" % (pulse.actual_ms, pulse.sag_mv)

    def _sleep(self, text):
        words = text.split(" ")
        self._keep(words[5])
        world = self.world
        self.panels.append((world.now_s, int(words[4])))
        self._count_refused(int(words[3]), int(words[4]))
        awake_ms, self._unpaid_ms = int(words[2]) - self._unpaid_ms, 0
        world.draw(self._active_ua, awake_ms)
        clock = world.clock
        asked_s = clock.true_s(int(words[1]) * 1000)
        passed_s, event = world.sleep(asked_s)
        world.draw(self._sleep_ua, passed_s * 1000.0)
        cause, woken, press_ms = timekeep.KEPT, 0, 0
        if event is not None:
            # A press may begin at any time, in a wake as well, and be over before anybody looks.
            woken = int(event[2])
            late_ms = (world.now_s - event[0]) * 1000.0 + (0 if self._keeps_ram else troubles.SINCE_POWER_MS)
            press_ms = max(0, woken - int(late_ms))
            if event[1] == "reset":
                cause, press_ms = timekeep.POWER_ON, 0
        if cause == timekeep.KEPT and not self._keeps_ram:
            cause = timekeep.BUTTON if woken else timekeep.TIMER
        if not world.powered:
            self._wait_for_power()
            cause = timekeep.POWER_ON
        if cause != timekeep.KEPT:
            self._reboot()
        self._sample()
        if world.now_s >= self.end_s:
            self.over = True
            return "q"
        self.on_wake(world.now_s)
        slept = clock.board_ms(passed_s) + self._left
        self._left = slept - int(slept)
        return " ".join(map(str, self._sense(cause, woken, int(slept), press_ms)))

    def _wait_for_power(self):
        world = self.world
        while not world.powered and world.now_s < self.end_s:
            self.dead_s.append(world.now_s)
            world.advance(DEAD_S)
            self._sample()

    def _reboot(self):
        self.world.reset()
        self.world.draw(*self._boot)

    def _sense(self, cause, woken, slept_ms, press_ms):
        seen = self.world.sense()
        if seen.temp_cdeg is None or seen.rh_pm is None:
            temp, rh = record.NO_TEMP, record.NO_RH
        else:
            temp, rh = seen.temp_cdeg, seen.rh_pm
        sense = [
            cause,
            woken,
            slept_ms,
            press_ms,
            seen.battery_mv,
            temp,
            rh,
            seen.lx,
            seen.utc_s,
            0,
            self._trouble(cause),
        ]
        for burst in seen.probe_raw:
            sense.extend(burst)
        if "extras" in self.board:
            sense.extend(self.world.soil_sense() + self.world.sense_extras())
        self._last = sense
        return sense

    def _trouble(self, cause):
        """What ails the files now, as troubles.py has it."""
        flags = self.world.flags
        if not flags:
            return 0
        trouble = sum(bit for kind, bit in LASTING.items() if kind in flags)
        if "file_damaged" in flags and cause != timekeep.KEPT:
            self.world.bite_flag("file_damaged")
        if "flash_worn" in flags:
            trouble += int(flags["flash_worn"].params["bad_pm"]) << troubles.TIRED_SHIFT
        if cause != timekeep.KEPT:
            for kind, bit in ONCE.items():
                if kind in flags and not flags[kind].bit:
                    self.world.bite_flag(kind)
                    trouble += bit
        return trouble

    def _count_refused(self, calls, shown):
        """Enter calls of the store and the radio that failed with the mishap that made them fail."""
        for bit, kind in ((troubles.UNSENT, "radio_down"), (troubles.UNSHOWN, "display_gone")):
            if shown & bit and kind in self.world.flags:
                self.world.bite_flag(kind)
        for kind in ("flash_full", "flash_worn"):
            if calls and kind in self.world.flags:
                self.world.flags[kind].bit += calls

    def _keep(self, text):
        size = 2 * record.RECORD_BYTES
        for at in range(0, len(text), size):
            line = bytes.fromhex(text[at : at + size])
            self.records.append(line)
            self.record_s.append(self.world.now_s)
            self._hash.update(line)

    def _sample(self):
        self.samples.append(self.world.truth())
        day = int(self.world.now_s // DAY_S)
        if day > self._day:
            self._day = day
            self.on_day(day)
