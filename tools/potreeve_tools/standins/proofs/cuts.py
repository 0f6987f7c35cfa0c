"""Cuts the power at every block write and erase, and looks what is left. For the unix build.

usage: cuts.py JOB RESULT     JOB: a JSON file with
    board, settings     device form; checked settings
    bad, new            texts of a settings file that fails and of one that passes
    scenarios           names, see SCENARIOS
    pairs               also cut each recovery again
    few                 only the coarsest tears
    only                list of ids, or none for all
    until               what a fault says with which all ends, or nothing

An id is SCENARIO:OPERATION:TEAR, with +OPERATION:TEAR for a second cut. RESULT
gets one JSON object per line: a scenario's counts, or an id and its fault. What is printed is the collector's complaint
of files it could not close, after each cut; it says nothing.
"""

import gc
import json

import cutting
import flash
from cutrig import CutRig
from ends import PowerCut
from potreeve import keep
from potreeve.logic import errors, record, segments
from potreeve.logic.state import fresh
from provekit import report, run
from stores import fill

# Wakes after a cut: the open pulse's soak goes by and the next pulses run.
RECOVERY = 3

# What a cut leaves is told from the life without one (cutting.Journal); of so many operations one is also cut in the
# middle of a life, which must leave the same files: the blocks differ by the time of day in them.
LIVED = 6

# Records that wait for a broker in a log written beforehand.
UNSENT = 3

# More wakes than it takes for a memory that began with its day's water counted as given to give some.
FIRST_DAYS = 120


def prepare_tending(rig, texts):
    """A rig at work: its owner has seen to it, its first day is over, a dose begun."""
    rig.power_on()
    rig.send_settings(json.dumps(rig.settings).encode())
    for _ in range(2):
        rig.sill.press_ms = 2600
        rig.wakes(1)
    rig.wakes(FIRST_DAYS, lambda: rig.pulses > 0)
    if not rig.pulses:
        raise ValueError("the rig never gave a pulse: nothing would be shown")
    rig.power_off()


def act_wakes(rig, texts):
    rig.wakes(4)


def act_new_settings(rig, texts):
    rig.send_settings(texts["new"])
    rig.wakes(1)


def act_bad_settings(rig, texts):
    rig.texts.append(texts["bad"])
    rig.store.replace(keep.SETTINGS, texts["bad"])
    rig.texts = [texts["bad"]]
    rig.wakes(1)


def prepare_bad_settings(rig, texts):
    prepare_tending(rig, texts)
    rig.may_err = errors.SETTINGS


def prepare_nearly_full(rig, texts):
    """The newest segment takes one more record."""
    prepare_tending(rig, texts)
    rig.power_on()
    _write_segments(rig, 1, segments.RECORDS - 1)
    rig.power_off()


def prepare_queue(rig, texts):
    """A broker listens; the newest segment is full, its last records wait, the next wake's will too."""
    prepare_tending(rig, texts)
    rig.power_on()
    _write_segments(rig, 1, segments.RECORDS)
    rig.power_off()
    rig.broker = True


def act_sends(rig, texts):
    rig.wakes(1)


def prepare_limit(rig, texts):
    """As many segments as there may be, the newest full."""
    prepare_tending(rig, texts)
    rig.power_on()
    _write_segments(rig, rig.most, segments.RECORDS)
    rig.power_off()


def prepare_full(rig, texts):
    """No room on the flash: the log must give way."""
    prepare_tending(rig, texts)
    rig.power_on()
    _write_segments(rig, 3, segments.RECORDS - 1)
    fill(rig.store, "filler")
    rig.power_off()
    rig.may_drop = True
    rig.may_err = errors.LEDGER | errors.NOT_KEPT


def _write_segments(rig, count, in_last):
    """Replace the log by `count` segments, the last with so many records."""
    for name in rig.store.names():
        if name.startswith(segments.PREFIX):
            rig.store.remove(name)
    rig.acked = b""
    seq = 0
    for number in range(1, count + 1):
        lines = []
        for _ in range(in_last if number == count else segments.RECORDS):
            lines.append(_line(rig, seq))
            seq += 1
        head = segments.encode_head(number, fresh(len(rig.settings["channels"])))
        body = b"".join(lines)
        rig.store.replace(segments.name(number), head + body)
        rig.acked += body
    # All but the last few have been sent.
    rig.waits = count, segments.HEAD_BYTES + (in_last - UNSENT) * record.RECORD_BYTES
    rig.store.replace(segments.MARK, segments.encode_mark(rig.waits))


def _line(rig, seq):
    count = len(rig.settings["channels"])
    head = (count, seq) + (0,) * (len(record.HEAD_NAMES) - 4)
    return record.encode(head, [(0,) * len(record.POT_NAMES)] * count)


def prepare_nothing(rig, texts):
    """An empty flash, and pots so dry that whoever may would water them."""
    rig.sill.pm = [600] * len(rig.sill.pm)
    rig.may_pump = False


