"""Letters leave: through apprise, one at a time, each with a limit of time. And the station's own sign of life.

A thread of its own, for the network may hang; nothing else waits for it.
"""

import contextlib
import logging
import threading
import time
import urllib.request

from potreeve_tools.station import book, hostclock
from potreeve_tools.station.store import CantStore

LIMIT_S = 40
LOOK_S = 1.0


def deliver(url, title, body, level=1):
    """Send one letter; True when it was taken. The address stays out of every log."""
    import apprise

    done = []

    def go():
        # apprise logs addresses; they hold keys.
        logging.getLogger("apprise").setLevel(logging.CRITICAL + 1)
        with contextlib.suppress(Exception):
            way = apprise.Apprise()
            if way.add(url):
                kind = apprise.NotifyType.WARNING if level > 1 else apprise.NotifyType.INFO
                done.append(
                    bool(way.notify(title=title, body=body, notify_type=kind, body_format=apprise.NotifyFormat.TEXT))
                )

    thread = threading.Thread(target=go, daemon=True, name="potreeve-letter")
    thread.start()
    thread.join(LIMIT_S)
    return bool(done and done[0])


class Post:
    """Sends what lies in the outbox, and asks for the heartbeat's address while `well()` says that all is well here."""

    def __init__(self, make_store, config, well=lambda: True):
        self.config = config
        self.stuck = 0
        self.trouble = ""
        self._make_store, self._well = make_store, well
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="potreeve-post")

    def start(self):
        """Begin."""
        self._thread.start()

    def stop(self):
        """End; what was not sent is sent after the next start."""
        self._stop.set()
        self._thread.join(LIMIT_S + 5)

    def _run(self):
        store, beaten = None, float("-inf")
        while not self._stop.wait(LOOK_S):
            try:
                store = store or self._make_store()
                self.empty(store)
                if self.config.heartbeat_url and hostclock.even_s() - beaten >= self.config.heartbeat_s:
                    beaten = hostclock.even_s()
                    self.beat(store)
                self.trouble = ""
            except Exception as fault:
                self.trouble = f"letters can't be sent: {type(fault).__name__}"
                if store:
                    store.close()
                store = None
                self._stop.wait(5)
        if store:
            store.close()

    def empty(self, store):
        """Send all letters that are due."""
        ways = {route.name: route for route in self.config.routes}
        for one in book.due_letters(store, int(hostclock.wall_s())):
            route = ways.get(one["route"])
            good = route is None or deliver(route.url, one["title"], one["body"], route.level)
            book.sent(store, one, int(hostclock.wall_s()), good)
            if self._stop.is_set():
                break
        self.stuck = book.stuck_letters(store, int(hostclock.wall_s()))

    def beat(self, store):
        """A sign of life to a second place, after the store was really written and read back; none when something is
        wrong here."""
        if not self._well() or self.stuck:
            return False
        mark = f"{time.time_ns()}"
        try:
            with store.batch():
                store.set_note("heartbeat", mark)
            if store.note("heartbeat") != mark:
                return False
            with urllib.request.urlopen(self.config.heartbeat_url, timeout=15) as answer:
                return 200 <= answer.status < 300
        except (OSError, ValueError, CantStore):
            return False
