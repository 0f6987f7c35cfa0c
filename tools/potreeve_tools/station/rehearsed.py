"""A rehearsal whose board reports to a live station while it runs, at a pace one can watch.

The path is the board's own: the firmware's radio code in MicroPython, real sockets, a real broker, the station. Only
the access point is made up (standins/airwaves.py), and days are short. A witness of ours listens to the station's word,
so that what was stored can be said.
"""

import copy
import json
import socket
import threading
import time

from potreeve_tools.settings import settingsfile
from potreeve_tools.station import broker, messages, rigside
from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput

RIG = messages.REHEARSAL
# Real seconds for the broker to let the rig in (a builtin one learns of a new rig by and by), for the station's first
# word, and for its last.
CONNECT_S = 20
WORD_S = 20
LAST_S = 1
DAY_S = 86400
# Milliseconds of the rig that pass in one real one of waiting: the station gets 600 ms for its word.
SCALE = 5


def settings(plain, to):
    """A checked copy of a rehearsal's settings whose radio reports to a broker; how often is left as it is."""
    made = copy.deepcopy(plain)
    kept = made.get("radio") or {}
    made["radio"] = {
        "wifi_ssid": "sill",
        "broker_host": _numeric(to),
        "broker_port": to.port,
        "broker_user": RIG,
        "broker_key": to.key or "",
        **{name: kept[name] for name in ("send_s",) if name in kept},
    }
    return settingsfile.check(made, "settings")


def _numeric(to):
    """A board takes numbers alone."""
    try:
        return socket.getaddrinfo(to.host, to.port, socket.AF_INET, socket.SOCK_STREAM)[0][4][0]
    except OSError:
        raise BadInput([f"{to.host}: no IPv4 address of a broker is known by this name; give one"]) from None


class Live:
    """What surrounds one rehearsal that reports: `air` for its session, and what to call when it wakes and when a day
    is over. To be entered before it runs.

    days_per_s: simulated days a second, 0 as fast as it goes.
    """

    air = {"scale": SCALE}

    def __init__(self, to, days_per_s):
        self.to, self._pace = to, days_per_s
        self._word = None
        self._up, self._heard = threading.Event(), threading.Event()
        self._client = client = broker.client(to._replace(user=to.user or RIG), f"{RIG}-witness", persistent=False)
        client.on_connect = self._on_connect
        client.on_message = self._on_message

    def __enter__(self):
        self._client.connect_async(self.to.host, self.to.port, keepalive=60)
        self._client.loop_start()
        if not self._up.wait(CONNECT_S):
            self.__exit__()
            raise exits.Stop(
                exits.NO_ANSWER,
                [
                    f"{self.to.host}:{self.to.port}: no broker takes the rehearsal in; start one: "
                    "potreeve station --broker builtin"
                ],
            )
        self._began = time.monotonic()
        return self

    def __exit__(self, *fault):
        self._client.disconnect()
        self._client.loop_stop()

    def on_wake(self, now_s):
        """Wait for the pace. now_s: true seconds that have gone by in the rehearsal."""
        if self._pace:
            time.sleep(max(0.0, self._began + now_s / DAY_S / self._pace - time.monotonic()))

    def on_day(self, day):
        """After a day of reports a station must have said something. Raises Stop."""
        if not self._heard.wait(WORD_S):
            raise exits.Stop(
                exits.NO_ANSWER,
                [
                    f"{self.to.host}:{self.to.port}: the broker took the records, but no station says that they are "
                    "stored",
                    "is the station running, and is it connected to this broker?",
                ],
            )

    def stored(self):
        """How many of the log's records the station says it has stored, once it has nothing new to say."""
        before = None
        while before != self._word:
            before = self._word
            time.sleep(LAST_S)
        return rigside.number_of(before["segment"], before["byte"]) if before else 0

    def _on_connect(self, client, userdata, flags, reason, properties):
        if not reason.is_failure:
            client.subscribe(messages.topic(RIG, "ack"), 1)
            self._up.set()

    def _on_message(self, client, userdata, message):
        # What is retained was said to a rehearsal before.
        if not message.retain:
            self._word = json.loads(message.payload)
            self._heard.set()
