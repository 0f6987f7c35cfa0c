"""Resets the board again and again at the same stage of its wake. Runs under CPython and MicroPython.

usage: loops.py JOB RESULT     JOB: a JSON file with
    board, settings     device form; checked settings
    main                main.py's text
    until               what a fault says with which all ends, or nothing

Once at every wake, and once at every second one, so that soaks go by between the
resets. The pots are made dry again before every start, so that whoever may would
water them. RESULT gets one JSON object per line: what a loop came to, or its fault.
"""

from ends import Restart
from pinrig import PinBench
from potreeve import app
from potreeve.logic import ladder, ledger, limits, reasons, stages
from provekit import report, run

LOOPS = 40
DRY_PM = 690

# Causes of a start that nobody planned, and the stages to reset at: after START
# means as soon as the wake has begun, PULSE in the middle of one.
CAUSES = (0, 1, 4, 5)
PULSE = 7
STAGES = (
    stages.START,
    stages.READ,
    stages.DECIDED,
    stages.STORED,
    stages.LOGGED,
    PULSE,
    stages.PUMPED,
    stages.REPORTED,
)

# Proven time after which a rig that no longer starts over is tending again.
CALM_WAKES = 80


def _day_over(files):
    """These files, with nothing of the day that a lost memory counts as given: a board that starts over at
    every wake proves no sleep, so it would wait for that day's end for ever and no pulse could be broken off."""
    slots = [files.get(name) for name in ledger.SLOTS]
    kept, following, older = ledger.choose(slots[0], slots[1])
    for pot in kept.pots:
        pot.spent = [0] * limits.BUCKETS
    files[ledger.SLOTS[1 - older]] = ledger.encode((following - 1) & 0xFFFFFFFF, kept)
    return files


class Proof:
    def __init__(self, job, tell):
        self.tell = tell
        self.bench = PinBench(job["board"], job["settings"], job["main"])
        self.stage = -1
        self.cause = 0
        self.resets = 0
        self.naps = 0
        self.every = 1
        self.failed = 0
        follow = stages.follow
        stages.follow = lambda now, stage: self._pass(follow(now, stage))
        read = app.Session._read

        def begin(session):
            self._pass(stages.START)
            return read(session)

        app.Session._read = begin

    def prepare(self):
        """A rig at work whose next wake gives a pulse."""
        bench = self.bench
        files, sill = bench.begin()
        self.start = _day_over(files), sill
        bench.touch = self._touch

    def run(self):
        self.prepare()
        for stage in STAGES:
            for cause in CAUSES:
                for every in (1, 2):
                    self._loop(stage, cause, every)

    def _loop(self, stage, cause, every):
        bench = self.bench
        bench.load(self.start)
        bench.sill.pm[0] = DRY_PM
        self.stage, self.cause, self.resets, self.every = stage, cause, 0, every
        before = len(bench.sill.given)
        held_after = -1
        # A pulse that is no longer given can't be broken off: then the wakes just end.
        for boot in range(LOOPS):
            bench.run(every, most_boots=every, cause=cause)
            bench.check_ledger()
            if bench.sill.pm[0] > DRY_PM:
                bench.sill.pm[0] = DRY_PM
            if held_after < 0 and bench.ledger().rig.hold == reasons.REBOOTS:
                held_after = boot + 1
                given = len(bench.sill.given)
        resets = self.resets
        self.stage = -1
        pulses = len(bench.sill.given) - before
        if held_after >= 0 and len(bench.sill.given) > given:
            bench.fault("W2: a pulse from a rig held for its reboots")
        if (stage >= stages.STORED or every == 2) and not 0 <= held_after <= ladder.BOOTS_HOLD + every:
            bench.fault("it starts over %d times and is not held" % resets)
        if stage < stages.STORED and every == 1 and pulses:
            bench.fault("W3: a pulse before anything was stored")
        if not resets:
            bench.fault("no reset ever came")
        # Now it stays up: it must come back by itself.
        bench.run(CALM_WAKES, most_boots=CALM_WAKES, cause=cause)
        bench.check_ledger()
        if bench.ledger().rig.hold:
            bench.fault("still held after %d calm wakes" % CALM_WAKES)
        self.tell(
            {
                "stage": stage,
                "cause": cause,
                "every": every,
                "resets": resets,
                "held_after": held_after,
                "pulses": pulses,
            }
        )
        report(self, bench, "%d:%d:%d" % (stage, cause, every))

    def _pass(self, stage):
        if stage == self.stage and self.bench.wakes >= self.every - 1:
            self._reset()
        return stage

    def _touch(self, name):
        if self.stage == PULSE and name == "time.sleep_ms" and self.bench.running >= 0:
            self.naps += 1
            if self.naps % 5 == 0:
                self._reset()

    def _reset(self):
        """The chip starts over: its pins fall back to off before anything else happens."""
        self.resets += 1
        for pin in self.bench.pins:
            pin.level = 0
        self.bench.see_pins()
        raise Restart(self.cause)


run(Proof)
