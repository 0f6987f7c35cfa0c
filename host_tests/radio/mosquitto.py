"""A real broker on this machine, for every test that needs one: mosquitto, from the system's packages."""

import contextlib
import os
import shutil
import socket
import subprocess
import time
from pathlib import Path

import pytest

PROGRAM = shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin:/usr/local/sbin")
START_S = 10


def free_port():
    """A port of the loopback nobody listens at."""
    with socket.socket() as sock:
        sock.bind(("127.0.0.1", 0))
        return sock.getsockname()[1]


class Mosquitto:
    """A mosquitto of the test's own, in a folder of its own; with `with`, or start and stop.

    access: lines of its configuration that say who may come in, by default everybody; port: where it listens, by
    default a free one; keeps: whether all that waits for somebody is held, over a restart, too; without, mosquitto's
    own defaults.
    """

    def __init__(self, folder, access=("allow_anonymous true",), port=None, keeps=True):
        if PROGRAM is None:
            pytest.skip("mosquitto is not installed")
        self.folder, self.port = Path(folder), port or free_port()
        self.process = None
        lines = [f"listener {self.port} 127.0.0.1", *access]
        if keeps:
            lines += ["persistence true", "max_queued_messages 0", f"persistence_location {self.folder}/"]
        self.configure("\n".join(lines) + "\n")

    def configure(self, text):
        """Write its configuration anew, before it starts."""
        # As root it would drop to a user of its own, who could not enter the folder.
        own = "user root\n" if os.geteuid() == 0 else ""
        (self.folder / "broker.conf").write_text(text + own)

    def start(self):
        self.process = subprocess.Popen(
            [PROGRAM, "-c", str(self.folder / "broker.conf")], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        until = time.monotonic() + START_S
        while time.monotonic() < until and self.process.poll() is None:
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", self.port), 0.5):
                return self
            time.sleep(0.01)
        raise AssertionError("mosquitto does not start")

    def stop(self):
        """As a system does that shuts down."""
        self._end("terminate")

    def kill(self):
        """As a power cut does."""
        self._end("kill")

    def _end(self, how):
        if self.process:
            getattr(self.process, how)()
            self.process.wait(START_S)
            self.process = None

    def __enter__(self):
        return self.start()

    def __exit__(self, *fault):
        self.stop()
