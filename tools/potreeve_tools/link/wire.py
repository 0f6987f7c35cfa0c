"""A serial port with a little more: what passes is counted, and what was read too early is put back."""

from dataclasses import dataclass


@dataclass
class Traffic:
    """What went over the wire: bytes each way, round trips, and the seconds they took."""

    bytes_out: int = 0
    bytes_in: int = 0
    round_trips: int = 0
    seconds: float = 0.0


class Counted:
    """A pyserial port that counts what passes."""

    def __init__(self, port, traffic):
        self._port = port
        self._traffic = traffic

    def read(self, size=1):
        data = self._port.read(size)
        self._traffic.bytes_in += len(data)
        return data

    def write(self, data):
        self._traffic.bytes_out += len(data)
        return self._port.write(data)

    def inWaiting(self):
        return self._port.inWaiting()

    def __getattr__(self, name):
        return getattr(self._port, name)

    def __setattr__(self, name, value):
        if name in ("_port", "_traffic"):
            object.__setattr__(self, name, value)
        else:
            setattr(self._port, name, value)


class Pushed:
    """A port with bytes put back in front."""

    def __init__(self, port):
        object.__setattr__(self, "_port", port)
        object.__setattr__(self, "_front", bytearray())

    def push(self, data):
        self._front.extend(data)

    def read(self, size=1):
        if not self._front:
            return self._port.read(size)
        data = bytes(self._front[:size])
        del self._front[:size]
        return data

    def inWaiting(self):
        return len(self._front) or self._port.inWaiting()

    def __getattr__(self, name):
        return getattr(self._port, name)

    def __setattr__(self, name, value):
        setattr(self._port, name, value)
