"""Who looks is told that something changed: server-sent events. The page then fetches itself anew."""

import asyncio
import contextlib
import threading

KEEP_S = 15
MOST = 200


class Live:
    """`change` may be called from any thread; each listener gets its own stream."""

    def __init__(self):
        self.version = 0
        self._loop = None
        self._events = set()
        self._lock = threading.Lock()
        self.closed = False

    def change(self):
        """Something is different from what the pages show."""
        with self._lock:
            self.version += 1
            loop = self._loop
        if loop and not loop.is_closed():
            with contextlib.suppress(RuntimeError):
                loop.call_soon_threadsafe(self._wake)

    def close(self):
        """Let all streams end."""
        self.closed = True
        self.change()

    def _wake(self):
        for event in self._events:
            event.set()

    @property
    def full(self):
        """True when no more may listen."""
        return len(self._events) >= MOST

    async def stream(self, last):
        """Lines of one listener's stream. last: the id it saw last, None for a new one."""
        self._loop = asyncio.get_running_loop()
        event = asyncio.Event()
        self._events.add(event)
        try:
            seen = self.version
            # Whoever comes back may have missed something, also a restart of the station.
            yield f"retry: 2000\nid: {seen}\nevent: {'hello' if last is not None else 'ready'}\ndata: {seen}\n\n"
            while not self.closed:
                try:
                    await asyncio.wait_for(event.wait(), KEEP_S)
                except TimeoutError:
                    yield ": still here\n\n"
                    continue
                event.clear()
                if self.version != seen:
                    seen = self.version
                    yield f"id: {seen}\nevent: change\ndata: {seen}\n\n"
        finally:
            self._events.discard(event)
