"""Exactly once: whatever arrives twice, late, out of order or half, the store holds every record once and says what is
missing."""

import json
import random

import pytest
from potreeve.logic import record, segments
from potreeve_tools.station import intake, logpiece, messages, store
from potreeve_tools.station.messages import Message
from station_kit import BOOT, line, pieces, places, report

NOW = 1_790_000_000


@pytest.fixture
def kept(tmp_path):
    made = store.open_store(tmp_path / "station.db")
    yield made
    made.close()


def send(kept, some, now=NOW, rig="sill"):
    return intake.take(kept, [(now, Message(rig, "log", piece), False) for piece in some])


def stored(kept, boot=BOOT):
    return [
        (place, bytes(body))
        for place, body in kept.rows("SELECT place, body FROM records WHERE boot = ? ORDER BY place", (boot,))
    ]


def test_a_log_arrives_and_is_acknowledged_to_its_end(kept):
    lines = [line(n + 1) for n in range(300)]
    some = pieces(lines)
    taken = send(kept, some)
    assert stored(kept) == list(zip(places(300), lines, strict=True))
    assert taken.acks == {("sill", BOOT): (some[-1].end, 300)} and taken.new == 300
    assert kept.rows("SELECT * FROM gaps") == []


def test_twice_is_once(kept):
    some = pieces([line(n + 1) for n in range(50)])
    send(kept, some)
    taken = send(kept, some + some[::-1])
    assert taken.new == 0 and taken.doubled == 100 and len(stored(kept)) == 50
    assert taken.acks["sill", BOOT] == (some[-1].end, 50)


@pytest.mark.parametrize("seed", range(16))
def test_lost_doubled_and_shuffled_until_all_is_there(kept, seed):
    """The station's word never goes beyond a hole, and a board that follows it loses nothing."""
    rng = random.Random(seed)
    lines = [line(n + 1) for n in range(rng.randint(1, 400))]
    where = places(len(lines))
    mark, rounds = 0, 0
    while True:
        first = next((n for n, place in enumerate(where) if place >= mark), len(lines))
        if first == len(lines):
            break
        some = [one for one in pieces(lines[first:], mark=mark, start=first) for _ in range(rng.choice((1, 1, 2)))]
        got = [one for one in some if rng.random() > 0.3 or rounds > 20]
        if rng.random() < 0.5:
            rng.shuffle(got)
        for one in got:
            place, seq = send(kept, [one]).acks["sill", BOOT]
            assert place >= mark
            mark = place
            there = {at for at, _ in stored(kept)}
            assert all(at in there for at in where if at < mark)
        rounds += 1
    assert stored(kept) == list(zip(where, lines, strict=True))
    assert kept.rows("SELECT * FROM gaps") == [] and kept.rows("SELECT * FROM spans") == []


def test_segments_dropped_unsent_are_a_gap_with_a_number(kept):
    lines = [line(n + 1) for n in range(480)]
    first = pieces(lines[:60])
    send(kept, first)
    later = pieces(lines[360:], mark=first[-1].end, start=360)
    taken = send(kept, later)
    assert taken.acks["sill", BOOT] == (later[-1].end, 480)
    assert kept.rows("SELECT from_seq, to_seq, missing FROM gaps") == [(60, 361, 300)]


def test_a_piece_the_broker_lost_is_no_gap(kept):
    lines = [line(n + 1) for n in range(24)]
    one, two, three = pieces(lines)
    assert send(kept, [one, three]).acks["sill", BOOT] == (one.end, 8)
    assert send(kept, [two]).acks["sill", BOOT] == (three.end, 24)
    assert kept.rows("SELECT * FROM gaps") == []


def test_a_gap_after_a_piece_that_waited_is_seen(kept):
    lines = [line(n + 1) for n in range(8)] + [line(n + 1) for n in range(20, 28)]
    one, two = pieces(lines)
    send(kept, [two])
    send(kept, [one])
    assert kept.rows("SELECT from_seq, to_seq, missing FROM gaps") == [(8, 21, 12)]


def test_a_rotten_record_stops_nothing(kept):
    lines = [line(n + 1) for n in range(16)]
    lines[5] = lines[5][:40] + bytes([lines[5][40] ^ 4]) + lines[5][41:]
    some = pieces(lines)
    taken = send(kept, some)
    assert taken.acks["sill", BOOT] == (some[-1].end, 16) and taken.new == 15
    assert kept.rows("SELECT from_seq, to_seq, missing FROM gaps") == [(5, 7, 1)]
    assert bytes(kept.rows("SELECT body FROM aside")[0][0]) == lines[5]


def test_a_memory_lost_starts_the_count_over_and_loses_nothing(kept):
    lines = [line(n + 1) for n in range(20)] + [line(n + 1, memory=2) for n in range(20)]
    some = pieces(lines)
    send(kept, some)
    assert [body for _, body in stored(kept)] == lines
    assert kept.rows("SELECT from_seq, to_seq, missing FROM gaps") == [(20, 1, 0)]


def test_a_board_set_back_keeps_both_histories(kept):
    lines = [line(n + 1) for n in range(16)]
    other = lines[:8] + [line(n + 1, battery_mv=3900) for n in range(8, 16)]
    send(kept, pieces(lines))
    for _ in range(2):
        taken = send(kept, pieces(other))
    assert taken.acks["sill", BOOT][1] == 16
    assert [body for _, body in stored(kept)] == lines
    assert [bytes(row[0]) for row in kept.rows("SELECT body FROM others ORDER BY place")] == other[8:]


