"""Pulling a log: only what is new, whole, and in as many round trips as its bytes need."""

import made
import pytest
from potreeve.logic import record, segments
from potreeve_tools.link import logs_pull, logs_read, logs_store
from potreeve_tools.terminal import exits


@pytest.fixture
def life(tmp_path):
    return made.Life(tmp_path / "board", utc_s=1795600000)


def pull(folder, **options):
    board = made.FolderBoard(folder, **options)
    return logs_pull.pull(board.run, "b1", None), board


def same(life, folder):
    for name in life.store.names():
        if name.startswith("log."):
            assert (folder / name).read_bytes() == life.store.read(name)


def test_nothing_there(tmp_path):
    (tmp_path / "board").mkdir()
    done, board = pull(tmp_path / "board")
    assert done == (None, 0, 0, 1, []) and board.trips == 1


def test_all_then_only_what_is_new(life):
    life.wake(200)
    done, board = pull(life.folder)
    same(life, done.folder)
    assert done.bytes == sum(life.store.size(name) for name in life.store.names() if name.startswith("log."))
    assert done.trips == board.trips
    again, _ = pull(life.folder)
    assert (again.bytes, again.trips, again.folder) == (0, 1, done.folder)
    life.wake(3)
    more, _ = pull(life.folder)
    assert (more.bytes, more.trips) == (3 * record.RECORD_BYTES, 2)
    same(life, more.folder)
    rows, gaps = logs_read.read(logs_store.memories("b1"))
    assert len(rows) == 203 and gaps == []


def test_thirty_days_take_as_many_trips_as_their_bytes(life):
    """At the default interval, 48 wakes a day: round trips follow bytes, at most one per BATCH_BYTES and one."""
    life.wake(30 * 48)
    done, board = pull(life.folder)
    assert done.bytes > 30 * 48 * record.RECORD_BYTES
    assert board.trips == 1 + -(-done.bytes // logs_pull.BATCH_BYTES)
    assert board.trips < 30 * 48 // 50
    print(f"30 days: {done.bytes} bytes in {board.trips} round trips")


def test_goes_on_where_it_stopped(life):
    life.wake(400)
    calls = []

    def break_off(text):
        calls.append(text)
        if len(calls) == 3:
            raise ConnectionError
        return text

    with pytest.raises(ConnectionError):
        pull(life.folder, spoil=break_off)
    have = sum(logs_store.local(logs_store.memories("b1")[-1]).values())
    assert have == logs_pull.BATCH_BYTES
    done, _ = pull(life.folder)
    same(life, done.folder)
    total = sum(life.store.size(name) for name in life.store.names() if name.startswith("log."))
    assert done.bytes == total - have


def test_a_damaged_transfer_is_asked_for_again(life):
    life.wake(50)
    seen = []

    def once(text):
        seen.append(1)
        return text.replace("A", "B", 1) if len(seen) == 2 else text

    done, board = pull(life.folder, spoil=once)
    same(life, done.folder)
    assert board.trips == 3 == done.trips


def test_a_line_that_never_works_says_so_and_keeps_nothing_wrong(life):
    life.wake(50)
    seen = []

    def always(text):
        seen.append(1)
        return text if len(seen) == 1 else text[:-9]

    with pytest.raises(exits.Stop) as stop:
        pull(life.folder, spoil=always)
    assert stop.value.code == exits.NOT_VERIFIED
    assert "pull again" in stop.value.lines[0]
    done, _ = pull(life.folder)
    same(life, done.folder)


def test_a_board_that_lost_its_memory_overwrites_nothing(life, tmp_path):
    life.wake(150)
    first, _ = pull(life.folder)
    other = made.Life(tmp_path / "again").wake(20)
    second, _ = pull(other.folder)
    assert second.folder != first.folder
    same(life, first.folder)
    same(other, second.folder)
    rows, gaps = logs_read.read(logs_store.memories("b1"))
    assert [row.memory for row in rows] == [1] * 150 + [2] * 20 and gaps == []


def test_segments_dropped_before_the_pull_are_a_gap(life):
    life.wake(130)
    pull(life.folder)
    life.wake(300)
    for number in (2, 3):
        life.store.remove(segments.name(number))
    done, _ = pull(life.folder)
    rows, gaps = logs_read.read([done.folder])
    assert any("missing before no. 1" in gap.what for gap in gaps)
    assert len(rows) == 430 - sum(gap.missing or 0 for gap in gaps)


def test_a_local_file_that_was_tampered_with_is_fetched_anew(life):
    life.wake(60)
    done, _ = pull(life.folder)
    path = done.folder / segments.name(1)
    data = bytearray(path.read_bytes())
    data[-5] ^= 1
    path.write_bytes(data)
    again, _ = pull(life.folder)
    same(life, again.folder)


def test_a_damaged_record_on_the_board_is_a_gap_and_no_more(life):
    life.wake(60)
    path = life.folder / segments.name(1)
    data = bytearray(path.read_bytes())
    data[segments.HEAD_BYTES + 10 * record.RECORD_BYTES + 5] ^= 1
    path.write_bytes(data)
    done, _ = pull(life.folder)
    rows, gaps = logs_read.read([done.folder])
    assert len(rows) == 59
    assert [gap.missing for gap in gaps] == [1, 1]
    assert "wrong checksum (no. 11)" in gaps[1].what
