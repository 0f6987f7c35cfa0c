"""Cuts the power at every block write and erase, and looks what is left. For the unix build.

usage: cuts.py JOB RESULT     JOB: a JSON file with
    board, settings     device form; checked settings
    bad, new            texts of a settings file that fails and of one that passes
    scenarios           names, see cutlives.SCENARIOS
    pairs               also cut each recovery again
    few                 only the coarsest tears
    only                list of ids, or none for all
    until               what a fault says with which all ends, or nothing

An id is SCENARIO:OPERATION:TEAR, with +OPERATION:TEAR for a second cut. RESULT
gets one JSON object per line: a scenario's counts, or an id and its fault. What is printed is the collector's complaint
of files it could not close, after each cut; it says nothing.
"""

import gc

import cutting
import flash
from cutlives import SCENARIOS
from cutrig import CutRig
from ends import PowerCut
from provekit import report, run

# Wakes after a cut: the open pulse's soak goes by and the next pulses run.
RECOVERY = 3

# What a cut leaves is told from the life without one (cutting.Journal); of so many operations one is also cut in the
# middle of a life, which must leave the same files: the blocks differ by the time of day in them.
LIVED = 6


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
