"""Ledger and log of a rig that gets extras, keeps them, and loses them again: nothing that was there is lost."""

import kit
import pytest
from potreeve import keep
from potreeve.logic import extra, ledger, reasons, record, recorded, segments
from potreeve_tools.link import logs_read, logs_store
from stores import MemoryStore

FLASH = {"blocks": 212, "block_bytes": 4096}


def _line(number, extras):
    head = (1, number, 0, 0, 0, 0, 6, 0, 3900, 2100, 450, 800, 0, 1800, 0, 0, 0, 900, 30, 0, 0)
    line = record.encode(head, [(30000, 40, record.NOT_RUN, 0, 800, 0, 0, 0, 0)])
    if not extras:
        return line
    seen, what = kit.make_readings([800], tray_wet=record.TRAY_DRY, tub_mark=3), extra.fresh()
    what.tub_days = 13
    return extra.in_record(line, seen, what)


def _state(extras):
    made = kit.make_state(1, seq=40)
    if extras:
        made.extra = extra.fresh()
        made.extra.tray_wet = record.TRAY_DRY
    return made


def test_an_old_ledger_is_read_on_a_board_with_extras_and_nothing_is_lost():
    store = MemoryStore()
    keep.Ledger(store).save(_state(False))
    kept = keep.Ledger(store)
    read = kept.load(1, True)
    assert not kept.damaged and read.rig.seq == 40 and read.rig.memory == 0
    assert read.extra == bytes(extra.BYTES)
    read.extra = extra.unpack(read.extra)
    read.extra.tray_wet = record.TRAY_WET
    assert kept.save(read)
    assert len(store.files[ledger.SLOTS[1]]) == len(store.files[ledger.SLOTS[0]]) + extra.BYTES
    assert extra.unpack(keep.Ledger(store).load(1, True).extra).tray_wet == record.TRAY_WET


def test_a_ledger_with_extras_is_read_on_a_board_without():
    store = MemoryStore()
    keep.Ledger(store).save(_state(True))
    kept = keep.Ledger(store)
    read = kept.load(1)
    assert not kept.damaged and read.rig.seq == 40 and read.rig.memory == 0 and read.extra is None


def test_a_board_without_memory_starts_with_empty_extras():
    read = keep.Ledger(MemoryStore()).load(2, True)
    assert read.rig.memory == 2 and read.extra == bytes(extra.BYTES)


@pytest.mark.parametrize(("hold", "then"), [(reasons.WET_TRAY, 0), (reasons.WET_DENIED, 0), (reasons.OWNER, 50)])
def test_what_a_sensor_held_goes_on_once_it_is_taken_away(hold, then):
    store = MemoryStore()
    made = _state(True)
    made.rig.hold = hold
    keep.Ledger(store).save(made)
    assert keep.Ledger(store).load(1, True).rig.hold == hold
    assert keep.Ledger(store).load(1).rig.hold == then


def _life(store):
    """20 records without extras, 20 with, 20 without again, the board starting over in between."""
    seq = 0
    for extras in (False, True, False):
        log = keep.Log(store, FLASH)
        for _ in range(20):
            assert log.append(_line(seq, extras), _state(extras))
            seq += 1


def test_a_segment_never_mixes_heads_and_the_queue_sends_all(tmp_path):
    store = MemoryStore()
    _life(store)
    names = [segments.name(number) for number in segments.numbers(store.files)]
    assert [segments.begins(store.files[name]) for name in names] == [
        segments.HEAD_BYTES,
        segments.EXTRA_HEAD_BYTES,
        segments.HEAD_BYTES,
    ]
    log, heard = keep.Log(store, FLASH), []
    while lines := log.unsent():
        heard += [lines[at : at + record.RECORD_BYTES] for at in range(0, len(lines), record.RECORD_BYTES)]
        assert log.acknowledge(len(lines) // record.RECORD_BYTES, len(lines))
    assert [recorded.decode(line)[0]["seq"] for line in heard] == list(range(60))
    # A mark in the midst of the longer ones is one, for a board that starts over, too.
    log.move((2, segments.EXTRA_HEAD_BYTES + 5 * record.RECORD_BYTES))
    assert recorded.decode(keep.Log(store, FLASH).unsent()[: record.RECORD_BYTES])[0]["seq"] == 25


def test_both_kinds_are_read_on_the_desktop_even_with_a_damaged_head(tmp_path):
    store = MemoryStore()
    _life(store)
    folder = tmp_path / "001"
    folder.mkdir()
    for number in segments.numbers(store.files):
        data = bytearray(store.files[segments.name(number)])
        if number == 2:
            data[2] ^= 1
        logs_store.replace(folder, number, bytes(data))
    rows, gaps = logs_read.read([folder])
    assert [row.head["seq"] for row in rows] == list(range(60))
    assert [gap.what for gap in gaps] == ["its head is damaged; its records are read all the same"]
    assert [(row.head["tray_wet"], row.head["tub_mark"], row.head["tub_days"]) for row in rows[19:21]] == [
        (0, 0, 255),
        (1, 3, 12),
    ]
