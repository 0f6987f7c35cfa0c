"""Wi-Fi and connections over it; only boards with Wi-Fi are sent this, and it is loaded when a report is due.

Nothing here waits longer than the `rest(idle)` it is given allows, but for three calls of the port that can't be broken
off: a scan (about 2 s), connecting a socket (CONNECT_S) and one step of a TLS handshake (about 1 s on an RP2040); each
is shorter than any board's watchdog.
"""

import gc
import os
import socket
import time

import network

CONNECT_S = 4
_IDLE_MS = 5

# What OSError says here: no such network, the access point or its password refuses.
NO_NETWORK = 100
NOT_LET_IN = 111

# status() where joining failed: RP2 says -3..-1, ESP32 200..204.
_FAILED = (-3, -2, -1, 200, 201, 202, 203, 204)


class Wifi:
    """rig.radio.wifi(): the radio, off until join().

    hint: seven bytes, the access point's address and channel as joined last, b"" unknown.
    """

    def __init__(self):
        self.hint = b""
        self._wlan = None
        self._sock = None

    def idle(self):
        """Let some milliseconds pass."""
        time.sleep_ms(_IDLE_MS)

    def draw(self):
        """Four random bytes."""
        return os.urandom(4)

    def join(self, keys, hint, rest):
        """Join the network of the settings; raises OSError.

        hint: see above; without one the nearest access point is looked for. The one that was joined is in self.hint.
        """
        if keys["wifi_country"]:
            network.country(keys["wifi_country"])
        wlan = self._wlan = network.WLAN(network.WLAN.IF_STA)
        wlan.active(True)
        try:
            wlan.config(pm=wlan.PM_NONE)
        except (ValueError, AttributeError, OSError):  # slower, not wrong
            pass
        if keys["wifi_address"]:
            gateway = keys["wifi_gateway"] or keys["wifi_address"]
            wlan.ifconfig((keys["wifi_address"], keys["wifi_mask"], gateway, gateway))
        rest(0)
        self.hint = hint or self._find(wlan, keys["wifi_ssid"])
        rest(0)
        self._begin(wlan, keys["wifi_ssid"], keys["wifi_key"])
        while not wlan.isconnected():
            rest(1)
            if wlan.status() in _FAILED:
                raise OSError(NOT_LET_IN, wlan.status())

    def _find(self, wlan, ssid):
        """The nearest access point; raises OSError if there is none (a network that hides its name can't be joined)."""
        found = [(row[3], bytes(row[1]) + bytes((row[2],))) for row in wlan.scan() if row[0] == ssid.encode()]
        if not found:
            raise OSError(NO_NETWORK)
        return max(found)[1]

    def _begin(self, wlan, ssid, key):
        bssid, channel = self.hint[:6], self.hint[6]
        try:
            wlan.connect(ssid, key or None, bssid=bssid, channel=channel)
        except TypeError:  # a port that takes no channel
            wlan.connect(ssid, key or None, bssid=bssid)

    def open(self, host, port, rest, ca=None, name=""):
        """A connection for mqtt.Client, as TLS where `ca` (the authority's certificate, DER) is given; raises
        OSError, ValueError.

        name: what the broker's certificate must be for.
        """
        self.shut()
        rest(0)
        sock = self._sock = socket.socket()
        sock.settimeout(CONNECT_S)
        sock.connect(socket.getaddrinfo(host, port)[0][-1])
        try:
            sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        except (AttributeError, OSError):  # slower, not wrong
            pass
        sock.setblocking(False)
        if ca is None:
            return Pipe(sock)
        gc.collect()
        from potreeve.hal import secured

        self._sock = secured.wrap(sock, ca, name or host)
        return Pipe(self._sock)

    def shut(self):
        """Close the connection, if there is one."""
        sock, self._sock = self._sock, None
        if sock:
            try:
                sock.close()
            except OSError:  # it is gone either way
                pass

    def off(self):
        """Radio off, whatever state it is in."""
        self.shut()
        wlan, self._wlan = self._wlan, None
        if wlan:
            try:
                wlan.disconnect()
            except OSError:  # it was not joined
                pass
            wlan.active(False)


class Pipe:
    """See mqtt.Client."""

    def __init__(self, stream):
        self.send = stream.write
        self.take = stream.readinto
