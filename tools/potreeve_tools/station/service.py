"""The station as a whole: listens, watches, tells, shows; one process, a few threads, ended by Ctrl-C or SIGTERM."""

import contextlib
import json
import signal
import threading
from dataclasses import dataclass

from potreeve_tools.station import account as accounts
from potreeve_tools.station import book, config, hostclock, keys, store, watch
from potreeve_tools.station.ingest import CLIENT_ID, Ingest
from potreeve_tools.station.live import Live
from potreeve_tools.station.notify import Post
from potreeve_tools.terminal import exits, files

FILE = "station.db"


@dataclass
class Plan:
    """What to run. to: broker Address; where: of the store; listen: (host, port) of the page, None for none; tls:
    (certificate, key) files; share: name of the shared subscription, worker: of one that only stores."""

    to: object
    where: str
    config: object
    listen: tuple | None = ("127.0.0.1", 8090)
    tls: tuple | None = None
    proxied: bool = False
    share: str = ""
    worker: str = ""


class Station:
    """Everything that runs. Use with `with`; `serve` blocks until it is told to end."""

    def __init__(self, plan, say=lambda text: None, child=None):
        self.plan, self._say, self._child = plan, say, child
        self.live = Live()
        self._make_store = lambda: store.open_store(plan.where)
        self._ending = threading.Event()
        number = f"{CLIENT_ID}-{plan.worker}" if plan.worker else CLIENT_ID
        self.ingest = Ingest(plan.to, self._make_store, self._taken, number, plan.share)
        self.post = Post(self._make_store, plan.config, self.well)
        self.watch = None
        self.looked_s = hostclock.even_s()
        self._look_trouble = ""
        self._pusher = None
        self._keys_of = (config.folder() / keys.NAME).stat().st_mtime_ns if child else None
        self._server = None

    def __enter__(self):
        # A store that can't be used is told before anything runs.
        self._make_store().close()
        self._watcher = threading.Thread(target=self._look_around, name="potreeve-watch")
        self.ingest.start()
        if self.plan.worker:
            return self
        self._watcher.start()
        self.post.start()
        if self.plan.config.push_url:
            from potreeve_tools.station.lines import Pusher

            self._pusher = Pusher(self._make_store, self.plan.config.push_url)
            self._pusher.start()
        return self

    def __exit__(self, *_):
        self._ending.set()
        self.live.close()
        self.ingest.stop()
        if self.plan.worker:
            return
        self._watcher.join()
        if self._pusher:
            self._pusher.stop()
        self.post.stop()

    def _taken(self, taken):
        if self.watch is not None:
            self.watch.taken(taken)

    def _look_around(self):
        own = None
        while not self._ending.is_set():
            try:
                if own is None:
                    own = self._make_store()
                    made = watch.Watch(
                        own,
                        self.plan.config,
                        self.ingest,
                        self._troubles,
                        lambda rigs: self.live.change(),
                        bool(self.plan.share),
                    )
                    made.start()
                    self.watch = made
                self._renew()
                if any(self.watch.look()):
                    self._write_alarms(own)
                self.looked_s, self._look_trouble = hostclock.even_s(), ""
            except Exception as fault:
                # The disk may be full for hours: the watch goes on as soon as it can.
                self._look_trouble = f"alarms can't be kept: {type(fault).__name__}: {str(fault)[:120]}"
                if own is not None:
                    own.close()
                own = None
            self._ending.wait(watch.LOOK_S)
        if own is not None:
            own.close()

    def _renew(self):
        """Have the builtin broker learn of rigs that were paired meanwhile."""
        if self._child:
            stamp = (config.folder() / keys.NAME).stat().st_mtime_ns
            if stamp != self._keys_of:
                self._child.renew()
                self._keys_of = stamp

    def _write_alarms(self, own):
        """The file for scripts: what `potreeve station alarms --json` prints."""
        text = json.dumps(book.for_programs(book.open_alarms(own)), indent=1, ensure_ascii=False)
        files.write_whole(config.folder() / "alarms.json", text.encode())

    def _troubles(self):
        found = []
        if self.post.stuck:
            found.append(
                (
                    f"{self.post.stuck} letters could not be delivered",
                    "potreeve station --test-alarm shows which route fails",
                )
            )
        if self.post.trouble:
            found.append((self.post.trouble, "see the station's page"))
        return found

    def trouble(self):
        """One line for the page: what is wrong with the station itself, ""."""
        lines = [self._look_trouble, self.ingest.trouble and f"nothing can be stored: {self.ingest.trouble}"]
        if not self.ingest.connected:
            lines.append("the broker can't be reached" + (f": {self.ingest.refused}" if self.ingest.refused else ""))
        return "; ".join(line for line in lines if line)

    def well(self):
        """True while the station can hear, store and judge: then it gives its sign of life."""
        return not self.trouble() and hostclock.even_s() - self.looked_s < 12 * watch.LOOK_S

    def serve(self):
        """Show the page until the end; without one, wait for it."""
        if self.plan.listen is None:
            with contextlib.suppress(KeyboardInterrupt):
                self._on_signals()
                while not self._ending.wait(0.5):
                    pass
            return
        import uvicorn

        from potreeve_tools.station.web import Pages

        host, port = self.plan.listen
        account = accounts.Account(
            keys.load(), accounts.is_loopback(host) and not self.plan.proxied, bool(self.plan.tls or self.plan.proxied)
        )
        pages = Pages(
            self._make_store, account, self.live, lambda: self.watch, self.trouble, lambda: self.ingest.counts
        )
        certificate, key = self.plan.tls or (None, None)
        made = uvicorn.Config(
            pages.app(),
            host=host,
            port=port,
            log_level="error",
            access_log=False,
            server_header=False,
            lifespan="off",
            ssl_certfile=certificate,
            ssl_keyfile=key,
            timeout_graceful_shutdown=2,
        )
        self._server = uvicorn.Server(made)
        # uvicorn waits for its streams before it ends: they are told first.
        ask = self._server.handle_exit

        def leave(number, frame):
            self.live.close()
            ask(number, frame)

        self._server.handle_exit = leave
        scheme = "https" if self.plan.tls else "http"
        shown = f"[{host}]" if ":" in host else host
        # uvicorn gives the signals it took to whoever had them before: that must not end the process before the rest
        # has ended.
        self._on_signals()
        self._say(f"Page: {scheme}://{shown}:{port}/")
        try:
            self._server.run()
        except SystemExit:
            raise exits.Stop(
                exits.BAD_INPUT,
                [f"{host}:{port}: the page can't listen there; another program may; give --listen HOST:PORT"],
            ) from None
        except KeyboardInterrupt:
            return
        if not self._server.started:
            raise exits.Stop(exits.BAD_INPUT, [f"{host}:{port}: the page can't listen there; give --listen HOST:PORT"])

    def stop_serving(self):
        """Have `serve` return; for those who run it in a thread."""
        self._ending.set()
        if self._server is not None:
            self._server.should_exit = True

    def _on_signals(self):
        if threading.current_thread() is threading.main_thread():
            signal.signal(signal.SIGTERM, lambda *_: self._ending.set())
            signal.signal(signal.SIGINT, lambda *_: self._ending.set())
