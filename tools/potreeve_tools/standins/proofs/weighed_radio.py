"""The radio of one board as it stands in memory, for bench/footprint.py: the real modules, a broker that takes
everything.

load(kept) brings all of it in, as at a report, where the settings have it; session(kept) then says to a broker that
is not
there what it has to say.
kept: weighed.kept. KEYS: the settings' table.
"""

import sys

KEYS = {
    "wifi_ssid": "the library's reading room",
    "wifi_key": "a password of usual length",
    "wifi_country": "GB",
    "wifi_address": "192.168.100.140",
    "wifi_mask": "255.255.255.0",
    "wifi_gateway": "192.168.100.100",
    "broker_host": "192.168.100.120",
    "broker_port": 8883,
    "broker_tls": False,
    "broker_name": "",
    "broker_user": "reading-room-sill",
    "broker_key": "another password of usual length",
    "command_key": "0123456789abcdef" * 4,
    "send_s": 3600,
    "trust": "broker",
}


class Network:
    """`network`, as far as loading needs it."""


def load(kept):
    """A board that forgets lets go first of what decided, as sending.py does."""
    sys.modules["network"] = Network
    sys.modules["socket"] = Network
    from potreeve import sending

    if not kept["rig"].power.keeps_ram:
        sending.make_room(kept["session"])
    from potreeve import mqtt, reporting
    from potreeve.hal import radio

    kept["radio"] = sending, mqtt, reporting, radio


class Wifi:
    """See hal.radio.Wifi: joins at once; answers as a broker does. looked: called where much is held at once."""

    hint = b"\x02\x00\x00\x00\x00\x01\x06"

    def __init__(self, looked):
        self.looked = looked
        self.says = b""

    def idle(self):
        # The stub's time, which passes at once.
        sys.modules["time"].sleep_ms(5)

    def draw(self):
        return b"\x01\x02\x03\x04"

    def join(self, keys, hint, rest):
        self.looked()

    def open(self, host, port, rest, ca=None, name=""):
        return self

    def off(self):
        pass

    def send(self, data):
        self.looked()
        kind = data[0]
        if kind == 0x10:
            self.says += b"\x20\x02\x00\x00"
        elif kind == 0x82:
            self.says += b"\x90\x03" + bytes(data[2:4]) + b"\x01"
        elif kind == 0xC0:
            self.says += b"\xd0\x00"
        elif kind & 0xF0 == 0x30:
            at = 2 if data[1] < 0x80 else 3
            at += 2 + data[at + 1]
            self.says += b"\x40\x02" + bytes(data[at : at + 2])
        return len(data)

    def take(self, buffer):
        part = self.says[: len(buffer)]
        self.says = self.says[len(part) :]
        buffer[: len(part)] = part
        return len(part) or None


def session(kept, looked):
    """Say all there is to say; looked: called where much is held at once. Returns what went wrong, 0 for nothing."""
    from potreeve.logic import record, segments

    one = kept["session"]
    rig = kept["rig"]
    rig.radio.wifi = lambda: Wifi(looked)
    number = segments.numbers(rig.store.names())[-1]
    line = rig.store.read(segments.name(number))[-record.RECORD_BYTES :]
    one.errors = 0
    one._report(line)
    return one.errors
