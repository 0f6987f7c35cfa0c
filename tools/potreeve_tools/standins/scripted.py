"""A rig told in a few integers, for proofs that need thousands of boots.

Pots lose moisture by the hour and gain it by the pulse, all at once and all of
it. Every pulse is counted at the most it can bring; a little of it runs into
the tray, about what is counted for a dose that was taken up, and nothing dries
up there. What is on trial is the bookkeeping, not the soil. Runs under CPython and MicroPython.
"""

from binascii import crc32

from ends import Restart
from potreeve.logic import dosing, limits
from potreeve.logic.record import RECORD_BYTES
from potreeve.logic.units import DAY_S
from rig import OTHER_RESET, POWER_ON, TIMER, Rig, Time

FALL_PM_H = 4
TRAY_SHARE = 25

# Raw counts of the plain rig's probes: air-dry and at container capacity.
DRY_RAW = 40000
WET_RAW = 20000

REST_MV = 3900
UNDER_MV = 3800

# A wake takes this long on the rig's clock.
AWAKE_MS = 1500


class Sill(Time):
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

    def over_caps(self):
        """W2, by the true water: what got more than it may, a line each."""
        found = []
        total = 0
        for index, pot in enumerate(self.settings["channels"]):
            ul = self.day_ul(index)
            total += ul
            if ul > pot["day_ml"] * 1000:
                found.append("W2: pot %d got more than its day" % index)
        if total > self.settings["rig_day_ml"] * 1000:
            found.append("W2: the rig got more than its day")
        if self.tray_ul > self.settings["tray_headroom_ml"] * 1000:
            found.append("W2: the tray ran over")
        return found

    def unaccounted(self, kept):
        """W2: the true water that a ledger's state does not account for, a line each."""
        found = []
        for index, pot in enumerate(kept.pots):
            ul, spent_ul = self.day_ul(index), limits.spent_ul(pot)
            if spent_ul < ul:
                found.append("W2: pot %d was given %d ul, the ledger knows of %d" % (index, ul, spent_ul))
        if kept.rig.tray_ul < self.tray_ul:
            found.append("W2: more in the tray than the ledger knows of")
        return found

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


class SillRig(Rig):
    """The rig on a sill, on any store.

    A broker takes whatever it is given. heard: check sum of each record it took; there: whether it is.
    """

    def __init__(self, sill, store, cause=POWER_ON):
        self.sill = sill
        self.heard = []
        self.there = True
        board = sill.board
        super().__init__(board, store, len(board["pins"]["pumps"]), cause, board["keeps_ram"], sill)

    def pumps_off(self):
        del self.sill.on[:]

    def pulse(self, channel, ms, feed):
        self.pumps.sag_mv = 0
        self.sill.on.append(channel)
        try:
            self.sill.pulse(channel, ms)
            feed()
        finally:
            del self.sill.on[:]
        self.pumps.sag_mv = UNDER_MV
        return ms

    def burst(self, channel, buf):
        return self.sill.burst(channel, buf)

    def sleep(self, seconds, proves=1):
        self.sill.pass_ms(AWAKE_MS)
        self.sill.sleep(seconds)
        if not self.power.keeps_ram:
            raise Restart(TIMER if proves else OTHER_RESET)
        return seconds * 1000, 0

    def reach(self):
        return self.there

    def report(self, records):
        for at in range(0, len(records), RECORD_BYTES):
            self.heard.append(crc32(records[at : at + RECORD_BYTES]))
        return len(records) // RECORD_BYTES
