"""Line protocol over HTTP to a time-series database: a derived copy, refilled from the store whenever it falls behind.

Such databases may lose what they have answered for, and know no unique key, so they are never the record.
The mark of what was sent is in the store; after a failure the same lines go again (same series, same time, same value).
"""

import urllib.error
import urllib.request

from potreeve.logic import recorded

from potreeve_tools.station import hostclock, metrics, sight
from potreeve_tools.station.steady import Steady

LINES = 5000
LOOK_S = 2.0
LIMIT_S = 30
AGAIN_S = 10
NOTE = "pushed"
MEASUREMENT = "potreeve"


def _escaped(text):
    for char in "\\, =":
        text = text.replace(char, "\\" + char)
    return text


def of_record(rig, names, at_s, line):
    """Lines of one record, one for the rig and one for each pot; measurement and field give the names of /metrics.
    Time in nanoseconds."""
    head, pots = recorded.decode(line)
    made = [_line(f"rig={_escaped(rig)}", metrics.head_values(head), at_s)]
    for name, pot in zip(names, pots, strict=False):
        values = [
            *metrics.pot_values(pot),
            ("potreeve_pot_rung", pot["ladder"], ""),
            ("potreeve_pot_reason", pot["reason"], ""),
        ]
        if pot["pulse_ms"]:
            values += [
                ("potreeve_pot_pulse_seconds", pot["pulse_ms"] / 1000, ""),
                ("potreeve_pot_pulse_most_liters", pot["most_tenths"] / 10000, ""),
            ]
        made.append(_line(f"rig={_escaped(rig)},pot={_escaped(' '.join(name.split()))}", values, at_s))
    return made


def _line(tags, values, at_s):
    fields = ",".join(f"{name.removeprefix(MEASUREMENT + '_')}={value}" for name, value, _ in values)
    return f"{MEASUREMENT},{tags} {fields} {at_s}000000000"


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


class Pusher(Steady):
    """Brings the database up to date, in a thread of its own."""

    def __init__(self, make_store, url):
        super().__init__(make_store, "potreeve-lines", LOOK_S, AGAIN_S, LIMIT_S)
        self._url = url
        self.sent = 0

    def turn(self, store):
        """Send what is new; True when there was something."""
        return self.step(store) > 0

    def says(self, fault):
        """A failure in words."""
        return f"the time-series database takes nothing: {fault}"

    def step(self, store):
        """Go once through all logs and send what is new; returns how many lines. Raises OSError when they are not
        taken."""
        marks, lines, total = store.note(NOTE, {}), [], 0
        for rig, boot in store.rows("SELECT rig, boot FROM chains ORDER BY rig, boot"):
            names = None
            while rows := self._new(store, rig, boot, marks.get(f"{rig}/{boot}", -1)):
                names = names or sight.one_rig(store, rig).pot_names(4)
                for place, at_s, body in rows:
                    lines += of_record(rig, names, min(at_s, int(hostclock.wall_s())), bytes(body))
                    marks[f"{rig}/{boot}"] = place
                if len(lines) >= LINES:
                    total += self._send(store, marks, lines)
                    lines = []
        return total + (self._send(store, marks, lines) if lines else 0)

    def _new(self, store, rig, boot, mark):
        # What waits behind a hole is sent when the hole is closed, so one mark a log is enough.
        return store.rows(
            "SELECT r.place, r.at_s, r.body FROM records r JOIN chains c ON c.rig = r.rig AND c.boot = r.boot "
            "WHERE r.rig = ? AND r.boot = ? AND r.place > ? AND r.place < c.place ORDER BY r.place LIMIT 500",
            (rig, boot, mark),
        )

    def _send(self, store, marks, lines):
        post(self._url, lines)
        with store.batch():
            store.set_note(NOTE, marks)
        self.sent += len(lines)
        return len(lines)