def act_first_boot(rig, texts):
    """As rp2's own first boot does it: format, then look for settings, which come later."""
    rig.wakes(1)
    rig.send_settings(json.dumps(rig.settings).encode())
    rig.wakes(2)


SCENARIOS = {
    "wake": (prepare_tending, act_wakes),
    "settings": (prepare_tending, act_new_settings),
    "bad-settings": (prepare_bad_settings, act_bad_settings),
    "rotation": (prepare_nearly_full, act_wakes),
    "queue": (prepare_queue, act_sends),
    "limit": (prepare_limit, act_wakes),
    "full": (prepare_full, act_wakes),
    "first": (prepare_nothing, act_first_boot),
}


class Proof:
    """One scenario, cut everywhere."""

    def __init__(self, job, name, tell):
        self.job = job
        self.tell = tell
        self.name = name
        self.texts = {"new": job["new"].encode(), "bad": job["bad"].encode()}
        self.rig = CutRig(job["board"], job["settings"])
        self.prog = job["board"]["flash"]["prog_bytes"]
        self.prepare, self.act = SCENARIOS[name]
        self.cuts = 0
        self.pairs = 0
        self.failed = 0

    def run(self):
        rig = self.rig
        self.prepare(rig, self.texts)
        start = rig.save()
        first = rig.first
        rig.pulses = 0
        journal = self._count(start, self.act)
        sizes = journal.sizes()
        report(self, self.rig, "whole")
        done = {
            "scenario": self.name,
            "writes": len([one for one in sizes if one >= 0]),
            "erases": sizes.count(-1),
            "pulses": rig.pulses,
            "sent": len(rig.heard),
            "dropped": rig.first != first,
        }
        for at, tear in self._all(sizes):
            if self._wanted("%s:%d:%s" % (self.name, at, tear)):
                self._cut_once(start, journal, at, tear)
        done["cuts"], done["pairs"], done["failed"] = self.cuts, self.pairs, self.failed
        self.tell(done)

    def _all(self, sizes):
        for at, size in enumerate(sizes):
            for tear in cutting.tears(size, self.prog, at == len(sizes) - 1, self.job["few"]):
                yield at, tear

    def _wanted(self, start):
        only = self.job["only"]
        if not only:
            return True
        for one in only:
            if one == start or one.split("+")[0] == start:
                return True
        return False

    def _count(self, start, act):
        """Let it all happen without a cut; returns the journal of it."""
        self.rig.load(start)
        journal = cutting.Journal(self.rig.besides)
        self._live(act, journal)
        self._look()
        return journal

    def _cut(self, act, start, journal, at, tear):
        """The rig as a cut there leaves it, and a first look at it."""
        rig = self.rig
        lived = self._lived(act, start, at, tear) if at % LIVED == 0 and tear in ("w0", "eg") else None
        rig.load(start)
        rig.load_besides(journal.leave(flash.Flash(rig.flash_table, rig.image), at, tear))
        self._look()
        if lived and lived != (rig.files(), rig.besides()):
            rig.fault("the cut left something else when it was lived through")

    def _lived(self, act, start, at, tear):
        """What a cut leaves that comes in the middle of it all."""
        rig = self.rig
        rig.load(start)
        if not self._live(act, cutting.Cutter(at, tear)):
            rig.fault("the cut never came")
        self._look()
        return rig.files(), rig.besides()

    def _cut_once(self, start, journal, at, tear):
        rig = self.rig
        name = "%s:%d:%s" % (self.name, at, tear)
        self.cuts += 1
        self._cut(self.act, start, journal, at, tear)
        only = self.job["only"]
        again = self.job["pairs"] or any("+" in one for one in only)
        after = rig.save() if again else None
        if not only or name in only:
            self._recover(None)
            report(self, self.rig, name)
        rig.faults = []
        if again:
            self._cut_again(after, name)

    def _cut_again(self, after, name):
        rig = self.rig
        journal = self._count(after, self._recovery)
        rig.faults = []
        only = self.job["only"]
        for at, tear in self._all(journal.sizes()):
            both = "%s+%d:%s" % (name, at, tear)
            if only and both not in only:
                continue
            self.pairs += 1
            self._cut(self._recovery, after, journal, at, tear)
            self._recover(None)
            report(self, self.rig, both)

    def _recovery(self, rig, texts):
        rig.wakes(RECOVERY)

    def _recover(self, before):
        self._live(self._recovery, before)
        self._look()

    def _live(self, act, before):
        """One life, to its end or to the cut; True when it was cut."""
        rig = self.rig
        try:
            rig.power_on(before)
            act(rig, self.texts)
            return False
        except PowerCut:
            return True
        except Exception as fault:
            rig.fault("%s: %s" % (type(fault).__name__, fault))
            return False
        finally:
            rig.power_off()

    def _look(self):
        self.rig.power_on()
        self.rig.check_flash()
        self.rig.power_off()


class Proofs:
    """All scenarios that were asked for."""

    def __init__(self, job, tell):
        self.job = job
        self.tell = tell

    def run(self):
        for name in self.job["scenarios"]:
            Proof(self.job, name, self.tell).run()
            gc.collect()


run(Proofs)
