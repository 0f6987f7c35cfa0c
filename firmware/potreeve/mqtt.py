"""A client of MQTT 3.1.1 (OASIS standard, 2014), as far as a board needs it: QoS 1, a few messages under way, one
deadline.

`pipe` is hal's connection: send(data) and take(buffer) give the bytes done, None where nothing can be done yet, 0 from
take at the peer's end; they raise OSError. `rest(idle)` is asked in every loop: it raises OSError once the time is up.
So no wait outlives it, whatever the peer does. A packet larger than Client.MOST_BYTES is passed over.
"""

from potreeve.logic.units import const

# Publishes under way at a time; longest a broker waits for a word of ours.
WINDOW = 8
_ALIVE_S = const(60)

# What OSError says here: the peer hung up, it does not speak MQTT.
HUNG_UP = 104
BABBLE = 71

_CONNACK = const(2)
_PUBLISH = const(3)
_PUBACK = const(4)
_SUBACK = const(9)
_PINGRESP = const(13)


class Refused(Exception):
    """The broker says no. args[0]: CONNACK's code (1 version, 2 name, 3 not there, 4 password, 5 not allowed), or 128
    for a topic."""


class Client:
    """heard(topic, payload, retained): called for each message that comes, within the other calls."""

    MOST_BYTES = 512

    def __init__(self, pipe, rest, heard):
        self._pipe = pipe
        self._rest = rest
        self._heard = heard
        self._number = 0
        self._one = bytearray(1)
        # Numbers of publishes that the broker has not acknowledged.
        self.under_way = []

    def connect(self, name, user, password, will):
        """Introduce this board; will: (topic, payload) the broker tells if we vanish. Raises Refused, OSError."""
        flags = 0x0E | (0x80 if user else 0) | (0x40 if password else 0)
        body = b"\x00\x04MQTT\x04" + bytes((flags, 0, _ALIVE_S)) + _text(name) + _text(will[0]) + _text(will[1])
        if user:
            body += _text(user)
        if password:
            body += _text(password)
        self._send(0x10, body)
        self._await(_CONNACK)

    def subscribe(self, topics):
        """Hear these topics from now on. Raises Refused, OSError."""
        body = self._next()
        for topic in topics:
            body += _text(topic) + b"\x01"
        self._send(0x82, body)
        self._await(_SUBACK)

    def ping(self):
        """Wait for the broker to answer: what it had to say before has come by then."""
        self._send(0xC0, b"")
        self._await(_PINGRESP)

    def publish(self, topic, payload, retain=0):
        """Send a message; waits only while WINDOW of them are under way. settle() waits for the broker's word."""
        while len(self.under_way) >= WINDOW:
            self.step()
        number = self._next()
        self.under_way.append(self._number)
        self._send(0x32 | retain, _text(topic) + number + payload)

    def settle(self):
        """Wait until the broker has acknowledged every publish."""
        while self.under_way:
            self.step()

    def leave(self):
        """Say goodbye, so that the will is not told."""
        self._send(0xE0, b"")

    def step(self):
        """Take in one packet if one has begun to come: its type, 0 where none has."""
        one = self._one
        taken = self._pipe.take(one)
        self._rest(taken is None)
        if taken is None:
            return 0
        if not taken:
            raise OSError(HUNG_UP)
        kind = one[0]
        size = shift = 0
        while True:
            byte = self._read(1)[0]
            size |= (byte & 0x7F) << shift
            if byte < 0x80:
                break
            shift += 7
            if shift > 21:
                raise OSError(BABBLE)
        if size > self.MOST_BYTES:
            # Nothing for a board; passed over, as far as the time reaches.
            while size:
                size -= len(self._read(min(size, 64)))
            return kind >> 4
        try:
            self._take_in(kind, self._read(size))
        except (IndexError, ValueError):
            # Shorter than what it says it is, or a topic that is no text.
            raise OSError(BABBLE)
        return kind >> 4

    def _take_in(self, kind, body):
        sort = kind >> 4
        if sort == _PUBACK:
            number = body[0] << 8 | body[1]
            if number in self.under_way:
                self.under_way.remove(number)
        elif sort == _PUBLISH:
            qos = kind >> 1 & 3
            end = 2 + (body[0] << 8 | body[1])
            start = end + 2 if qos else end
            if qos > 1 or start > len(body):
                raise OSError(BABBLE)
            topic = bytes(body[2:end]).decode()
            self._heard(topic, bytes(body[start:]), kind & 1)
            if qos:
                self._send(0x40, bytes(body[end:start]))
        elif sort == _CONNACK:
            if body[1]:
                raise Refused(body[1])
        elif sort == _SUBACK:
            if max(body[2:]) > 2:
                raise Refused(max(body[2:]))
        elif sort != _PINGRESP:
            raise OSError(BABBLE)

    def _await(self, sort):
        came = 0
        while came != sort:
            came = self.step()
            if came and came != sort and sort == _CONNACK:
                raise OSError(BABBLE)

    def _next(self):
        """The next packet's number, 1..65535, as two bytes."""
        self._number = self._number % 65535 + 1
        return bytes((self._number >> 8, self._number & 0xFF))

    def _read(self, size):
        data = bytearray(size)
        view = memoryview(data)
        got = 0
        while got < size:
            taken = self._pipe.take(view[got:])
            self._rest(taken is None)
            if taken == 0:
                raise OSError(HUNG_UP)
            got += taken or 0
        return data

    def _send(self, kind, body):
        """One packet in one write; what a write leaves over goes with the next."""
        head = bytearray((kind,))
        size = len(body)
        while size > 0x7F:
            head.append(size & 0x7F | 0x80)
            size >>= 7
        head.append(size)
        left = memoryview(bytes(head) + body)
        while len(left):
            done = self._pipe.send(left)
            self._rest(not done)
            left = left[done or 0 :]


def _text(what):
    """Text or bytes with their length before them."""
    data = what if isinstance(what, bytes) else what.encode()
    return bytes((len(data) >> 8, len(data) & 0xFF)) + data
