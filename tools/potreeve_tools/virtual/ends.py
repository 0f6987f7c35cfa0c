"""The end of the cable a client opens: a pseudo-terminal or a loopback socket."""

import os
import select
import socket
import time

# A board drops its output when nobody takes it for so long (MicroPython, rp2: 500 ms).
PATIENCE_S = 0.5


class _End:
    """Shared: sending to a client that may be slow, gone, or never there."""

    fd = -1
    # Until somebody reads again, nobody is waited for.
    _patience_s = PATIENCE_S

    def send(self, data):
        """Send all of it, or drop the rest when nobody reads."""
        view, until = memoryview(data), time.monotonic() + self._patience_s
        while view and self.fd >= 0:
            try:
                view = view[os.write(self.fd, view) :]
                self._patience_s = PATIENCE_S
                until = time.monotonic() + PATIENCE_S
            except BlockingIOError:
                if time.monotonic() >= until:
                    self._patience_s = 0.0
                    return
                select.select([], [self.fd], [], 0.05)
            except OSError:
                return


class PtyEnd(_End):
    """port: path of the terminal. link: path of a symbolic link to it that stays the same, or None."""

    def __init__(self, link=None):
        import tty

        self.link = link
        self._kept = -1
        self.fd, self._slave = os.openpty()
        tty.setraw(self._slave)
        os.set_blocking(self.fd, False)
        self.port = os.ttyname(self._slave)
        if link:
            part = f"{link}.part"
            if os.path.lexists(part):
                os.unlink(part)
            os.symlink(self.port, part)
            os.replace(part, link)

    def read(self):
        """Bytes from the client; b"" when there are none."""
        try:
            return os.read(self.fd, 4096)
        except OSError:
            return b""

    def sources(self):
        return [self.fd]

    def ready(self, source):
        return self.read()

    def close(self, keep=False):
        """Pull the plug: the terminal is gone.

        keep: its number stays taken until close() is called again, so that a client that looks for it finds no other
        board's terminal in its place, which on one desk would hardly happen.
        """
        fd, self.fd = self.fd, -1
        slave, self._slave = self._slave, -1
        if keep and slave >= 0:
            self._kept, slave = slave, -1
        elif not keep and self._kept >= 0:
            os.close(self._kept)
            self._kept = -1
        for each in (fd, slave):
            if each >= 0:
                os.close(each)
        if self.link and os.path.islink(self.link) and os.readlink(self.link) == self.port:
            os.unlink(self.link)


class TcpEnd(_End):
    """A socket on the loopback address; one client at a time. number: its port, 0 for any free one."""

    def __init__(self, number=0):
        self._listener = socket.create_server(("127.0.0.1", number))
        self._listener.setblocking(False)
        self.number = self._listener.getsockname()[1]
        self.port = f"socket://127.0.0.1:{self.number}"
        self._client = None

    def sources(self):
        return [self._listener] + ([self._client] if self._client is not None else [])

    def ready(self, source):
        if source is not self._listener:
            return self.read()
        try:
            client, _ = self._listener.accept()
        except OSError:
            return b""
        if self._client is not None:
            client.close()
            return b""
        client.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        client.setblocking(False)
        self._client, self.fd = client, client.fileno()
        return b""

    def read(self):
        try:
            data = self._client.recv(4096)
        except BlockingIOError:
            return b""
        except OSError:
            data = b""
        if not data:
            self._hang_up()
        return data

    def _hang_up(self):
        client, self._client, self.fd = self._client, None, -1
        if client is not None:
            client.close()

    def close(self, keep=False):
        self._hang_up()
        self._listener.close()
