"""The log as a queue: what no broker has acknowledged is sent, oldest first, whatever was cut, torn, dropped or
answered."""

import kit
import pytest
from fake_rig import FakeRig, thirsty, wake
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule
from potreeve import keep
from potreeve.logic import errors, record, recorded, segments
from potreeve.logic.state import fresh
from profiles import PROFILE
from stores import MemoryStore
from test_keep_store import line

FLASH = {"blocks": 16, "block_bytes": 4096}  # two segments at most
ONE = record.RECORD_BYTES
PIECE = segments.PIECE_BYTES // ONE


def seqs(data):
    return [recorded.decode(data[at : at + ONE])[0]["seq"] for at in range(0, len(data), ONE)]


def filled(store, count, first=0):
    log = keep.Log(store, FLASH)
    for seq in range(first, first + count):
        assert log.append(line(seq), fresh(1))
    return log


def drain(log):
    """All that waits, acknowledged piece by piece."""
    found = []
    for _ in range(4 * segments.RECORDS):
        lines = log.unsent()
        if not lines:
            return found
        found += seqs(lines)
        assert log.acknowledge(len(lines) // ONE, len(lines))
    raise AssertionError("it never ends")


@pytest.mark.parametrize("count", [0, 1, PIECE - 1, PIECE, PIECE + 1, segments.RECORDS, segments.RECORDS + 1])
def test_everything_is_sent_once_and_in_order(count):
    log = filled(MemoryStore(), count)
    assert drain(log) == list(range(count))
    assert log.unsent() == b""


def test_the_mark_outlives_a_restart():
    store = MemoryStore()
    log = filled(store, 20)
    assert log.acknowledge(5, len(log.unsent())) is False
    assert drain(keep.Log(store, FLASH)) == list(range(5, 20))
    assert drain(keep.Log(store, FLASH)) == []
    log = filled(store, 3, 20)
    assert drain(log) == [20, 21, 22]


@pytest.mark.parametrize(
    "mark",
    [
        b"",
        b"1234567",
        b"123456789",
        segments.encode_mark((1, 3)),
        segments.encode_mark((1, 10**6)),
        segments.encode_mark((7, segments.HEAD_BYTES)),
        b"\xff" * 8,
    ],
)
def test_a_spoilt_mark_costs_nothing_but_a_second_sending(mark):
    store = MemoryStore()
    filled(store, 10)
    store.files[segments.MARK] = mark
    assert drain(keep.Log(store, FLASH)) == list(range(10))


def test_a_mark_that_can_not_be_read_is_written_anew():
    store = MemoryStore()
    filled(store, 10)
    store.fails = lambda count, call, name: call == "read" and name == segments.MARK
    assert drain(keep.Log(store, FLASH)) == list(range(10))
    store.fails = lambda count, call, name: False
    assert drain(keep.Log(store, FLASH)) == []


def test_a_segment_that_lies_otherwise_is_passed_over():
    """As a firmware with a larger state would have left it."""
    store = MemoryStore()
    filled(store, 5)
    store.files[segments.name(1)] = b"x" * 40 + store.files[segments.name(1)]
    log = filled(store, 3, 5)
    assert segments.numbers(store.files) == [1, 2]
    assert drain(log) == [5, 6, 7]


def test_what_made_room_unsent_is_passed_over():
    store = MemoryStore()
    log = filled(store, 3 * segments.RECORDS)
    assert segments.numbers(store.files) == [2, 3]
    assert drain(log) == list(range(segments.RECORDS, 3 * segments.RECORDS))


def test_a_torn_end_is_left_out_and_what_follows_is_not():
    store = MemoryStore()
    filled(store, 3)
    store.files[segments.name(1)] += line(3)[:50]
    log = keep.Log(store, FLASH)
    assert drain(log) == [0, 1, 2]
    filled(store, 2, 4)
    assert drain(keep.Log(store, FLASH)) == [4, 5]


@pytest.mark.parametrize("claim", [0, -1, -(10**9), PIECE + 1, 10**9])
def test_a_claim_that_makes_no_sense_moves_nothing(claim):
    store = MemoryStore()
    log = filled(store, 20)
    assert log.acknowledge(claim, len(log.unsent())) is False
    assert segments.MARK not in store.files
    assert drain(log) == list(range(20))


def test_without_a_radio_no_file_is_read_or_written_for_it():
    rig = FakeRig(2, kit.make_data(2))
    rig.radio.reach = lambda: False
    rig.keep_state(kit.make_state(2))
    wake(rig)
    assert not [event for event in rig.events if event[0] in ("read_part", "report") or event[1:] == (segments.MARK,)]


def test_a_wake_sends_only_so_much_of_a_long_queue():
    rig = FakeRig(1, kit.make_data(1))
    rig.keep_state(kit.make_state(1))
    for number in range(1, 4):
        rig.store.files[segments.name(number)] = segments.encode_head(number, fresh(1)) + b"".join(
            line(n) for n in range(segments.RECORDS)
        )
    wake(rig)
    told = [event[1] for event in rig.events if event[0] == "report"]
    assert len(told) == segments.PIECES and all(len(lines) == segments.PIECE_BYTES for lines in told)


@pytest.mark.parametrize("answer", [None, "all", b"8", 2.5, [1], 10**12, -(10**12)])
def test_whatever_a_broker_says_the_next_wake_is_as_it_would_have_been(answer):
    """W8: the same pulses, the same sleep, the same ledger as with a broker who says nothing of the kind."""

    def lived(says):
        rig = thirsty()
        rig.radio.report = lambda lines: says
        session, slept_s = wake(rig)
        for _ in range(3):
            session.sleep(slept_s)
            slept_s = session.wake()
        return rig.pulses(), slept_s, kit.as_dict(session.state)

    plain, mad = lived(0), lived(answer)
    for state in (plain[2], mad[2]):
        # Whether there was something to complain of is all that may differ.
        state["rig"].pop("late", None)
    assert plain[0] and plain == mad


def test_a_store_that_fails_while_sending_is_told_of():
    for call in ("read_part", "write"):
        rig = FakeRig(1, kit.make_data(1))
        rig.keep_state(kit.make_state(1))
        session, seconds = wake(rig)
        rig.store.fails = lambda count, called, name, call=call: (
            called == call and name in (segments.MARK, segments.name(1))
        )
        session.sleep(seconds)
        session.wake()
        assert session.errors & errors.RADIO


class Queue(RuleBasedStateMachine):
    """Any order of records, answers, restarts and cuts: nothing is skipped unless it made room, nothing comes late."""

    def __init__(self):
        super().__init__()
        self.store = MemoryStore()
        self.log = keep.Log(self.store, FLASH)
        self.written = 0
        self.heard = set()

    @rule(count=st.sampled_from((1, 3, PIECE, 50, segments.RECORDS)))
    def write(self, count):
        for _ in range(count):
            assert self.log.append(line(self.written), fresh(1))
            self.written += 1

    @rule(answer=st.sampled_from((0, 1, PIECE - 1, PIECE, 10**6, -1)), keeps=st.booleans())
    def send(self, answer, keeps):
        """A broker may forget to say what it took; it never claims in earnest what it did not take."""
        lines = self.log.unsent()
        if not lines:
            assert self.everything_heard()
            return
        given = seqs(lines)
        assert given == list(range(given[0], given[0] + len(given)))
        missing = [seq for seq in range(given[0]) if seq not in self.heard]
        assert all(seq < self.oldest() for seq in missing), "passed over"
        took = given[:answer] if 0 <= answer <= len(given) else given if keeps else []
        self.heard.update(took)
        self.log.acknowledge(answer, len(lines))

    @rule()
    def restart(self):
        self.log = keep.Log(self.store, FLASH)

    @rule(size=st.integers(1, ONE - 1))
    def cut_in_a_record(self, size):
        found = segments.numbers(self.store.files)
        if found and segments.goes_on(len(self.store.files[segments.name(found[-1])])):
            self.store.files[segments.name(found[-1])] += line(0)[:size]
        self.restart()

    @rule()
    def lose_the_mark(self):
        self.store.files.pop(segments.MARK, None)
        self.restart()

    def oldest(self):
        """seq of the oldest record on flash."""
        for number in segments.numbers(self.store.files):
            data = self.store.files[segments.name(number)][segments.HEAD_BYTES :]
            if len(data) >= ONE:
                return seqs(data[:ONE])[0]
        return self.written

    def everything_heard(self):
        return all(seq in self.heard for seq in range(self.oldest(), self.written))

    @invariant()
    def the_mark_lies_behind_what_was_heard(self):
        number, at = segments.decode_mark(self.store.files.get(segments.MARK))
        for one in segments.numbers(self.store.files):
            data = self.store.files[segments.name(one)]
            end = at if one == number else len(data) if one < number else 0
            for start in range(segments.HEAD_BYTES, min(end, len(data)) - ONE + 1, ONE):
                assert recorded.decode(data[start : start + ONE])[0]["seq"] in self.heard


TestQueue = Queue.TestCase
TestQueue.settings = settings(parent=PROFILE, stateful_step_count=40)
