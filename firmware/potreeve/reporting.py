"""One connection of the radio's, once the wake's work is done: loaded by sending.py.

What the station says it has committed moves the log's mark, and nothing else that comes in does more than set the
clock.
Whatever the network does, the pumps are off, the record is written, and the time is bounded (logic/outbox.py).
"""

import json
from binascii import crc32

from potreeve import VERSION, keep, owed
from potreeve.logic import errors, outbox, record, recorded, timekeep

# Where the port's clock stands when nobody has set it.
_UNSET_S = 1609459200

_TIMED_OUT = 110


def _keys(rig):
    """(the settings' table of the radio, the body of `about` but for boot); the settings that run are the wake's."""
    settings = keep.load_settings(rig.store, rig.pumps.count)[0]
    about = _about(settings, rig.board["name"])
    for name in keep.JUDGES if rig.power.keeps_ram else keep.JUDGES + ("dosing", "battery"):
        rig.forget("potreeve.logic", name)
    return settings["radio"], about


def _about(settings, board):
    """What the rig is: for those who show and judge its reports. To be asked while settings, and so dosing, are
    loaded."""
    from potreeve.logic import dosing

    radio = settings["radio"]
    pots = [
        {
            "pot": pot["name"],
            "plant": pot["plant"],
            "refill_pm": dosing.refill_point_pm(pot),
            "stress_pm": dosing.stress_point_pm(pot),
        }
        for pot in settings["channels"]
    ]
    told = {
        "v": outbox.SCHEMA,
        "rig": radio["broker_user"],
        "name": settings["name"],
        "firmware": VERSION,
        "board": board,
        "interval_s": radio["send_s"],
        "pots": pots,
    }
    return json.dumps(told).encode()


