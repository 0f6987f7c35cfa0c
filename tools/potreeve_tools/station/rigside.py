"""A rig's side of the messages, on the host: for rehearsals and measurements. A board has its own, in
firmware/potreeve/hal.

It keeps to messages.md as a board has to: a record leaves the queue on the station's word alone.
"""

import json
import threading

from potreeve.logic import record, recorded, segments

from potreeve_tools.link import logs_export
from potreeve_tools.station import broker, logpiece, messages

PIECE = 8


class RigLog:
    """What a rig has to tell: records with their places, the mark, and how far it has sent in this session."""

    def __init__(self, boot, due_s=0):
        self.boot, self.due_s = boot, due_s
        self.mark = 0
        self.told_seq = -1
        self._lines = []
        self._first = 0
        self._sent = 0
        self._from = 0

    def append(self, line):
        """Add a record's bytes."""
        self._lines.append(line)

    def __len__(self):
        return len(self._lines)

    def waiting(self):
        """Records that the station has not committed."""
        return len(self._lines) - self._index(self.mark)

    def begin(self):
        """Another session: go on from the mark."""
        self._sent = self._index(self.mark)
        self._from = self.mark

    def next_piece(self, size=PIECE):
        """The next Piece to send, None when all is sent."""
        left = segments.RECORDS - self._sent % segments.RECORDS
        lines = self._lines[self._sent : self._sent + min(size, left)]
        if not lines:
            return None
        piece = logpiece.Piece(self.boot, self._from, place_of(self._sent), self.due_s, lines)
        self._sent += len(lines)
        self._from = piece.end
        return piece

    def heard(self, body):
        """Take the station's word: an `ack` that has passed its schema. True when the mark moved."""
        mark = logpiece.place(body["segment"], body["byte"])
        if body["boot"] != self.boot or mark == self.mark or self._index(mark) > len(self._lines):
            return False
        self.mark, self.told_seq = mark, body["seq"]
        return True

    def _index(self, mark):
        return number_of(*logpiece.split(mark))


def number_of(segment, byte):
    """Number of the first record at or after a place, from 0."""
    if segment == 0:
        return 0
    inside = max(0, byte - segments.HEAD_BYTES) // record.RECORD_BYTES
    return (segment - 1) * segments.RECORDS + min(inside, segments.RECORDS)


def place_of(number):
    """The place of record `number` (from 0) in a log that was never trimmed."""
    segment, inside = divmod(number, segments.RECORDS)
    return logpiece.place(segment + 1, segments.HEAD_BYTES + inside * record.RECORD_BYTES)


def report(rig, boot, line, due_s, names):
    """The body of a `report` made of a record's bytes. names: of the pots, in order."""
    head, pots = recorded.decode(line)
    wake = logs_export.wake_facts(head)
    body = {"v": 1, "rig": rig, "boot": boot, "seq": head["seq"], "time_s": head["utc_s"] or None}
    body.update(proven_s=head["up_s"], due_s=due_s)
    for name in (
        "battery_mv",
        "charge_pm",
        "battery_left_d",
        "temperature_cdeg",
        "humidity_pm",
        "light_lx",
        "tray_most_ml",
    ):
        body[name] = wake[name]
    body.update(rig_hold=head["hold"], alarm=head["alarm"], errors=head["errors"], memory_lost=head["memory"])
    if head["version"] >= record.EXTRA_VERSION:
        body["tray_sensor"], body["tub_left_d"] = head["tray_wet"] or None, wake["tub_left_d"]
    body["pots"] = [
        {
            "pot": name,
            "moisture_pm": pot["pm"],
            "rung": pot["ladder"],
            "reason": pot["reason"],
            "pulse_ms": pot["pulse_ms"],
        }
        for name, pot in zip(names, pots, strict=False)
    ]
    return body


class Line:
    """One connection of one or many rigs. rigs: {name: RigLog}; on_ack(name): called when a rig's mark moved."""

    def __init__(self, to, client_id, rigs, on_ack=lambda rig: None, will=None):
        self.rigs, self._on_ack = rigs, on_ack
        self.acks = 0
        self.up = threading.Event()
        self.client = broker.client(to, client_id, persistent=False)
        if will:
            self.client.will_set(*will, qos=1)
        self.client.on_connect = self._on_connect
        self.client.on_disconnect = lambda *_: self.up.clear()
        self.client.on_message = self._on_message
        self.client.connect_async(to.host, to.port, keepalive=60)
        self.client.loop_start()

    def _on_connect(self, client, userdata, flags, reason, properties):
        if reason.is_failure:
            return
        topics = [(messages.topic(rig, "ack"), 1) for rig in self.rigs]
        for at in range(0, len(topics), 100):
            client.subscribe(topics[at : at + 100])
        self.up.set()

    def _on_message(self, client, userdata, message):
        rig = message.topic.split("/")[1]
        self.acks += 1
        if rig in self.rigs and self.rigs[rig].heard(json.loads(message.payload)):
            self._on_ack(rig)

    def send(self, rig, kind, payload, retain=False):
        """Publish; returns what paho tells of it."""
        return self.client.publish(messages.topic(rig, kind), payload, qos=1, retain=retain)

    def close(self):
        """Leave politely, so that no will is told."""
        self.client.disconnect()
        self.client.loop_stop()
