"""Signed commands: taken once; refused when replayed, stale, cut, altered, of another key, or not switched on. W8
holds."""

import hashlib
import hmac
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from listener import Listener
from potreeve import commands
from potreeve.logic import reasons, recorded
from stores import MemoryStore
from test_told import pulses

KEY = "00112233445566778899aabbccddeeff" * 2
QUICK = {"free": True, "scale": 20}


def signed(key=KEY, **members):
    told = {"v": 1, "rig": "sill", "boot": 0, "counter": 1, "until_seq": 10**6, "do": "hold", **members}
    body = json.dumps(told, separators=(",", ":")).encode()[:-1]
    return body + b',"mac":"' + hmac.new(bytes.fromhex(key), body, hashlib.sha256).hexdigest()[:32].encode() + b'"}'


def test_the_code_is_that_of_the_standard():
    """RFC 4231, test cases 1 and 2."""
    assert commands.code(b"\x0b" * 20, b"Hi There").hex() == (
        "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"
    )
    assert commands.code(b"Jefe", b"what do ya want for nothing?").hex() == (
        "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"
    )


@given(st.binary(max_size=64), st.binary(max_size=300))
def test_the_code_is_that_of_cpython(key, message):
    assert commands.code(key, message) == hmac.new(key, message, hashlib.sha256).digest()


@given(st.data())
def test_one_changed_byte_is_noticed_and_so_is_a_cut(data):
    whole = signed()
    assert commands.genuine(whole, KEY)
    at = data.draw(st.integers(0, len(whole) - 1))
    changed = whole[:at] + bytes((whole[at] ^ data.draw(st.integers(1, 255)),)) + whole[at + 1 :]
    assert not commands.genuine(changed, KEY)
    assert not commands.genuine(whole[:at], KEY) and not commands.genuine(whole + b" ", KEY)


class Board:
    """As much of a session as a command is judged by."""

    def __init__(self, files=None):
        self.rig = self
        self.store = MemoryStore()
        self.store.files = files if files is not None else {}
        self.state = self
        self.hold = 0

    def take(self, payload, seq=5, boot=7):
        press, answer = commands.take(payload, {"broker_user": "sill", "command_key": KEY}, boot, self, seq)
        return press, answer["result"], answer.get("why")


def test_a_counter_is_taken_once_and_outlives_a_restart():
    board = Board()
    assert board.take(signed(boot=7, counter=3)) == (2, "done", None)
    for counter in (3, 2, 0):
        assert board.take(signed(boot=7, counter=counter)) == (0, "refused", "replayed")
    again = Board(board.store.files)
    assert again.take(signed(boot=7, counter=3)) == (0, "refused", "replayed")
    assert again.take(signed(boot=7, counter=4, do="acknowledge")) == (1, "done", None)
    assert again.take(signed(boot=7, counter=9, until_seq=4)) == (0, "refused", "stale")
    assert again.take(signed(boot=8, counter=9)) == (0, "refused", "stale")
    assert again.take(signed(boot=7, counter=9, rig="other")) == (0, "refused", "unknown")
    assert again.take(signed(boot=7, counter=9, do="pump")) == (0, "refused", "unknown")
    assert again.take(signed(KEY[::-1], boot=7, counter=9)) == (0, "refused", "mac")
    again.hold = reasons.OWNER
    assert again.take(signed(boot=7, counter=9)) == (0, "done", None)


@pytest.mark.parametrize("data", [b"", b"1234567", b"\0" * 8, b"\xff" * 8])
def test_a_counter_that_is_spoilt_lets_nothing_through(data):
    assert Board({commands.HEARD: data}).take(signed(boot=7, counter=2**31 - 1)) == (0, "refused", "replayed")


def test_a_counter_that_can_not_be_stored_is_not_acted_on():
    board = Board()
    board.store.fails = lambda count, call, name: call == "write"
    with pytest.raises(OSError):
        board.take(signed(boot=7, counter=3))


@pytest.mark.parametrize("board", ["rp2040_wifi", "esp32"])
def test_a_rig_is_held_from_afar_and_once(room, broker, board):
    """In MicroPython, over a real broker. The same command again and again does nothing more."""
    with Listener(broker.port) as listener:
        listener.asks = lambda report: signed(boot=report["boot"], counter=1) if report["seq"] > 20 else None
        session = room.with_radio(board, 2, broker.port, air=QUICK, command_key=KEY)
    results = [(answer["result"], answer.get("why")) for answer in listener.answers_to_asks]
    assert results[0] == ("done", None) and set(results[1:]) == {("refused", "replayed")}
    rows = [recorded.decode(row)[0] for row in session.records]
    # Before that, the owner's own presses hold it for a while.
    held = [row["seq"] for row in rows if row["hold"] == reasons.OWNER and row["seq"] > 20]
    # As a long press does; who forgets it is forgiven after a day.
    assert 21 < held[0] < 26 and held == list(range(held[0], held[0] + len(held))) and len(held) > 35
    assert [row["button"] for row in rows if row["seq"] > 20 and row["button"]] == [2]
    assert pulses(session) != pulses(room.plain(board, 2))


def test_without_a_key_nothing_is_heard(room, broker):
    with Listener(broker.port) as listener:
        listener.asks = lambda report: signed(boot=report["boot"], counter=1)
        session = room.with_radio("rp2040_wifi", 2, broker.port, air=QUICK)
    assert not listener.answers_to_asks and listener.reports
    assert pulses(session) == pulses(room.plain("rp2040_wifi", 2))


def test_nothing_that_is_asked_from_afar_adds_water(room, broker):
    """W8: an acknowledgement a report, with a key that is right, and a thirsty rig drinks what it would have drunk."""
    count = [0]

    def asks(report):
        count[0] += 1
        return signed(boot=report["boot"], counter=count[0], do="acknowledge")

    with Listener(broker.port) as listener:
        listener.asks = asks
        session = room.with_radio("rp2040_wifi", 2, broker.port, air=QUICK, command_key=KEY)
    assert len([one for one in listener.answers_to_asks if one["result"] == "done"]) > 20
    plain = room.plain("rp2040_wifi", 2)
    for index, table in enumerate(session.checked["channels"]):
        one, other = (each.world.channels[index] for each in (plain, session))
        # Who was looked at waits for no proof of earlier water: a pulse may come sooner, within the two days.
        assert other.given_ml <= one.given_ml + 1.2 * table["pulse_ml"]
        assert other.pot.moisture_pm <= 1000
    assert session.world.tray.water_ml < 1.0