class Sending:
    """One connection, as app.Session._report asks for it: reach, then report for each piece of the queue, then leave.

    line: this wake's record.
    """

    def __init__(self, session, line):
        self.session = session
        self.rig = session.rig
        self.clock = session.rig.clock
        self.keys, self.about = _keys(session.rig)
        self.line = line
        self.client = None
        self.wifi = None
        self.limit_ms = outbox.JOIN_MS
        # The station's newest word on our log, where the next piece goes on from, and how far its word can reach.
        self.ack = self.come_from = self.end = None
        self.clock_set = True
        # The press that a command stands for, and the newest command that came.
        self.press = 0
        self.asked = None

    def reach(self):
        """Join and connect, if it is time to; True where somebody is there to be told."""
        rig = self.rig
        head = self.head = recorded.decode(self.line)[0]
        past = self.past = outbox.decode(rig.store.read(outbox.NAME))
        if not outbox.due(past, head["up_s"], head["alarm"]):
            return False
        settings = self.session.settings
        past.every_s = outbox.interval_s(self.keys["send_s"], head["soc_pm"], settings["battery_reserve_pm"])
        sleep_s = max(settings["wake_s"], settings["night_wake_s"], head["sleep_s"])
        self.due_s = outbox.promise_s(past.every_s, sleep_s)
        outbox.begin(past, head["up_s"])
        rig.store.write(outbox.NAME, outbox.encode(past))
        self.began = self.clock.ticks_ms()
        self.well = self._try(self._connect)
        if not self.well:
            self.leave()
        return self.well

    def report(self, lines):
        """How many of the records the other end has taken. lines: as the log holds them, from its mark on."""
        self.well = self._try(self._publish, lines)
        return self.count if self.well else 0

    def leave(self):
        """Say how the rig is, say goodbye, radio off; session.sent_s: the whole seconds that all this took."""
        rig, past = self.rig, self.past
        if self.well:
            self.well = self._try(self._say)
        if self.wifi:
            self._try(self.wifi.off)
            past.hint = self.wifi.hint
        if not self.clock_set:
            self.clock.set_utc(_UNSET_S)
        outbox.ended(past, self.well)
        air_ms = self._gone_ms()
        # To a whole second, so that the next wake comes when it would have come without a radio.
        self.clock.sleep_ms((1000 - air_ms % 1000) % 1000)
        seconds = self.session.sent_s = -(-air_ms // 1000)
        spent_ms = outbox.extra_ms(air_ms, rig.board["energy"])
        if not rig.power.keeps_ram:
            # Nobody else measures it: its awake time ends with its memory.
            spent_ms += seconds * 1000
        rig.power.feed()
        owed.add(rig.store, spent_ms, self.press)
        rig.store.write(outbox.NAME, outbox.encode(past))

    def rest(self, idle):
        """Asked by whatever waits: OSError when the time is up; lets a moment pass where nothing can be done."""
        self.rig.power.feed()
        if self._gone_ms() >= self.limit_ms:
            raise OSError(_TIMED_OUT)
        if idle:
            self.wifi.idle()

    def _gone_ms(self):
        return self.clock.ticks_diff(self.clock.ticks_ms(), self.began)

    def _try(self, call, *args):
        """True if it did not fail: whatever a network does, the wake goes on without it and says so."""
        try:
            call(*args)
            return True
        except Exception:
            self.session.errors |= errors.RADIO
            return False

    def _connect(self):
        # Not before there is room for it.
        from potreeve import mqtt

        keys = self.keys
        wifi = self.wifi = self.rig.radio.wifi()
        self._join(wifi)
        self.limit_ms = outbox.budget_ms(self.past.fails)
        log = self.session.log
        log.look()
        mark = log.mark
        self.end = log.numbers[-1] if log.numbers else 0, log.size
        self.boot = self._life(wifi, mark)
        pipe = wifi.open(keys["broker_host"], keys["broker_port"], self.rest, self._authority(), keys["broker_name"])
        user = keys["broker_user"]
        client = self.client = mqtt.Client(pipe, self.rest, self._heard)
        lost = json.dumps({"v": outbox.SCHEMA, "rig": user, "boot": self.boot})
        client.connect(user, user, keys["broker_key"], (self._topic("lost"), lost))
        commanded = keys["command_key"] != ""
        client.subscribe((self._topic("ack"), self._topic("do")) if commanded else (self._topic("ack"),))
        # What is retained has come before the answer to this.
        client.ping()
        if keys["trust"] == "station" and (self.ack is None or self.ack < log.mark):
            # Whoever is there may not know this rig.
            self.past.about = 0
        # Forwards or back: a station that lost its store says so.
        if self.ack not in (None, log.mark) and keys["trust"] == "station":
            log.move(self.ack)
        self.come_from = log.mark

    def _join(self, wifi):
        """By what is remembered of the access point; if that does not do, by looking for it."""
        hint = self.past.hint
        if hint:
            self.limit_ms = outbox.HINT_MS
            try:
                wifi.join(self.keys, hint, self.rest)
                return
            except OSError:
                wifi.off()
                self.limit_ms = outbox.JOIN_MS
        wifi.join(self.keys, b"", self.rest)

    def _publish(self, lines):
        place = self.session.log.mark
        count = len(lines) // record.RECORD_BYTES
        end = place[0], place[1] + len(lines)
        head = outbox.log_head(self.boot, self.come_from, place, count, self.due_s)
        self.come_from = end
        self.client.publish(self._topic("log"), head + lines)
        self.client.settle()
        self.count = count
        if self.keys["trust"] == "station":
            # Without its word it will be sent again.
            self._await(lambda: self.ack is not None and self.ack >= end, outbox.ACK_MS)
            self.count = outbox.taken(self.ack, place, count)

    def _await(self, came, most_ms):
        """Take in what comes until came() is true, for most_ms at the longest."""
        limit_ms = self.limit_ms
        self.limit_ms = min(limit_ms, self._gone_ms() + most_ms)
        try:
            while not came():
                self.client.step()
        except OSError as fault:
            if fault.args[0] != _TIMED_OUT:
                raise
        # Whatever was used up, there is time to say goodbye.
        self.limit_ms = max(limit_ms, self._gone_ms() + outbox.ACK_MS)

    def _say(self):
        """How the rig is: the last word of a connection."""
        self._introduce()
        names = [pot["name"] for pot in self.session.settings["channels"]]
        told = outbox.report(self.line, self.keys["broker_user"], self.boot, self.due_s, names, VERSION)
        self.client.publish(self._topic("report"), json.dumps(told).encode(), 1)
        self.client.settle()
        self.past.alarm = self.head["alarm"]
        if self.keys["command_key"]:
            self._obey()
        self.client.leave()

    def _introduce(self):
        """Say what the rig is, where that was not said yet, or is no longer so."""
        about = self.about
        tag = crc32(about) ^ self.boot
        if tag != self.past.about:
            self.client.publish(self._topic("about"), b'{"boot":%d,' % self.boot + about[1:], 1)
            self.client.settle()
            self.past.about = tag

    def _obey(self):
        """Wait a moment for a command, which the station says again after each report; take one, and answer."""
        self._await(lambda: self.asked, outbox.ASK_MS)
        if self.asked:
            from potreeve import commands

            seq = self.head["seq"]
            self.press, answer = commands.take(self.asked, self.keys, self.boot, self.session, seq)
            self.client.publish(self._topic("done"), json.dumps(answer).encode())
            self.client.settle()

    def _heard(self, topic, payload, retained):
        """A message of the station: how far it has committed, and what time it is; or a command."""
        if topic == self._topic("do"):
            # One that is retained is an old one.
            self.asked = self.asked if retained else payload
            return
        try:
            told = json.loads(payload)
        except ValueError:
            return
        self.ack = outbox.told(told, self.boot, self.end) or self.ack
        if not retained:
            self._set_clock(outbox.time_of(told))

    def _set_clock(self, time_s):
        """Set the wall clock, by which nothing is decided, if it is off and the time can be believed."""
        if timekeep.believable(time_s):
            if abs(time_s - self.clock.utc_s()) > 2:
                self.clock.set_utc(time_s)
            self.clock_set = True

    def _authority(self):
        """The certificate to check the broker's against, None without TLS. Dates are checked, so a clock that was
        never set stands, for as long as this takes, at the last time known."""
        if not self.keys["broker_tls"]:
            return None
        ca = self.rig.store.read(outbox.CA)
        if not ca:
            raise OSError(2)
        last_s = self.session.state.rig.utc_s
        if last_s and not self.clock.utc_s():
            self.clock_set = False
            self.clock.set_utc(last_s)
        return ca

    def _life(self, wifi, mark):
        """The name of this life of the log; a new one where it began anew."""
        store = self.rig.store
        boot = outbox.boot_of(store.read(outbox.BOOT))
        if boot and mark <= self.end:
            return boot
        boot = 0
        while not boot:
            data = wifi.draw()
            boot = outbox.boot_of(data)
        # The mark goes last: as long as it points beyond the log, the name is not good.
        store.replace(outbox.BOOT, data)
        self.session.log.move((0, 0))
        return boot

    def _topic(self, kind):
        return "potreeve/%s/%s" % (self.keys["broker_user"], kind)
