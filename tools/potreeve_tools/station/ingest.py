"""From the broker to the store: a message is acknowledged when it is committed, not before.

One thread (paho's) only takes messages off the network into a short queue; when
the queue is full it stops reading, so the broker has to wait, not this memory. One
thread writes: a transaction for all that waits, then the acknowledgements in the
order of arrival, then the station's own word to each rig. Whatever falls between two
of these steps arrives again, and is in the store once.
"""

import contextlib
import queue
import threading

from potreeve_tools.station import broker, hostclock, intake, messages
from potreeve_tools.station.store import CantStore

CLIENT_ID = "potreeve-station"
# Messages that may wait, and that one transaction may hold: some MB at most.
WAITING = 400
MOST = 250
TRY_AGAIN_S = (1, 2, 5, 10, 30)
KEEPALIVE_S = 30


class Ingest:
    """Listens to a broker for as long as it is open.

    share: name of a shared subscription: the broker deals messages out to all who give the same, each with a client_id
    of its own.
    make_store: gives the writer its own Store. on_taken(Taken): called by the writer after each commit.
    `trouble`: why nothing can be stored just now, "". `connected`, `since_s` (even_s): whether the broker is there,
    and since when.
    """

    def __init__(self, to, make_store, on_taken=lambda taken: None, client_id=CLIENT_ID, share=""):
        self.to = to
        self.trouble = ""
        self.refused = ""
        self.connected = False
        self.since_s = hostclock.even_s()
        self.counts = {"messages": 0, "records": 0, "doubled": 0, "unfit": 0, "commits": 0}
        self._make_store, self._on_taken = make_store, on_taken
        self._before = f"$share/{share}/" if share else ""
        self._queue = queue.Queue(WAITING)
        self._epoch = 0
        self._stop = threading.Event()
        self._client = broker.client(to, client_id, manual=True)
        self._client.on_connect = self._on_connect
        self._client.on_disconnect = self._on_disconnect
        self._client.on_message = self._on_message
        self._writer = threading.Thread(target=self._write, name="potreeve-writer")

    def start(self):
        """Begin to listen; the broker may come later."""
        self._writer.start()
        self._client.connect_async(self.to.host, self.to.port, keepalive=KEEPALIVE_S)
        self._client.loop_start()

    def stop(self):
        """Stop listening; what is not committed yet stays with the broker."""
        self._stop.set()
        self._client.disconnect()
        # Whoever waits for room in the queue must get through before the loop can end.
        threads = [threading.Thread(target=self._client.loop_stop), self._writer]
        threads[0].start()
        while threads[0].is_alive():
            self._empty()
            threads[0].join(0.05)
        self._writer.join()

    def _empty(self):
        with contextlib.suppress(queue.Empty):
            while True:
                self._queue.get_nowait()

    def publish(self, rig, kind, payload, retain=False):
        """Tell a rig something."""
        self._client.publish(messages.topic(rig, kind), payload, qos=1, retain=retain)

    # ---- paho's thread ----

    def _on_connect(self, client, userdata, flags, reason, properties):
        if reason.is_failure:
            self.refused = str(reason)
            return
        # An acknowledgement from before could by now name another message.
        self._epoch += 1
        self.refused = ""
        self.connected, self.since_s = True, hostclock.even_s()
        client.subscribe([(self._before + messages.topic("+", kind), 1) for kind in messages.FROM_RIG])

    def _on_disconnect(self, client, userdata, flags, reason, properties):
        if self.connected:
            self.connected, self.since_s = False, hostclock.even_s()

    def _on_message(self, client, userdata, message):
        heard = (
            self._epoch,
            message.mid,
            message.qos,
            message.topic,
            message.payload,
            message.retain,
            hostclock.wall_s(),
        )
        while not self._stop.is_set():
            with contextlib.suppress(queue.Full):
                self._queue.put(heard, timeout=0.2)
                return

    # ---- the writer ----

    def _write(self):
        store = None
        tries = 0
        batch = []
        while not self._stop.is_set():
            if not batch:
                batch = self._next()
                continue
            try:
                store = store or self._make_store()
                taken = intake.take(store, [_arrived(*one[3:]) for one in batch])
            except Exception as fault:
                # Disk full, locked, gone: nothing is acknowledged, so nothing is lost; the broker keeps the rest.
                self.trouble = str(fault) if isinstance(fault, CantStore) else f"{type(fault).__name__}: {fault}"
                if store:
                    store.close()
                store = None
                self._stop.wait(TRY_AGAIN_S[min(tries, len(TRY_AGAIN_S) - 1)])
                tries += 1
                continue
            self.trouble, tries = "", 0
            self._committed(batch, taken)
            batch = []
        if store:
            store.close()

    def _next(self):
        try:
            batch = [self._queue.get(timeout=0.2)]
        except queue.Empty:
            return []
        with contextlib.suppress(queue.Empty):
            while len(batch) < MOST:
                batch.append(self._queue.get_nowait())
        return batch

    def _committed(self, batch, taken):
        for epoch, mid, qos, *_ in batch:
            if qos and epoch == self._epoch:
                self._client.ack(mid, qos)
        for (rig, boot), (place, seq) in taken.acks.items():
            self.publish(rig, "ack", messages.ack(boot, place, seq, hostclock.wall_s()), retain=True)
        for rig, payload in taken.tell.items():
            self.publish(rig, "do", payload)
        counts = self.counts
        counts["messages"] += len(batch)
        counts["commits"] += 1
        counts["records"] += taken.new
        counts["doubled"] += taken.doubled
        counts["unfit"] += taken.aside
        self._on_taken(taken)


def _arrived(where, payload, retain, wall_s):
    """(heard_s, Message or what is odd, retained from before) for the intake."""
    heard_s = int(wall_s)
    try:
        return heard_s, messages.read(where, payload), bool(retain)
    except messages.Unfit as fault:
        rig = where.split("/")[1] if where.count("/") == 2 else ""
        known = not messages.rig_name_fault(rig)
        return heard_s, (rig if known else "", where.rpartition("/")[2][:16], str(fault), payload), bool(retain)
