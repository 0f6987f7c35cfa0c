"""The client of MQTT 3.1.1, byte by byte (OASIS standard, 29 October 2014), and against whatever a peer may send."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from potreeve import mqtt


class Peer:
    """The other end: gives the bytes of `says`, in pieces of `step`; takes `most` bytes in one write; `turns` may be
    waited."""

    def __init__(self, says=b"", step=1000, most=10**6, turns=200):
        self.says, self.step, self.most, self.turns = bytearray(says), step, most, turns
        self.got = bytearray()
        self.writes = 0
        self.answer = lambda got: b""
        self.hangs_up = False

    def send(self, data):
        self.writes += 1
        if not self.most:
            return None
        part = bytes(data[: self.most])
        self.got += part
        self.says += self.answer(part)
        return len(part)

    def take(self, buffer):
        if not self.says:
            return 0 if self.hangs_up else None
        part = self.says[: min(len(buffer), self.step)]
        del self.says[: len(part)]
        buffer[: len(part)] = part
        return len(part)

    def rest(self, idle):
        self.turns -= 1
        if self.turns < 0:
            raise OSError(110)


def client(peer, heard=None):
    return mqtt.Client(peer, peer.rest, lambda *what: heard.append(what) if heard is not None else None)


CONNACK = b"\x20\x02\x00\x00"


def test_a_conversation_as_the_standard_writes_it():
    heard = []
    peer = Peer(CONNACK)
    one = client(peer, heard)
    one.connect("sill", "user", "secret", ("t/lost", "{}"))
    assert bytes(peer.got) == (
        b"\x10\x2a\x00\x04MQTT\x04\xce\x00\x3c\x00\x04sill\x00\x06t/lost\x00\x02{}\x00\x04user\x00\x06secret"
    )
    peer.got.clear()
    peer.says += b"\x90\x03\x00\x01\x01"
    one.subscribe(["t/ack"])
    assert bytes(peer.got) == b"\x82\x0a\x00\x01\x00\x05t/ack\x01"
    peer.got.clear()
    # A retained message of QoS 1 comes before the answer to the ping; it is heard and acknowledged.
    peer.says += b"\x33\x0b\x00\x05t/ack\x00\x07hi" + b"\xd0\x00"
    one.ping()
    assert heard == [("t/ack", b"hi", 1)] and bytes(peer.got) == b"\xc0\x00\x40\x02\x00\x07"
    peer.got.clear()
    one.publish("t/log", b"\x00\xff", 0)
    one.publish("t/r", b"x" * 130, 1)
    assert bytes(peer.got) == b"\x32\x0b\x00\x05t/log\x00\x02\x00\xff" + b"\x33\x89\x01\x00\x03t/r\x00\x03" + b"x" * 130
    assert peer.writes == 6 and one.under_way == [2, 3]
    peer.says += b"\x40\x02\x00\x03\x40\x02\x00\x02"
    one.settle()
    peer.got.clear()
    one.leave()
    assert bytes(peer.got) == b"\xe0\x00" and one.under_way == []


@pytest.mark.parametrize("code", [1, 2, 3, 4, 5, 255])
def test_a_broker_that_refuses(code):
    with pytest.raises(mqtt.Refused) as refused:
        client(Peer(b"\x20\x02\x00" + bytes((code,)))).connect("a", "b", "c", ("w", "w"))
    assert refused.value.args == (code,)


def test_a_topic_that_is_refused():
    peer = Peer(CONNACK + b"\x90\x03\x00\x01\x80")
    one = client(peer)
    one.connect("a", "b", "c", ("w", "w"))
    with pytest.raises(mqtt.Refused):
        one.subscribe(["t"])


def test_numbers_run_from_1_to_65535_and_begin_again():
    peer = Peer(turns=10**6)
    peer.answer = lambda part: b"\x40\x02" + part[-3:-1] if part[0] == 0x32 else b""
    one = client(peer)
    seen = []
    for _ in range(65540):
        one.publish("t", b"x")
        seen += one.under_way
        one.settle()
        peer.got.clear()
    assert seen[:2] == [1, 2] and seen[65533:65537] == [65534, 65535, 1, 2] and 0 not in seen


def test_no_more_under_way_than_the_window():
    peer = Peer(turns=50)
    one = client(peer)
    with pytest.raises(OSError):
        for _ in range(mqtt.WINDOW + 1):
            one.publish("t", b"x")
    assert len(one.under_way) == mqtt.WINDOW
    peer.turns, peer.says = 50, bytearray(b"\x40\x02\x00\x01")
    one.publish("t", b"x")
    assert len(one.under_way) == mqtt.WINDOW and 1 not in one.under_way


@pytest.mark.parametrize("most", [1, 7, 100])
def test_short_writes_are_gone_on_with(most):
    whole, short = Peer(), Peer(most=most, turns=10**4)
    for peer in (whole, short):
        client(peer).publish("t", b"0123456789" * 30)
    assert whole.got == short.got and short.writes == -(-len(whole.got) // most)


def test_a_peer_that_takes_nothing_costs_the_time_there_is_and_no_more():
    with pytest.raises(OSError) as fault:
        client(Peer(most=0)).publish("t", b"x")
    assert fault.value.args[0] == 110


@pytest.mark.parametrize("says", [b"", b"\x20", b"\x20\x02\x00", b"\xd0\x00" * 5])
def test_a_peer_that_falls_silent_anywhere(says):
    with pytest.raises(OSError):
        client(Peer(says, step=1)).connect("a", "b", "c", ("w", "w"))


def test_a_peer_that_talks_without_end_ends_with_the_time():
    class Endless(Peer):
        def take(self, buffer):
            self.says += b"\xd0\x00"
            return super().take(buffer)

    peer = Endless(CONNACK)
    one = client(peer)
    one.connect("a", "b", "c", ("w", "w"))
    one.publish("t", b"x")
    with pytest.raises(OSError) as fault:
        one.settle()
    assert fault.value.args[0] == 110


@pytest.mark.parametrize("says, errno", [
    (b"\x30\xff\xff\xff\x7f", 110),
    (b"\x30\xff\xff\xff\xff\x01", mqtt.BABBLE),
    (b"\x30\x03\x00\x09a", mqtt.BABBLE),
    (b"\x34\x05\x00\x01a\x00\x01", mqtt.BABBLE),
    (b"\x40\x01\x00", mqtt.BABBLE),
    (b"\x10\x00", mqtt.BABBLE),
    (b"\x30\x00", mqtt.BABBLE),
])  # fmt: skip
def test_packets_that_are_none(says, errno):
    peer = Peer(CONNACK)
    one = client(peer)
    one.connect("a", "b", "c", ("w", "w"))
    peer.says += says
    with pytest.raises(OSError) as fault:
        for _ in range(9):
            one.step()
    assert fault.value.args[0] == errno


def test_a_packet_that_is_too_large_is_passed_over():
    heard = []
    peer = Peer(CONNACK, turns=2000)
    one = client(peer, heard)
    one.connect("a", "b", "c", ("w", "w"))
    peer.says += b"\x30\x81\x04" + b"x" * 513 + b"\x30\x04\x00\x01ab"
    one.step()
    one.step()
    assert heard == [("a", b"b", 0)]


@given(st.binary(max_size=300), st.integers(1, 5), st.booleans())
def test_whatever_a_peer_sends_there_is_one_way_out(noise, step, hangs_up):
    peer = Peer(CONNACK + noise, step=step, turns=2000)
    peer.hangs_up = hangs_up
    one = client(peer)
    one.connect("a", "b", "c", ("w", "w"))
    one.publish("t", b"x")
    with pytest.raises((OSError, mqtt.Refused)):
        one.settle()
        while True:
            one.step()
    assert len(peer.got) < 2000
