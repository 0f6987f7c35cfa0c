"""What a wake costs, measured where the firmware runs: time by part, and heap.

    measure.py JOB RESULT

The job names what to measure: "parts" (us per call of each part of a wake) or
"growth" (live heap after many wakes of one session). The rig's answers are the
same at every wake: what is measured is the firmware.
"""

import gc
import json
import time

import simhal
from provekit import run

RAW = 26000
SLEPT_MS = 1800000


class Fixed:
    """A rig that always says the same: three pots well watered, a full battery."""

    def __init__(self, job):
        self.hello = json.dumps({"board": job["board"], "settings": "", "sense": self.sense(0), "ticks_ms": 0})
        self.again = " ".join([str(value) for value in self.sense(simhal.KEPT)])

    def sense(self, cause):
        head = [cause, 0, SLEPT_MS, 0, 4000, 2200, 500, 3000, 0, 0, 0]
        # One spike each, so that no probe looks stuck.
        return head + [RAW, RAW + 16, RAW, RAW - 16, RAW, RAW + 16, RAW, RAW, RAW] * 3

    def ask(self, text):
        return self.hello if text == "b" else self.again


def open_session(job):
    """An app.Session on the fixed rig, with a real littlefs in RAM."""
    import flash
    import store
    from potreeve import app

    geometry = job["board"]["flash"]
    flash.mount(flash.Flash(geometry), geometry, True)
    files = store.Store("/flash/data")
    files.replace("settings.json", json.dumps(job["settings"]).encode())
    files.suffer = lambda: None
    return app.Session(simhal.SimRig(simhal.Link(Fixed(job).ask), files))


def growth(job):
    """Live heap in bytes after `warm` wakes and after `wakes` more."""
    session = open_session(job)
    found = []
    for count in (job["warm"], job["wakes"]):
        for _ in range(count):
            session.sleep(session.wake())
        gc.collect()
        found.append(gc.mem_alloc())
    return {"before": found[0], "after": found[1]}


def parts(job):
    """Microseconds of each part of a wake, the mean of `wakes` calls."""
    from potreeve.logic import cycle

    session = open_session(job)
    session.wake()
    readings = session._read()
    energy = job["board"]["energy"]
    state, _, line = cycle.step(session.state, readings, session.settings, energy)
    asked = session.rig.link.ask
    told = {}
    for name, call in (
        ("read", session._read),
        ("decide", lambda: cycle.step(state, readings, session.settings, energy)),
        ("store the ledger", session._store),
        ("append to the log", lambda: session.log.append(line, state)),
        ("parse the rig's answer", lambda: [int(word) for word in asked("s").split()]),
    ):
        gc.collect()
        began = time.ticks_us()
        for _ in range(job["wakes"]):
            call()
        told[name] = time.ticks_diff(time.ticks_us(), began) // job["wakes"]
    return told


class Measured:
    def __init__(self, job, tell):
        self.job = job
        self.tell = tell

    def run(self):
        self.tell({"growth": growth, "parts": parts}[self.job["measure"]](self.job))


run(Measured)
