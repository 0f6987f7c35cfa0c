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


def spoil(folder, number, place, bit=1):
    """Flip a bit in one record of a segment (in its head: place None)."""
    path = folder / segments.name(number)
    data = bytearray(path.read_bytes())
    data[9 if place is None else segments.HEAD_BYTES + place * record.RECORD_BYTES + 5] ^= bit
    path.write_bytes(data)


@pytest.mark.parametrize("place", [None, 0, 10, 29])
def test_bytes_gone_bad_on_the_board_never_replace_good_ones_here(life, place):
    """Thirty-five records were lost that way: the good copy was cut off where the bad one differed."""
    life.wake(30)
    first, _ = pull(life.folder)
    spoil(life.folder, 1, place)
    life.wake(5)
    second, _ = pull(life.folder)
    assert second.folder == first.folder
    rows, gaps = logs_read.read(logs_store.memories("b1"))
    assert [row.head["seq"] for row in rows] == list(range(rows[0].head["seq"], rows[0].head["seq"] + 35))
    assert gaps == []


def test_a_whole_segment_gone_bad_on_the_board_stays_as_it_was_here(life):
    life.wake(200)
    pull(life.folder)
    path = life.folder / segments.name(1)
    path.write_bytes(bytes(path.stat().st_size))
    pull(life.folder)
    rows, gaps = logs_read.read(logs_store.memories("b1"))
    assert len(rows) == 200 and gaps == []


def test_damage_on_both_sides_in_different_places_is_mended(life):
    life.wake(30)
    done, _ = pull(life.folder)
    spoil(life.folder, 1, 3)
    spoil(done.folder, 1, 20)
    spoil(done.folder, 1, None)
    pull(life.folder)
    rows, gaps = logs_read.read(logs_store.memories("b1"))
    assert len(rows) == 30 and gaps == []


def test_damage_on_both_sides_in_one_place_leaves_what_is_here(life):
    life.wake(30)
    done, _ = pull(life.folder)
    spoil(done.folder, 1, 3, 1)
    before = (done.folder / segments.name(1)).read_bytes()
    spoil(life.folder, 1, 3, 2)
    pull(life.folder)
    assert (done.folder / segments.name(1)).read_bytes() == before


def test_a_segment_longer_here_than_on_the_board_does_not_double_the_wakes(life):
    life.wake(150)
    pull(life.folder)
    path = life.folder / segments.name(2)
    path.write_bytes(path.read_bytes()[: segments.HEAD_BYTES + 10 * record.RECORD_BYTES])
    done, _ = pull(life.folder)
    assert done.bytes == 0
    rows, gaps = logs_read.read(logs_store.memories("b1"))
    assert len(rows) == 150 and gaps == []


def test_a_board_set_back_goes_on_in_a_memory_of_its_own_and_no_wake_is_told_twice(life):
    import copy
    import shutil

    life.wake(125)
    kept = life.folder.with_name("kept")
    shutil.copytree(life.folder, kept)
    earlier = copy.deepcopy((life.state, life.pms, life.utc_s))
    life.wake(20)
    first, _ = pull(life.folder)
    shutil.rmtree(life.folder)
    shutil.move(kept, life.folder)
    life.state, life.pms, life.utc_s = earlier
    life.pms = [pm - 90 for pm in life.pms]
    life.log.numbers = None
    life.wake(40)
    second, _ = pull(life.folder)
    assert second.folder != first.folder
    same(life, second.folder)
    rows, gaps = logs_read.read(logs_store.memories("b1"))
    assert [row.memory for row in rows] == [1] * 145 + [2] * 40
    assert len({(row.memory, row.head["seq"]) for row in rows}) == 185
    assert [gap.line() for gap in gaps] == ["memory 2: the board was set back to an earlier state of memory 1"]
    again, _ = pull(life.folder)
    assert (again.bytes, again.folder) == (0, second.folder)


def test_a_folder_named_like_a_log_is_no_log(life):
    life.wake(130)
    done, _ = pull(life.folder)
    (done.folder / segments.name(9)).mkdir()
    pull(life.folder)
    rows, gaps = logs_read.read(logs_store.memories("b1"))
    assert len(rows) == 130 and gaps == []


def test_a_segment_of_another_firmware_is_not_merged_with_one_of_this(life):
    """Nothing in it tells what it is, so it is kept as it is."""
    life.wake(20)
    done, _ = pull(life.folder)
    path = done.folder / segments.name(1)
    path.write_bytes(b"of a firmware with another head, " * 50)
    before = path.read_bytes()
    again, _ = pull(life.folder)
    assert path.read_bytes() == before and again.folder != done.folder
    same(life, again.folder)
