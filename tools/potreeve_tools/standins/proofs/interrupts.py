"""Interrupts the firmware at every point of a pulse, and again while it gives way. Runs under CPython and MicroPython.

usage: interrupts.py JOB RESULT     JOB: a JSON file with
    board, settings     device form; checked settings
    main                main.py's text
    only                list of ids, or none for all
    until               what a fault says with which all ends, or nothing

A point is a call that the pump driver makes: a pin, the clock, the battery, the
feed. An id is KIND:POINT, with +GAP for a second blow so many calls after the
first, and +GAP again for a third. RESULT gets one JSON object per line: the
counts, or an id and its fault.
"""

from ends import Restart
from pinrig import WATCHDOG, PinBench
from provekit import Part, report, run

# Calls after the first Ctrl-C in which a second and a third are tried.
GAPS = (1, 2, 3, 4, 6)


KINDS = (
    ("ctrl-c", KeyboardInterrupt),
    ("memory", MemoryError),
    ("error", RuntimeError),
    ("reset", lambda: Restart(WATCHDOG)),
)


class Blows:
    """Strikes at the points it is told, counted from the first call of a pulse."""

    def __init__(self, bench):
        self.bench = bench
        self.points = 0
        self.at = []
        self.kind = KeyboardInterrupt
        self.begun = False
        self.struck = 0
        self.names = []

    def aim(self, kind, at):
        self.points = 0
        self.kind = kind
        self.at = list(at)
        self.begun = False
        self.struck = 0
        self.names = []

    def touch(self, name):
        if not self.begun:
            self.begun = name == "pin.value" and self.bench.pins_on_next
            if not self.begun:
                return
        self.points += 1
        if not self.struck:
            self.names.append(name)
        if self.at and self.points == self.at[0]:
            self.at.pop(0)
            self.struck += 1
            self.bench.strike(self.kind())


class Proof:
    def __init__(self, job, tell):
        self.job = job
        self.tell = tell
        self.bench = PinBench(job["board"], job["settings"], job["main"])
        self.blows = Blows(self.bench)
        self.runs = 0
        self.failed = 0
        self.after = False

    def prepare(self):
        """A rig at work whose next wake gives a pulse."""
        bench = self.bench
        self.start = bench.begin()
        bench.wrap = lambda name, part: Part(name, part, self._touched) if name in ("battery", "power") else part
        bench.touch = self.blows.touch
        bench.on_sleep = lambda wakes: bench.stop() if bench.sill.given else None
        bench.calm = lambda: self.blows.begun and not self.blows.at or self.after

    def run(self):
        self.prepare()
        whole = self._live(KeyboardInterrupt, ())
        points = self.blows.points
        names = list(self.blows.names)
        report(self, self.bench, "whole")
        for word, kind in KINDS:
            for at in range(1, points + 1):
                self._try(word, kind, at, ())
                if kind is not KeyboardInterrupt:
                    continue
                for gap in GAPS:
                    self._try(word, kind, at, (gap,))
                    self._try(word, kind, at, (gap, 1))
        self.tell(
            {"points": points, "calls": sorted(set(names)), "runs": self.runs, "ended": whole, "failed": self.failed}
        )

    def _try(self, word, kind, at, gaps):
        one = "%s:%d%s" % (word, at, "".join(["+%d" % gap for gap in gaps]))
        if self.job["only"] and one not in self.job["only"]:
            return
        self.runs += 1
        places = [at]
        for gap in gaps:
            places.append(places[-1] + gap)
        self._live(kind, places)
        if not self.blows.struck:
            self.bench.fault("the blow never came")
        self.blows.aim(kind, ())
        # The next start: the pulse counts in full.
        self.after = True
        self.bench.run(2, cause=self.bench.cause)
        self.after = False
        self.bench.check_ledger()
        report(self, self.bench, one)

    def _live(self, kind, places):
        self.bench.load(self.start)
        self.blows.aim(kind, places)
        ended = self.bench.run(4, most_boots=4, cause=6 if self.bench.board["keeps_ram"] else 2)
        self.bench.check_ledger()
        return ended

    def _touched(self, name, call, args):
        self.bench.touch(name)
        return call(*args)


run(Proof)
