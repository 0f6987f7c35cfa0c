"""Makes every adapter call fail at its n-th use, and from its n-th use on. Runs under CPython and MicroPython.

usage: failing.py JOB RESULT     JOB: a JSON file with
    board, settings     device form; checked settings
    main                main.py's text
    only                list of ids, or none for all
    until               what a fault says with which all ends, or nothing

An id is ADAPTER.CALL:N:HOW:KIND with HOW one of once, on (from then on), late
(once, after the call has done its work). RESULT gets one JSON object per line:
the counts, or an id and its fault.
"""

from pinrig import PinBench
from potreeve.logic import recorded
from provekit import Part, report, run

WAKES = 3
KINDS = (OSError, ValueError, RuntimeError)

# The rig tends without these: no restart, no crash, however long they fail.
SPARE = (
    "power.usb",
    "probes.",
    "climate.",
    "light.",
    "battery.",
    "panel.",
    "radio.",
    "code.",
    "pumps.pulse",
    "clock.utc_s",
)

# Calls that may have taken effect and still complain.
LATE = ("store", "pumps", "panel")


class Plan:
    """Which call fails, when and how; `uses` counts them all."""

    def __init__(self, bench):
        self.bench = bench
        self.clear()

    def clear(self):
        self.uses = {}
        self.target = ""
        self.args = ()
        self.at = 0
        self.how = ""
        self.kind = OSError
        self.struck = 0
        self.lines = 0

    def call(self, name, function, args):
        count = self.uses.get(name, 0) + 1
        self.uses[name] = count
        if name != self.target or count < self.at or (count > self.at and self.how != "on"):
            return function(*args)
        if not self.struck:
            self.lines = len(self.bench.records())
            self.args = args
        self.struck += 1
        self.bench.unread(name, args)
        if self.how == "late":
            function(*args)
        self.bench.strike(self.kind(5))


class Proof:
    def __init__(self, job, tell):
        self.job = job
        self.tell = tell
        self.bench = PinBench(job["board"], job["settings"], job["main"])
        self.plan = Plan(self.bench)
        self.used = []
        self.runs = 0
        self.failed = 0

    def prepare(self):
        """A rig at work, its first day over, a dose begun."""
        bench = self.bench
        bench.begin()
        self.start = bench.save()
        self.cause = 0 if bench.board["keeps_ram"] else 2
        bench.wrap = lambda name, part: Part(name, part, self.plan.call)
        bench.calm = self._calm

    def run(self):
        self.prepare()
        bench = self.bench
        given = len(bench.sill.given)
        before = len(bench.records())
        bench.on_sleep = lambda wakes: None
        bench.boots = 0
        bench.run(WAKES + 2, cause=self.cause)
        self.whole = bench.records()[before:]
        self.boots = bench.boots
        if self._told(self.whole):
            bench.fault("something fails by itself")
        self.plan.clear()
        bench.load(self.start)
        bench.calm = self._count
        bench.run(WAKES, cause=self.cause)
        bench.calm = self._calm
        bench.check_ledger()
        report(self, self.bench, "whole")
        pulses = len(bench.sill.given) - given
        uses = self.plan.uses
        for name in sorted(uses):
            for at in range(1, uses[name] + 1):
                for how in ("once", "on", "late"):
                    if how == "late" and name.split(".")[0] not in LATE:
                        continue
                    for kind in KINDS:
                        self._try(name, at, how, kind)
        self.tell(
            {"calls": uses, "runs": self.runs, "pulses": pulses, "stood_by": bench.stood_by, "failed": self.failed}
        )

    def _try(self, name, at, how, kind):
        one = "%s:%d:%s:%s" % (name, at, how, kind.__name__)
        if self.job["only"] and one not in self.job["only"]:
            return
        bench = self.bench
        plan = self.plan
        bench.load(self.start)
        plan.clear()
        self.lines_mended = -1
        plan.target, plan.at, plan.how, plan.kind = name, at, how, kind
        before = len(bench.records())
        self.runs += 1
        bench.on_sleep = self._mend
        ended = bench.run(WAKES + 2, cause=self.cause)
        if _spare(name) and bench.boots > self.boots:
            bench.fault("it starts over for want of %s" % name)
        if not plan.struck:
            bench.fault("the call never came")
        bench.check_ledger()
        plan.target = ""
        if ended != "finished" and bench.run(2, cause=bench.cause) != "finished":
            bench.fault("it does not tend again")
        bench.check_ledger()
        lines = bench.records()[before:]
        if not self._told(lines) and not self._excused(name, how, lines):
            bench.fault("no record says that anything failed")
        report(self, self.bench, one)

    def _count(self):
        """Notes before each boot how often each call was used by then; nothing is passed over."""
        self.used.append(dict(self.plan.uses))
        return False

    def _calm(self):
        """No call will fail any more, or none in this boot; in the run before the calls are counted nothing is passed
        over."""
        plan = self.plan
        if not plan.at:
            return False
        if not plan.target or plan.struck > 0 and plan.how != "on":
            return True
        # Until the first failure each boot uses what the same one used when they were counted, passed over or not.
        boot = self.bench.boots
        if plan.struck or boot > len(self.used):
            return False
        plan.uses = dict(self.used[boot - 1])
        return boot < len(self.used) and self.used[boot].get(plan.target, 0) < plan.at

    def _mend(self, wakes):
        """After the wakes that were tried all goes well again; then it must be said what was seen."""
        if wakes >= WAKES and self.plan.target:
            self.lines_mended = len(self.bench.records())
            self.plan.target = ""

    def _excused(self, name, how, lines):
        """A store that failed and was asked again with success has lost nothing.
        A board that forgets can't tell what it could neither read nor keep: when the
        store no longer reads, or no longer writes and no record came after that."""
        if not name.startswith("store."):
            return False
        if how == "on" and not self.bench.board["keeps_ram"]:
            if name == "store.read" or self.lines_mended == self.plan.lines:
                return True
        # Settings that could not be read have a last good copy to run; that is to be said.
        return lines == self.whole and self.plan.args[:1] != ("settings.json",)

    def _told(self, lines):
        for line in lines:
            told = recorded.decode(line)
            if told is None:
                self.bench.fault("log: a record that is not whole")
            elif told[0]["errors"] or told[0]["cause"] in (1, 4, 5):
                return True
        return False


def _spare(name):
    for one in SPARE:
        if name.startswith(one):
            return True
    return False


run(Proof)
