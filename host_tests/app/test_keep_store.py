"""Ledger slots and log segments of keep.py on a store that fails where it likes."""

import kit
import pytest
from potreeve import keep
from potreeve.logic import ledger, record, recorded, segments
from stores import MemoryStore

FLASH = {"blocks": 212, "block_bytes": 4096}
LINE_BYTES = record.RECORD_BYTES


def line(number):
    head = (1, number, 0, 0, 0, 0, 6, 0, 3900, 2100, 450, 800, 0, 1800, 0, 0, 0, 900, 30, 0, 0)
    return record.encode(head, [(30000, 40, record.NOT_RUN, 0, 800, 0, 0, 0, 0)])


def stored_numbers(store):
    """seq of every whole record that a reader of the segments would find."""
    found = []
    for number in segments.numbers(store.files):
        data = store.files[segments.name(number)]
        if segments.decode_head(data) is None:
            continue
        for at in range(segments.HEAD_BYTES, len(data) - LINE_BYTES + 1, LINE_BYTES):
            told = recorded.decode(data[at : at + LINE_BYTES])
            if told:
                found.append(told[0]["seq"])
    return found


# The ledger


def test_the_ledger_writes_its_slots_in_turn():
    store = MemoryStore()
    kept = keep.Ledger(store)
    state = kept.load(1)
    assert state.rig.memory == 2
    for step in range(6):
        state.rig.seq = step
        assert kept.save(state)
        # The witness afterwards: it must never know of more than there is.
        assert store.events[-2:] == [("write", ledger.SLOTS[step % 2]), ("write", ledger.WITNESS)]
        assert keep.Ledger(store).load(1).rig.seq == step


@pytest.mark.parametrize(
    "spoil",
    [
        lambda data: data[:-1],
        lambda data: data[:10],
        lambda data: b"",
        lambda data: data[:40] + bytes([data[40] ^ 1]) + data[41:],
    ],
)
@pytest.mark.parametrize("newest", [0, 1])
def test_a_spoiled_newest_slot_leaves_the_one_before(spoil, newest):
    store = MemoryStore()
    kept = keep.Ledger(store)
    state = kept.load(2)
    for step in range(2 + newest):
        state.rig.seq = step
        kept.save(state)
    last = ledger.SLOTS[(1 + newest) % 2]
    store.files[last] = spoil(store.files[last])
    again = keep.Ledger(store)
    assert again.load(2).rig.seq == newest
    again.save(state)
    assert store.events[-2] == ("write", last), "the spoiled slot is the one to write"


def test_slots_that_come_back_as_they_once_were_count_as_lost():
    """One damaged block brings back the folder of both; the witness has a folder to itself."""
    store = MemoryStore()
    kept = keep.Ledger(store)
    state = kept.load(2)
    state.rig.memory = 0
    for step in range(3):
        state.rig.seq = step
        kept.save(state)
    old = dict(store.files)
    kept.save(state)
    witness = store.files[ledger.WITNESS]
    store.files.update(old)
    assert keep.Ledger(store).load(2).rig.memory == 0
    store.files[ledger.WITNESS] = witness
    again = keep.Ledger(store)
    assert again.load(2).rig.memory == keep.LOST and again.damaged
    # Once, not for ever.
    again.save(state)
    assert keep.Ledger(store).load(2).rig.memory == 0


@pytest.mark.parametrize("witness", [None, b"", b"123"])
def test_a_witness_that_says_nothing_changes_nothing(witness):
    store = MemoryStore()
    kept = keep.Ledger(store)
    state = kept.load(2)
    state.rig.memory = 0
    kept.save(state)
    store.files[ledger.WITNESS] = witness
    if witness is None:
        del store.files[ledger.WITNESS]
    assert keep.Ledger(store).load(2).rig.memory == 0


def test_a_torn_save_keeps_what_was_safe_and_is_tried_again_in_the_same_slot():
    store = MemoryStore()
    kept = keep.Ledger(store)
    state = kept.load(2)
    for step in range(3):
        state.rig.seq = step
        kept.save(state)
    store.torn = True
    store.fails = lambda count, call, name: call == "write"
    state.rig.seq = 99
    assert not kept.save(state)
    assert keep.Ledger(store).load(2).rig.seq == 2
    store.fails = lambda count, call, name: False
    assert kept.save(state)
    assert keep.Ledger(store).load(2).rig.seq == 99


def test_a_ledger_that_can_not_be_read_is_a_lost_memory():
    store = MemoryStore()
    keep.Ledger(store).save(kit.make_state(2))
    store.fails = lambda count, call, name: call == "read"
    assert keep.Ledger(store).load(2).rig.memory == 2


def test_the_number_wraps():
    store = MemoryStore()
    kept = keep.Ledger(store)
    kept.load(1)
    kept.number = 0xFFFFFFFE
    state = kit.make_state(1)
    for step in range(5):
        state.rig.seq = step
        assert kept.save(state)
        assert keep.Ledger(store).load(1).rig.seq == step


# The log


def fill(log, count, start=0):
    state = kit.make_state(1)
    return [log.append(line(start + number), state) for number in range(count)]


def test_records_go_on_in_the_same_segment_after_a_start():
    store = MemoryStore()
    fill(keep.Log(store, FLASH), 5)
    fill(keep.Log(store, FLASH), 5, 5)
    assert segments.numbers(store.files) == [1]
    assert stored_numbers(store) == list(range(10))


