"""The firmware on a flash whose power can be cut, and what must hold after it.

One CutRig is one board for many lives: `power_on`, some work, `power_off`, or
a cut somewhere in between. `faults` collects what did not hold, a line each.
"""

import json
from binascii import crc32

import flash
import scripted
import store
from ends import Restart
from potreeve import app, keep
from potreeve.logic import ledger, record, recorded, segments, settings
from rig import POWER_ON

FOLDER = "/flash/data"
PM = (822, 960, 960)


class CutRig:
    def __init__(self, board, checked):
        self.board = board
        self.flash_table = board["flash"]
        self.settings = checked
        self.sill = scripted.Sill(board, checked, PM)
        self.sill.on_pulse = self._on_pulse
        self.image = bytearray(self.flash_table["block_bytes"] * self.flash_table["blocks"])
        self.copy = bytearray(len(self.image))
        self.most = keep.Log(store.Store(FOLDER), self.flash_table).most
        self.faults = []
        self.passed = {None: None}  # what came of checking each text: hundreds of lives begin with the same
        self.pulses = 0
        self.blank()

    def blank(self):
        """A board fresh from the shop."""
        erased = bytes(b"\xff" * 4096)
        for at in range(0, len(self.image), 4096):
            self.image[at : at + 4096] = erased
        self.acked = b""  # records whose append returned, oldest first
        self.first = 1  # number of the segment the oldest is in
        self.has_ledger = False
        self.texts = [None]  # what settings.json may be now
        self.goods = [None]  # texts that passed, one of which is the last good
        self.effective = None  # settings that ran last
        self.may_format = True
        self.may_pump = True
        self.may_drop = False
        self.may_err = 0
        self.broker = False  # whether anybody listens
        self.heard = []  # check sums of the records a broker took
        self.waits = (0, 0)  # the queue's mark when that list began

    def save(self):
        """Everything that a life changes."""
        return bytes(self.image), self.besides()

    def besides(self):
        """The same without the flash."""
        return (
            self.sill.save(),
            self.acked,
            self.first,
            self.has_ledger,
            list(self.texts),
            list(self.goods),
            self.effective,
            self.may_format,
            list(self.heard),
            self.waits,
        )

    def load(self, saved):
        self.image[:] = saved[0]
        self.load_besides(saved[1])

    def load_besides(self, saved):
        (
            sill,
            self.acked,
            self.first,
            self.has_ledger,
            texts,
            goods,
            self.effective,
            self.may_format,
            heard,
            self.waits,
        ) = saved
        self.sill.load(sill)
        self.texts = list(texts)
        self.goods = list(goods)
        self.heard = list(heard)

    def fault(self, text):
        if text not in self.faults:
            self.faults.append(text)

    def power_on(self, before=None):
        """Mount as the board's own boot does: what can't be mounted is formatted."""
        chip = flash.Flash(self.flash_table, self.image)
        chip.before = before
        try:
            flash.mount(chip, self.flash_table, False)
        except OSError:
            if not self.may_format:
                self.fault("mount: the file system is gone")
            flash.mount(chip, self.flash_table, True)
        self.store = store.Store(FOLDER)

    def power_off(self):
        try:
            flash.unmount()
        except OSError:  # the power went before it was mounted
            pass

    def files(self):
        """What lies on the flash, by name."""
        self.power_on()
        found = {name: self.store.read(name) for name in self.store.names()}
        self.power_off()
        return found

    def wakes(self, count, enough=lambda: False):
        """Boot, and go through so many wakes, or until it is enough."""
        session = self._boot(POWER_ON)
        for _ in range(count):
            seconds = session.wake()
            if enough():
                return
            try:
                session.sleep(seconds)
            except Restart as restart:
                session = self._boot(restart.cause)

    def send_settings(self, text):
        """A new settings file arrives."""
        self.texts.append(text)
        self.goods.append(text)
        self.store.replace(keep.SETTINGS, text)
        self.texts = [text]
        self.may_format = False

    def check_flash(self):
        """What lies on the flash after a cut, before anything runs."""
        self._check_ledger()
        lying = {number: self.store.read(segments.name(number)) for number in segments.numbers(self.store.names())}
        self._check_log(lying)
        self._check_queue(lying)
        found = self.store.read(keep.SETTINGS)
        if found not in self.texts:
            self.fault("W7: the settings file is neither the old nor the new one")
        self.texts = [found]
        if self.store.read(keep.LAST_GOOD) not in self.goods:
            self.fault("W7: the last good settings are none that ever passed")
        if self.sill.on:
            self.fault("W1: a pump is on")

    def _boot(self, cause):
        rig = scripted.SillRig(self.sill, self.store, cause)
        rig.heard = self.heard
        rig.there = self.broker
        session = app.Session(rig)
        self._check_settings(session)
        save, append = session.ledger.save, session.log.append

        def noted_save(state):
            stored = save(state)
            self.has_ledger = self.has_ledger or stored
            return stored

        def noted_append(line, before):
            stored = append(line, before)
            if stored:
                self.acked += line
                self._check_errors(line)
            return stored

        session.ledger.save = noted_save
        session.log.append = noted_append
        return session

    def _check_settings(self, session):
        """W7: what runs is the file if it passes, else what ran last."""
        text = self.texts[-1]
        if text not in self.passed:
            self.passed[text] = _checked(text)
        wanted = self.passed[text] or self.effective
        if session.settings != wanted:
            self.fault("W7: %s settings run" % ("other" if session.settings else "no"))
        self.effective = wanted

    def _check_errors(self, line):
        bits = recorded.decode(line)[0]["errors"] & ~self.may_err
        if bits:
            self.fault("a record complains of %d" % bits)

    def _check_ledger(self):
        """W2, W3: the ledger accounts for all the water there was."""
        newest = ledger.choose(self.store.read(ledger.SLOTS[0]), self.store.read(ledger.SLOTS[1]))[0]
        if newest is None:
            if self.has_ledger:
                self.fault("W9: the ledger is lost")
            return
        for text in self.sill.unaccounted(newest):
            self.fault(text)

    def _check_log(self, lying):
        """Every acknowledged record is there, in order, in whole segments; at most one more. lying: {number: bytes} of
        the segments."""
        size = record.RECORD_BYTES
        numbers = sorted(lying)
        pieces = []
        for number in numbers:
            data = lying[number]
            head = segments.decode_head(data)
            if head is None or head[0] != number:
                self.fault("log: segment %d has no head" % number)
            if (len(data) - segments.begins(data)) % size:
                self.fault("log: a torn record in segment %d" % number)
            pieces.append(data[segments.begins(data) :])
        found = b"".join(pieces)
        acked = self._still_due(numbers, found)
        more = found[len(acked) :]
        if not found.startswith(acked) or len(more) > size:
            self.fault("log: %d records acknowledged, %d found" % (len(acked) // size, len(found) // size))
        if more and recorded.decode(more) is None:
            self.fault("log: a record that is not whole")
        self.acked = found
        if numbers:
            self.first = numbers[0]

    def _check_queue(self, lying):
        """No record before the queue's mark but the broker took it."""
        number, at = segments.decode_mark(self.store.read(segments.MARK))
        if number and at == 0:
            self.fault("queue: its mark makes no sense")
        for one, data in lying.items():
            if self.waits[0] <= one <= number:
                start = self.waits[1] if one == self.waits[0] else segments.begins(data)
                for first in range(start, at if one == number else len(data), record.RECORD_BYTES):
                    if crc32(data[first : first + record.RECORD_BYTES]) not in self.heard:
                        self.fault("queue: a record was passed over")

    def _still_due(self, numbers, found):
        """The acknowledged records, without those of segments that made room."""
        if not numbers or numbers[0] == self.first:
            return self.acked
        if len(numbers) < self.most and not self.may_drop:
            self.fault("log: a segment was dropped though there was room")
        size = record.RECORD_BYTES
        gone = self.acked.find(found[:size])
        most = size * segments.RECORDS * (numbers[0] - self.first)
        return self.acked[gone:] if 0 <= gone <= most else self.acked

    def _on_pulse(self, channel, ms):
        """W3: the intent is on flash now; W2: the water is within its caps; W9: it may flow at all."""
        self.pulses += 1
        if not self.may_pump:
            self.fault("W9: a pulse from a board that remembers nothing")
        self.copy[:] = self.image
        fs = flash.littlefs(flash.Flash(self.flash_table, self.copy), self.flash_table)
        slots = [_read(fs, "/data/" + name) for name in ledger.SLOTS]
        newest = ledger.choose(slots[0], slots[1])[0]
        if newest is None or newest.pots[channel].intent_ms != ms:
            self.fault("W3: a pulse without its intent on flash")
        for text in self.sill.over_caps():
            self.fault(text)


def _checked(text):
    """The settings in a text, None where it does not pass."""
    try:
        return settings.check(json.loads(text))[0]
    except ValueError:
        return None


def _read(fs, path):
    try:
        with fs.open(path, "rb") as file:
            return file.read()
    except OSError:
        return None
