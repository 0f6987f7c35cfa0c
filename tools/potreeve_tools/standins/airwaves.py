"""What stands in for potreeve.hal.radio beside the simulated rig: an access point that is made up, sockets that are
real.

So a rehearsed rig talks to a real broker on this machine. Runs under CPython and under unix MicroPython.

air: a mapping; `ssid`, `key`: of the one access point there is (ssid "" for none); `mute`: True where joining never
ends; `join_ms`: how long joining takes when the access point has to be looked for, `hint_ms` when it is remembered;
`scale`: milliseconds of the rig that pass in one real millisecond of waiting; `free`: True where the world's battery
gives
no charge for it (a millivolt less changes how long a pump must run).
"""

import os
import socket
import time

AIR = {"ssid": "sill", "key": "", "mute": False, "join_ms": 3500, "hint_ms": 700, "scale": 10}
POINT = b"\x02\x00\x00\x00\x00\x01\x06"

CONNECT_S = 4
MICROPYTHON = hasattr(time, "sleep_ms")
NO_NETWORK = 100
NOT_LET_IN = 111


class Wifi:
    """See hal.radio.Wifi. clock: passes the rig's time, as `pass_ms`; done(ms): told how long the radio was on."""

    def __init__(self, clock, air, done=lambda ms: None):
        self.hint = b""
        self.air = dict(AIR)
        self.air.update(air or {})
        self.clock = clock
        self.done = done
        self.on_ms = 0
        self._sock = None

    def idle(self):
        if MICROPYTHON:
            time.sleep_ms(1)
        else:
            time.sleep(0.001)
        self._pass(self.air["scale"])

    def draw(self):
        return os.urandom(4)

    def join(self, keys, hint, rest):
        air = self.air
        if not hint:
            # A scan.
            self._pass(2000)
            rest(0)
            if keys["wifi_ssid"] != air["ssid"] or not air["ssid"]:
                raise OSError(NO_NETWORK)
        left_ms = air["hint_ms"] if hint else air["join_ms"] - 2000
        while left_ms > 0 or air["mute"]:
            self._pass(50)
            left_ms -= 50
            rest(0)
        if keys["wifi_key"] != air["key"] or hint not in (b"", POINT):
            raise OSError(NOT_LET_IN)
        self.hint = POINT

    def open(self, host, port, rest, ca=None, name=""):
        self.shut()
        rest(0)
        sock = self._sock = socket.socket()
        sock.settimeout(CONNECT_S / self.air["scale"])
        began = self._real_ms()
        try:
            sock.connect(socket.getaddrinfo(host, port)[0][-1])
        finally:
            self._pass((self._real_ms() - began) * self.air["scale"])
        # TCP_NODELAY; the unix MicroPython has no names for it.
        sock.setsockopt(6, 1, 1)
        sock.setblocking(False)
        if ca is not None:
            # hal's own file.
            import secured

            self._sock = secured.wrap(sock, ca, name or host)
        return Pipe(self._sock)

    def shut(self):
        sock, self._sock = self._sock, None
        if sock:
            try:
                sock.close()
            except OSError:
                pass

    def off(self):
        self.shut()
        self.done(self.on_ms)
        self.on_ms = 0

    def _pass(self, ms):
        self.clock.pass_ms(ms)
        self.on_ms += ms

    def _real_ms(self):
        return time.ticks_ms() if MICROPYTHON else time.monotonic_ns() // 1000000


class Pipe:
    """send and take as mqtt.Client wants them."""

    def __init__(self, sock):
        if MICROPYTHON:
            self.send = sock.write
            self.take = sock.readinto
        else:
            self.sock = sock

    def send(self, data):
        return self._soon(self.sock.send, data)

    def take(self, buffer):
        return self._soon(self.sock.recv_into, buffer)

    def _soon(self, call, data):
        import ssl

        try:
            return call(data)
        except (BlockingIOError, ssl.SSLWantReadError, ssl.SSLWantWriteError):
            return None