def test_a_full_segment_begins_the_next():
    store = MemoryStore()
    fill(keep.Log(store, FLASH), segments.RECORDS + 1)
    assert segments.numbers(store.files) == [1, 2]
    assert len(store.files[segments.name(1)]) == segments.FULL_BYTES
    assert stored_numbers(store) == list(range(segments.RECORDS + 1))


def test_each_segment_carries_the_state_before_its_first_record():
    store = MemoryStore()
    log = keep.Log(store, FLASH)
    state = kit.make_state(1)
    for number in range(segments.RECORDS + 1):
        state.rig.seq = number
        log.append(line(number), state)
    for number, seq in ((1, 0), (2, segments.RECORDS)):
        told, head = segments.decode_head(store.files[segments.name(number)])
        assert (told, head.rig.seq) == (number, seq)


def test_the_oldest_segments_go_when_there_are_too_many():
    store = MemoryStore()
    log = keep.Log(store, {"blocks": 16, "block_bytes": 4096})
    assert log.most == segments.FEWEST
    fill(log, 4 * segments.RECORDS)
    assert segments.numbers(store.files) == [3, 4]
    assert stored_numbers(store) == list(range(2 * segments.RECORDS, 4 * segments.RECORDS))


def test_a_segment_with_a_torn_tail_is_left_and_the_next_begun():
    store = MemoryStore()
    fill(keep.Log(store, FLASH), 3)
    store.files[segments.name(1)] += b"half a record"
    fill(keep.Log(store, FLASH), 2, 3)
    assert segments.numbers(store.files) == [1, 2]
    assert stored_numbers(store) == [0, 1, 2, 3, 4]


def test_a_torn_append_in_a_running_session_costs_no_later_record():
    """The rig goes on without a restart; what follows must not lie out of step in the file."""
    store = MemoryStore()
    store.torn = True
    log = keep.Log(store, FLASH)
    fill(log, 3)
    store.fails = lambda count, call, name: call in ("append", "replace")
    assert fill(log, 1, 3) == [False]
    store.fails = lambda count, call, name: False
    assert fill(log, 3, 4) == [True] * 3
    assert stored_numbers(store) == [0, 1, 2, 4, 5, 6]


def test_a_full_flash_costs_the_oldest_segment_not_the_newest_record():
    store = MemoryStore()
    log = keep.Log(store, FLASH)
    fill(log, 2 * segments.RECORDS + 10)
    room = sum(len(data) for data in store.files.values())

    def full(count, call, name):
        return call in ("append", "replace") and sum(len(data) for data in store.files.values()) + LINE_BYTES > room

    store.fails = full
    assert all(fill(log, 20, 2 * segments.RECORDS + 10))
    assert segments.numbers(store.files) == [2, 3]
    assert stored_numbers(store)[-1] == 2 * segments.RECORDS + 29


def test_a_full_flash_with_one_segment_refuses_and_keeps_what_there_is():
    store = MemoryStore()
    log = keep.Log(store, FLASH)
    fill(log, 3)
    store.fails = lambda count, call, name: call in ("append", "replace")
    assert fill(log, 2, 3) == [False, False]
    assert stored_numbers(store) == [0, 1, 2]


def test_a_write_that_fails_for_another_reason_is_tried_again_and_costs_no_segment():
    store = MemoryStore()
    log = keep.Log(store, FLASH)
    fill(log, segments.RECORDS + 5)
    store.errno = 5
    tries = []
    store.fails = lambda count, call, name: call == "append" and not tries.append(call) and len(tries) == 1
    assert fill(log, 1, segments.RECORDS + 5) == [True]
    assert stored_numbers(store) == list(range(segments.RECORDS + 6))


@pytest.mark.parametrize("call", ["names", "size"])
def test_a_log_that_can_not_be_listed_still_lets_the_rig_run(call):
    store = MemoryStore()
    fill(keep.Log(store, FLASH), 3)
    store.fails = lambda count, called, name: called == call
    log = keep.Log(store, FLASH)
    store.fails = lambda count, called, name: False
    assert fill(log, 1, 3) == [True]


def test_a_log_that_could_not_be_listed_destroys_no_record():
    store = MemoryStore()
    fill(keep.Log(store, FLASH), 3)
    store.fails = lambda count, call, name: call == "names"
    log = keep.Log(store, FLASH)
    store.fails = lambda count, call, name: False
    fill(log, 2, 3)
    assert stored_numbers(store) == [0, 1, 2, 3, 4]


def test_a_segment_that_can_not_be_removed_does_not_hang_the_wake():
    store = MemoryStore()
    log = keep.Log(store, {"blocks": 16, "block_bytes": 4096})
    store.fails = lambda count, call, name: call == "remove"
    assert all(fill(log, 4 * segments.RECORDS))
    assert segments.numbers(store.files) == [1, 2, 3, 4]


# The installed files


class Code:
    def __init__(self, manifest, crcs):
        self.manifest = lambda: manifest
        self.crc = crcs.get


@pytest.mark.parametrize(
    ("manifest", "crcs", "whole"),
    [
        (None, {}, True),
        ({}, {}, True),
        ({"a": 1, "b": 2}, {"a": 1, "b": 2}, True),
        ({"a": 1, "b": 2}, {"a": 1, "b": 3}, False),
        ({"a": 1, "b": 2}, {"a": 1}, False),
        ([], {}, False),
        ("a", {}, False),
    ],
)
def test_code_whole(manifest, crcs, whole):
    assert keep.code_whole(Code(manifest, crcs)) == whole
