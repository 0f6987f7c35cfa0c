"""A ledger slot byte for byte: a board must read what an earlier firmware of the same version wrote."""

import struct
from binascii import crc32

import kit
import pytest
from potreeve.logic import ledger, state

HEAD = bytes.fromhex("5652020007000000")


def slot(head=HEAD):
    body = head + state.pack(kit.make_state(2))
    return body + struct.pack("<I", crc32(body))


def test_the_head_is_magic_version_and_number():
    data = ledger.encode(7, kit.make_state(2))
    assert data == slot()
    assert len(data) == ledger.SLOT_BYTES


def test_a_slot_made_by_hand_is_read():
    number, read = ledger.decode(slot())
    assert number == 7
    assert kit.as_dict(read) == kit.as_dict(kit.make_state(2))


@pytest.mark.parametrize(
    "head", [bytes.fromhex("5752010007000000"), bytes.fromhex("5652010007000000"), bytes.fromhex("5652000007000000")]
)
def test_another_magic_or_version_is_none_of_ours(head):
    assert ledger.decode(slot(head)) is None


@pytest.mark.parametrize("cut", [0, 1, 4, 8])
def test_a_slot_of_another_length_is_none(cut):
    assert ledger.decode(slot()[: len(slot()) - cut - 1]) is None
    assert ledger.decode(slot() + bytes(cut + 1)) is None


@pytest.mark.parametrize(
    ("a", "b", "newest", "number", "write"),
    [
        (1, 2, 2, 3, 0),
        (2, 1, 2, 3, 1),
        (0xFFFFFFFF, 0, 0, 1, 0),
        (0, 0xFFFFFFFF, 0, 1, 1),
        (5, 5, 5, 6, 0),
        (0x80000000, 1, 0x80000000, 0x80000001, 1),
        (1, 0x80000000, 0x80000000, 0x80000001, 0),
        (0x80000001, 1, 1, 2, 0),
        (0x80000002, 1, 1, 2, 0),
    ],
)
def test_the_newer_slot_counts_and_the_other_is_written(a, b, newest, number, write):
    slots = [ledger.encode(one, kit.make_state(1, up_s=one & 0xFFFF)) for one in (a, b)]
    found, next_number, place = ledger.choose(*slots)
    assert (found.rig.up_s, next_number, place) == (newest & 0xFFFF, number, write)


def test_with_one_slot_the_other_is_written_and_with_none_the_first():
    one = ledger.encode(0xFFFFFFFF, kit.make_state(1))
    assert ledger.choose(one, None)[1:] == (0, 1)
    assert ledger.choose(None, one)[1:] == (0, 0)
    assert ledger.choose(None, None) == (None, 1, 0)
