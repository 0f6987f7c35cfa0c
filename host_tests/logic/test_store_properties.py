"""Ledger slots, segments and records against torn, spoilt and wrapped bytes."""

import kit
from hypothesis import given, settings
from hypothesis import strategies as st
from potreeve.logic import ledger, record, recorded, segments
from profiles import PROFILE

NUMBER = st.one_of(st.integers(0, 2**32 - 1), st.sampled_from([0, 1, 2**31 - 1, 2**31, 2**32 - 1]))


def slot(number, seq):
    return ledger.encode(number, kit.make_state(1, seq=seq))


SPOILT = st.one_of(
    st.none(),
    st.integers(0, ledger.SLOT_BYTES - 1).map(lambda length: slot(5, 9)[:length]),
    st.tuples(st.integers(0, ledger.SLOT_BYTES - 1), st.integers(1, 255)).map(
        lambda turn: bytes(byte ^ turn[1] if at == turn[0] else byte for at, byte in enumerate(slot(5, 9)))
    ),
    st.binary(max_size=40),
)


@settings(parent=PROFILE)
@given(NUMBER, SPOILT, st.booleans())
def test_a_spoilt_slot_never_counts(number, spoilt, first):
    slots = (spoilt, slot(number, 7)) if first else (slot(number, 7), spoilt)
    found, following, index = ledger.choose(*slots)
    assert found.rig.seq == 7
    assert following == (number + 1) % 2**32
    assert index == (0 if first else 1), "the spoilt slot is the one to write"


@settings(parent=PROFILE)
@given(SPOILT, SPOILT)
def test_two_spoilt_slots_are_a_lost_memory(a, b):
    assert ledger.choose(a, b) == (None, 1, 0)


@settings(parent=PROFILE)
@given(NUMBER, st.integers(1, 40), st.data())
def test_writes_torn_anywhere_never_lose_what_was_safe(number, writes, data):
    """Any run of saves, some torn: the newest whole one is always found, and never an older one."""
    slots = [slot(number, 0), None]
    safe = 0
    for seq in range(1, writes + 1):
        found, following, index = ledger.choose(*slots)
        assert found.rig.seq == safe
        whole = slot(following, seq)
        length = data.draw(st.one_of(st.just(len(whole)), st.integers(0, len(whole) - 1)))
        slots[index] = whole[:length]
        if length == len(whole):
            safe = seq
    assert ledger.choose(*slots)[0].rig.seq == safe


HEADS = st.tuples(
    *[
        {
            "B": st.integers(0, 255),
            "H": st.integers(0, 65535),
            "h": st.integers(-32768, 32767),
            "I": st.integers(0, 2**32 - 1),
        }[code]
        for code in record.HEAD_CODES[2:]
    ]
)
POTS = st.tuples(
    *[
        {"B": st.integers(0, 255), "H": st.integers(0, 65535), "h": st.integers(-32768, 32767)}[code]
        for code in record.POT_CODES
    ]
)


@settings(parent=PROFILE)
@given(HEADS, st.lists(POTS, min_size=1, max_size=4))
def test_records_come_back_as_they_went(head, pots):
    head = (len(pots), *head[1:])
    line = record.encode(head, pots)
    assert len(line) == record.RECORD_BYTES
    told, told_pots = recorded.decode(line)
    names = record.HEAD_NAMES[2:]
    expected = dict(zip(names, head))
    if expected["lx"] == 2**32 - 1:
        expected["lx"] = record.NO_LX
    assert {name: told[name] for name in names} == expected
    assert [tuple(pot[name] for name in record.POT_NAMES) for pot in told_pots] == pots


@settings(parent=PROFILE)
@given(HEADS, POTS, st.integers(0, record.RECORD_BYTES - 1), st.integers(1, 255))
def test_a_record_with_one_byte_changed_is_none(head, pot, at, turn):
    line = bytearray(record.encode((1, *head[1:]), [pot]))
    line[at] ^= turn
    assert recorded.decode(bytes(line)) is None


@settings(parent=PROFILE)
@given(st.binary(max_size=2 * record.RECORD_BYTES))
def test_any_bytes_are_a_record_or_none(data):
    assert recorded.decode(data) is None
    assert segments.decode_head(data * 9) is None
    assert ledger.decode(data) is None
