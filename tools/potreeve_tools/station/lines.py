"""Line protocol over HTTP to a time-series database: a derived copy, refilled from the store whenever it falls behind.

Such databases may lose what they have answered for, and know no unique key, so they are never the record.
The mark of what was sent is in the store; after a failure the same lines go again (same series, same time, same value).
"""

import threading
import urllib.error
import urllib.request

from potreeve.logic import record

from potreeve_tools.station import hostclock, metrics, sight
from potreeve_tools.station.store import CantStore

LINES = 5000
LOOK_S = 2.0
LIMIT_S = 30
NOTE = "pushed"


def _escaped(text):
    for char in "\\, =":
        text = text.replace(char, "\\" + char)
    return text


def of_record(rig, names, at_s, line):
    """Lines of one record: names, units and values as in /metrics; time in nanoseconds."""
    head, pots = record.decode(line)
    made = [f"{name},rig={_escaped(rig)} value={value} {at_s}000000000" for name, value, _ in metrics.head_values(head)]
    for name, pot in zip(names, pots, strict=False):
        tags = f"rig={_escaped(rig)},pot={_escaped(' '.join(name.split()))}"
        values = [(metric, value) for metric, value, _ in metrics.pot_values(pot)]
        values += [("potreeve_pot_rung", pot["ladder"]), ("potreeve_pot_reason", pot["reason"])]
        if pot["pulse_ms"]:
            values += [
                ("potreeve_pot_pulse_seconds", pot["pulse_ms"] / 1000),
                ("potreeve_pot_pulse_most_liters", pot["most_tenths"] / 10000),
            ]
        made += [f"{metric},{tags} value={value} {at_s}000000000" for metric, value in values]
    return made


def post(url, lines):
    """Send lines; raises OSError when they were not taken."""
    request = urllib.request.Request(
        url, "\n".join(lines).encode(), {"content-type": "text/plain; charset=utf-8"}, method="POST"
    )
    try:
        with urllib.request.urlopen(request, timeout=LIMIT_S) as answer:
            answer.read()
    except urllib.error.HTTPError as fault:
        raise OSError(f"it answered {fault.code}") from None


class Pusher:
    """Brings the database up to date, in a thread of its own."""

    def __init__(self, make_store, url):
        self._make_store, self._url = make_store, url
        self.trouble, self.sent = "", 0
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="potreeve-lines")

    def start(self):
        """Begin."""
        self._thread.start()

    def stop(self):
        """End."""
        self._stop.set()
        self._thread.join(LIMIT_S + 5)

    def _run(self):
        store = None
        while not self._stop.is_set():
            try:
                store = store or self._make_store()
                if not self.step(store):
                    self._stop.wait(LOOK_S)
                self.trouble = ""
            except (OSError, CantStore) as fault:
                self.trouble = f"the time-series database takes nothing: {fault}"
                self._stop.wait(10)
        if store:
            store.close()

    def step(self, store):
        """Send up to LINES lines; returns how many."""
        marks = store.note(NOTE, {})
        lines, now = [], int(hostclock.wall_s())
        for rig, boot in store.rows("SELECT rig, boot FROM chains ORDER BY rig, boot"):
            key = f"{rig}/{boot}"
            # What waits behind a hole is sent when the hole is closed, so one mark a log is enough.
            rows = store.rows(
                "SELECT r.place, r.at_s, r.body FROM records r JOIN chains c ON c.rig = r.rig AND c.boot = r.boot "
                "WHERE r.rig = ? AND r.boot = ? AND r.place > ? AND r.place < c.place ORDER BY r.place LIMIT 500",
                (rig, boot, marks.get(key, -1)),
            )
            if not rows:
                continue
            one = sight.one_rig(store, rig)
            for place, at_s, body in rows:
                lines += of_record(rig, one.pot_names(4), min(at_s, now), bytes(body))
                marks[key] = place
            if len(lines) >= LINES:
                break
        if lines:
            post(self._url, lines)
            with store.batch():
                store.set_note(NOTE, marks)
            self.sent += len(lines)
        return len(lines)
