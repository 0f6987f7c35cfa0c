"""Somebody who takes in what a rig tells a real broker and says so, by the message document; and a proxy that spoils
connections."""

import contextlib
import json
import socket
import struct
import threading
import time

from airwaves import Pipe
from network import PASSWORD, RIG
from potreeve import mqtt
from potreeve.logic.record import RECORD_BYTES

HEAD = struct.Struct("<2sBBIIIHHI")


class Listener:
    """A station in small: stores pieces that join on to what it has, and acknowledges them.

    rows: {(boot, segment, byte): record bytes}; twice: how many came again; reports, lost, abouts: JSON of each;
    answers: whether it acknowledges; time_s: what time it says it is; soon: what to do between two packets, by the one
    thread that may send.
    """

    def __init__(self, port, answers=True, time_s=1_795_000_000):
        self.port = port
        self.answers = answers
        self.time_s = time_s
        self.rows, self.twice, self.other = {}, 0, 0
        self.ends = {}
        self.reports, self.lost, self.pieces, self.abouts = [], [], [], []
        # Called with each report: a command's bytes, or None; and what was answered.
        self.asks = lambda report: None
        self.answers_to_asks = []
        self.soon = []
        self.over = False
        self.fault = None

    def __enter__(self):
        self.ready = threading.Event()
        self.thread = threading.Thread(target=self._run, daemon=True)
        self.thread.start()
        assert self.ready.wait(10)
        return self

    def __exit__(self, *fault):
        self.over = True
        self.thread.join(10)
        if self.fault and not fault[0]:
            raise self.fault

    def _rest(self, idle):
        if self.over:
            raise OSError(110)
        while self.soon:
            self.soon.pop()()
        if idle:
            time.sleep(0.001)

    def _run(self):
        while not self.over:
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", self.port), 1) as sock:
                sock.setblocking(False)
                sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
                client = self.client = Large(Pipe(sock), self._rest, self._heard)
                client.connect("station", "station", PASSWORD, ("x", "x"))
                client.subscribe([f"potreeve/{RIG}/{kind}" for kind in ("log", "report", "lost", "done", "about")])
                self.ready.set()
                while True:
                    client.step()
            time.sleep(0.01)

    def _heard(self, topic, payload, retained):
        try:
            kind = topic.rpartition("/")[2]
            if kind == "log":
                self._log(payload)
            elif not retained:
                told = json.loads(payload)
                {"report": self.reports, "lost": self.lost, "done": self.answers_to_asks, "about": self.abouts}[
                    kind
                ].append(told)
                asked = self.asks(told) if kind == "report" else None
                if asked:
                    self.client.publish(f"potreeve/{RIG}/do", asked)
        except Exception as fault:  # told at the end
            self.fault = fault

    def _log(self, payload):
        magic, version, count, boot, from_segment, segment, from_byte, byte, due_s = HEAD.unpack_from(payload)
        assert (
            magic == b"PL"
            and version == 1
            and len(payload) == HEAD.size + count * RECORD_BYTES
            and 1 <= due_s <= 604800
        )
        self.pieces.append((boot, (from_segment, from_byte), (segment, byte), count))
        have = self.ends.get(boot)
        if have is not None and (from_segment, from_byte) > have:
            # Something is missing: say how far we are.
            self.acknowledge(boot)
            return
        for index in range(count):
            at = (boot, segment, byte + index * RECORD_BYTES)
            row = payload[HEAD.size + index * RECORD_BYTES :][:RECORD_BYTES]
            if at in self.rows:
                self.twice += 1
                self.other += self.rows[at] != row
            self.rows[at] = row
        self.ends[boot] = max(have or (0, 0), (segment, byte + count * RECORD_BYTES))
        self.acknowledge(boot)

    def acknowledge(self, boot, place=None):
        if self.answers:
            segment, byte = place or self.ends.get(boot, (0, 0))
            told = {"v": 1, "boot": boot, "segment": segment, "byte": byte, "seq": -1, "time_s": self.time_s}
            self.client.publish(f"potreeve/{RIG}/ack", json.dumps(told, separators=(",", ":")).encode(), 1)


class Large(mqtt.Client):
    """The firmware's client, for packets larger than a board takes."""

    MOST_BYTES = 1 << 20


class Proxy:
    """Between a rig and a broker. how: "" passes on; "mute" never answers; "closes" at once; "drip" a byte a second
    of the
    answer; "huge" begins a packet of 200 MB; "babble" sends noise; "half" hangs up after so many bytes of the answer;
    None
    refuses. Counts connections in `seen`."""

    def __init__(self, port, how="", after=0):
        self.to, self.how, self.after = port, how, after
        self.seen = 0
        self.server = socket.socket()
        self.server.bind(("127.0.0.1", 0))
        self.port = self.server.getsockname()[1]
        self.open = []

    def __enter__(self):
        if self.how is not None:
            self.server.listen(8)
            threading.Thread(target=self._serve, daemon=True).start()
        return self

    def __exit__(self, *fault):
        for sock in (self.server, *self.open):
            sock.close()

    def _serve(self):
        with contextlib.suppress(OSError):
            while True:
                sock, _ = self.server.accept()
                self.seen += 1
                self.open.append(sock)
                threading.Thread(target=self._attend, args=(sock,), daemon=True).start()

    def _attend(self, sock):
        with contextlib.suppress(OSError):
            if self.how == "closes":
                sock.close()
            elif self.how == "huge":
                sock.sendall(b"\x20\xff\xff\xff\x5f" + bytes(4096))
            elif self.how == "babble":
                sock.sendall(bytes(range(16, 256)) * 20)
            elif self.how == "drip":
                while True:
                    sock.sendall(b"\x20\x02\x00\x00"[:1])
                    time.sleep(0.01)
            elif self.how != "mute":
                other = socket.create_connection(("127.0.0.1", self.to), 2)
                self.open.append(other)
                threading.Thread(target=self._pass, args=(sock, other, -1), daemon=True).start()
                self._pass(other, sock, self.after if self.how == "half" else -1)

    def _pass(self, source, target, left):
        with contextlib.suppress(OSError):
            while data := source.recv(4096):
                if 0 <= left <= len(data):
                    target.sendall(data[:left])
                    break
                target.sendall(data)
                left -= len(data) if left >= 0 else 0
            source.close()
            target.close()
