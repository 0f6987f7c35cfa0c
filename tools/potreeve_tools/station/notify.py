"""Letters leave: through apprise, one at a time, each with a limit of time. And the station's own sign of life.

A thread of its own, for the network may hang; nothing else waits for it.
"""

import contextlib
import logging
import threading
import time
import urllib.request

from potreeve_tools.station import book, hostclock
from potreeve_tools.station.steady import Steady
from potreeve_tools.station.store import CantStore

LIMIT_S = 40
LOOK_S = 1.0
AGAIN_S = 5


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


class Post(Steady):
    """Sends what lies in the outbox, and asks for the heartbeat's address while `well()` says that all is well here."""

    def __init__(self, make_store, config, well=lambda: True):
        super().__init__(make_store, "potreeve-post", LOOK_S, AGAIN_S, LIMIT_S)
        self.config = config
        self.stuck = 0
        self._well = well
        self._beaten_s = float("-inf")

    def turn(self, store):
        """Send what is due, and the sign of life."""
        self.empty(store)
        if self.config.heartbeat_url and hostclock.even_s() - self._beaten_s >= self.config.heartbeat_s:
            self._beaten_s = hostclock.even_s()
            self.beat(store)
        return False

    def says(self, fault):
        """A failure in words; no address, for it may hold a key."""
        return f"letters can't be sent: {type(fault).__name__}"

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