def test_a_new_store_asks_for_all_there_is(kept):
    lines = [line(n + 1) for n in range(130)]
    late = pieces(lines[120:], mark=places(121)[120], start=120)
    assert send(kept, late).acks["sill", BOOT] == (0, -1)
    everything = pieces(lines)
    assert send(kept, everything).acks["sill", BOOT] == (everything[-1].end, 130)
    assert [body for _, body in stored(kept)] == lines and kept.rows("SELECT * FROM gaps") == []


def test_another_life_of_the_log_has_a_chain_of_its_own(kept):
    send(kept, pieces([line(n + 1) for n in range(10)]))
    taken = send(kept, pieces([line(n + 1, battery_mv=3800) for n in range(3)], boot=99))
    assert taken.acks["sill", 99][1] == 3
    assert len(stored(kept)) == 10 and len(stored(kept, 99)) == 3
    assert kept.rows("SELECT boot FROM rigs") == [(99,)]


def test_time_is_the_boards_or_reckoned_and_says_which(kept):
    told = Message("sill", "report", report(seq=4, proven_s=4 * 1800))
    intake.take(kept, [(NOW, told, False)])
    send(kept, pieces([line(3), line(4), line(5, utc_s=NOW + 1700), line(6, utc_s=77)]), NOW + 5000)
    assert kept.rows("SELECT at_s, sure FROM records ORDER BY place") == [
        (NOW - 1800, 0),
        (NOW, 0),
        (NOW + 1700, 1),
        (NOW + 3600, 0),
    ]


def test_nothing_of_a_batch_is_stored_when_it_fails(kept, monkeypatch):
    some = pieces([line(n + 1) for n in range(24)])
    real, calls = kept.many, []

    def fails(sql, rows):
        calls.append(1)
        if len(calls) == 3:
            raise store.CantStore("disk full")
        return real(sql, rows)

    monkeypatch.setattr(kept, "many", fails)
    with pytest.raises(store.CantStore):
        send(kept, some)
    assert stored(kept) == [] and kept.rows("SELECT * FROM chains") == []
    monkeypatch.undo()
    assert send(kept, some).new == 24


def test_a_report_the_broker_kept_is_no_sign_of_life(kept):
    told = Message("sill", "report", report())
    taken = intake.take(kept, [(NOW, told, True)])
    assert taken.heard == {} and kept.rows("SELECT heard_s, promise_heard_s FROM rigs") == [(0, 0)]
    taken = intake.take(kept, [(NOW, told, False)])
    assert taken.heard == {"sill": NOW} and kept.rows("SELECT heard_s, due_s FROM rigs") == [(NOW, 7200)]


def test_odd_messages_are_counted_and_do_not_fill_the_store(kept):
    for at in range(0, 2000, 50):
        odd = [("sill", "log", f"oddity {n}", b"x" * 5000) for n in range(at, at + 50)]
        intake.take(kept, [(NOW, one, False) for one in odd])
    count, total, largest = kept.rows("SELECT COUNT(*), SUM(count), MAX(LENGTH(body)) FROM aside")[0]
    assert total == 2000 and count <= intake.MOST_REASONS + 1 and largest == intake.KEPT_BYTES


def test_pieces_come_back_as_they_were_packed():
    for piece in pieces([line(n + 1) for n in range(130)], due_s=3600):
        assert logpiece.unpack(logpiece.pack(piece)) == piece
    none = logpiece.Piece(BOOT, 0, logpiece.place(4, segments.HEAD_BYTES), 60, [])
    assert logpiece.unpack(logpiece.pack(none)) == none and logpiece.HEAD_BYTES == 24
    assert len(logpiece.pack(pieces([line(1)])[0])) == 24 + record.RECORD_BYTES


def test_only_exact_topics_and_texts_pass():
    good = report()
    assert messages.read("potreeve/sill/report", messages.dump(good)) == Message("sill", "report", good)
    for where in (
        "potreeve/Sill/report",
        "potreeve/sill/report/x",
        "potreeve//report",
        "potreeve/sill/ack",
        "x/sill/report",
        "potreeve/sill/report\n",
        "potreeve/" + "a" * 33 + "/report",
    ):
        with pytest.raises(messages.Unfit):
            messages.read(where, messages.dump(good))
    for change in (
        {"rig": "other"},
        {"due_s": 0},
        {"due_s": True},
        {"due_s": 3.0},
        {"v": 2},
        {"boot": 2**31},
        {"pots": []},
    ):
        with pytest.raises(messages.Unfit):
            messages.read("potreeve/sill/report", json.dumps({**good, **change}).encode())
    for text in (
        b"",
        b"[]",
        b"{",
        b"null",
        b"\xff",
        b"[" * 9000,
        json.dumps(good).replace("60", "NaN", 1).encode(),
        json.dumps({**good, "rig": "sill\n"}).encode(),
        b'{"v":1,' + messages.dump(good)[1:],
    ):
        with pytest.raises(messages.Unfit):
            messages.read("potreeve/sill/report", text)
    for name in ("mint\x1b[31m", "mint\ud800", "mi\u202ent", "m" * 17):
        with pytest.raises(messages.Unfit):
            messages.read("potreeve/sill/report", json.dumps(report(pots=((name, 700, 0, 0),))).encode())


def test_members_of_later_versions_are_passed_over():
    body = {**report(), "sunshine": 4}
    assert messages.read("potreeve/sill/report", messages.dump(body)).body == body


def test_a_memory_that_began_anew_is_not_put_into_the_past(kept):
    intake.take(kept, [(NOW, Message("sill", "report", report(seq=500, proven_s=500 * 1800)), False)])
    lines = [line(500), line(1), line(2)]
    send(kept, pieces(lines[:1]), NOW)
    send(kept, pieces(lines[1:], mark=places(2)[1], start=1), NOW + 3600)
    assert [row[0] for row in kept.rows("SELECT at_s FROM records ORDER BY place")] == [NOW, NOW + 1800, NOW + 3600]
