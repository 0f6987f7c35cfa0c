"""The broker for those who have none: mosquitto as a child of the station, with an access list and generated keys.

Weighed: amqtt, a broker in Python, needs 17 packages more (45 MB), is five times slower, and lost queued messages for a
session that came back. mosquitto is one package of 1 MB on every system and the same broker that larger houses run.
"""

import contextlib
import os
import signal
import socket
import subprocess
import time

from potreeve_tools.station import access, broker, config, keys
from potreeve_tools.terminal import exits

START_S = 10
PID = "broker.pid"


class Builtin:
    """A running mosquitto. port, host: where it listens."""

    def __init__(self, host="127.0.0.1", port=broker.PORT):
        self.host, self.port = host, port
        self.folder = config.folder() / "broker"
        self.process = None

    def address(self):
        """The Address for the station itself."""
        here = "127.0.0.1" if self.host in ("0.0.0.0", "::") else self.host
        return broker.Address(here, self.port, keys.STATION, keys.load()["broker"])

    def start(self):
        """Start it. Raises Stop."""
        path = access.program("mosquitto")
        self._end_orphan()
        with socket.socket() as sock:
            sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                sock.bind((self.host, self.port))
            except OSError as fault:
                raise exits.Stop(
                    exits.BAD_INPUT,
                    [
                        f"{self.host}:{self.port}: {fault.strerror or fault}; another broker may run there: "
                        f"use it with --broker {self.host}:{self.port}, or give another port with --broker-port"
                    ],
                ) from None
        self.renew(reload=False)
        # As root mosquitto would drop to a user who can't read the files; it need not.
        self.process = subprocess.Popen(
            [path, "-c", str(self.folder / access.SETTINGS)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        # mosquitto writes such a file only where it runs as a daemon.
        (self.folder / PID).write_text(str(self.process.pid))
        until = time.monotonic() + START_S
        while time.monotonic() < until and self.process.poll() is None:
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", self.port), 0.5):
                return self
            time.sleep(0.05)
        self.stop()
        raise exits.Stop(exits.FAILED, [f"mosquitto did not start; try: {path} -v -c {self.folder / access.SETTINGS}"])

    def _end_orphan(self):
        """End the broker of a station that was killed; it is ours if its command line names our file."""
        try:
            number = int((self.folder / PID).read_text())
            done = subprocess.run(
                ["ps", "-ww", "-p", str(number), "-o", "args="], capture_output=True, text=True, timeout=10, check=False
            )
            if str(self.folder / access.SETTINGS) not in done.stdout:
                return
            os.kill(number, signal.SIGTERM)
            for _ in range(100):
                os.kill(number, 0)
                time.sleep(0.05)
        except (OSError, ValueError, subprocess.SubprocessError):
            return

    def renew(self, reload=True):
        """Write its files anew, as after a pairing, and have it read them."""
        own = f"persistence_location {self.folder}/\nautosave_interval 60\n"
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            own += "user root\n"
        access.write(self.folder, keys.load(), f"{self.port} {self.host}", own)
        if reload and self.process:
            self.process.send_signal(signal.SIGHUP)

    def stop(self):
        """End it."""
        if self.process and self.process.poll() is None:
            self.process.terminate()
            with contextlib.suppress(subprocess.TimeoutExpired):
                self.process.wait(10)
            if self.process.poll() is None:
                self.process.kill()
                self.process.wait()
