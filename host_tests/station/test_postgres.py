"""The same promises, the same code, in a real PostgreSQL."""

import threading
import time

import pytest
import test_intake
from potreeve.logic import reasons, state
from potreeve_tools.station import alarms, book, broker, config, intake, logpiece, rigside, sight, store, watch
from potreeve_tools.station.ingest import Ingest
from potreeve_tools.station.messages import Message
from station_kit import TABLES, line, pieces, report, until


@pytest.fixture
def kept(server):
    made = store.open_store(server)
    yield made
    for table in TABLES:
        made.do(f"TRUNCATE {table}")
    made.close()


# What SQLite has to do, PostgreSQL has to do.
for name in dir(test_intake):
    if name.startswith("test_") and "kept" in getattr(test_intake, name).__code__.co_varnames[:1]:
        if not hasattr(getattr(test_intake, name), "pytestmark"):
            globals()["test_postgres_" + name[5:]] = getattr(test_intake, name)


@pytest.mark.parametrize("seed", [3, 5])
def test_lost_doubled_and_shuffled(kept, seed):
    test_intake.test_lost_doubled_and_shuffled_until_all_is_there(kept, seed)


def test_two_stations_at_once_never_take_their_word_back(server, kept):
    """Were the rig not locked, one could write an older place over what the other has just told."""
    lines = [line(n + 1) for n in range(400)]
    some = pieces(lines)
    words, faults = [], []

    def work(mine):
        own = store.open_store(server)
        try:
            for piece in mine:
                intake.take(own, [(1_790_000_000, Message("sill", "log", piece), False)])
                words.append(own.rows("SELECT place FROM chains")[0][0])
        except Exception as fault:
            faults.append(fault)
        own.close()

    threads = [threading.Thread(target=work, args=(some[n::3],)) for n in range(3)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert faults == [] and kept.rows("SELECT place, seq FROM chains") == [(some[-1].end, 400)]
    assert kept.rows("SELECT COUNT(*) FROM records") == [(400,)] and kept.rows("SELECT * FROM spans") == []


def test_workers_behind_a_shared_subscription(server, kept, mosquitto):
    to = broker.Address("127.0.0.1", mosquitto.port)
    workers = [Ingest(to, lambda: store.open_store(server), client_id=f"worker-{n}", share="station") for n in range(2)]
    for one in workers:
        one.start()
    assert until(lambda: all(one.connected for one in workers))
    time.sleep(0.3)
    logs = {f"rig-{n}": rigside.RigLog(n + 1) for n in range(20)}
    told = rigside.Line(to, "rigs", logs)
    assert told.up.wait(60)
    for rig, log in logs.items():
        for seq in range(60):
            log.append(line(seq + 1))
        log.begin()
        while (piece := log.next_piece()) is not None:
            told.send(rig, "log", logpiece.pack(piece))
    try:
        assert until(lambda: not any(log.waiting() for log in logs.values()), 40)
        assert kept.rows("SELECT COUNT(*) FROM records") == [(1200,)]
        assert all(one.counts["messages"] > 20 for one in workers), [one.counts for one in workers]
    finally:
        told.close()
        for one in workers:
            one.stop()


def test_a_station_watches_what_its_workers_store(server, kept):
    """Messages that went to another worker are alarms here all the same."""
    own = watch.Watch(kept, config.Config(None), None, shared=True)
    own.start()
    own.look()
    other = store.open_store(server)
    held = ((640, state.HELD, reasons.NO_RISE),)
    intake.take(other, [(int(time.time()), Message("sill", "log", pieces([line(1, pots=held)])[0]), False)])
    other.close()
    raised, _, _ = own.look()
    assert [one["kind"] for one in raised] == ["held"]


def test_two_workers_share_a_store(server, kept):
    """What a shared subscription deals out: pieces of one rig by turns to two stations."""
    other = store.open_store(server)
    lines = [line(n + 1) for n in range(200)]
    for n, piece in enumerate(pieces(lines)):
        taken = intake.take((kept, other)[n % 2], [(1_790_000_000, Message("sill", "log", piece), False)])
    assert taken.acks["sill", 17][1] == 200
    assert [bytes(row[0]) for row in other.rows("SELECT body FROM records ORDER BY place")] == lines
    assert kept.rows("SELECT * FROM spans") == [] and kept.rows("SELECT * FROM gaps") == []
    other.close()


def test_the_book_of_alarms(kept):
    intake.take(kept, [(1_790_000_000, Message("sill", "report", report()), False)])
    finding = alarms.Finding("sill", "", "silent", 2, "silent", "look")
    made = config.Config(None, routes=[config.Route("a", "json://x")])
    raised, _, _ = book.settle(kept, [finding], 1000, made)
    assert book.settle(kept, [finding], 1060, made) == ([], [], [])
    assert book.note_seen(kept, raised[0]["alarm"], 1070)
    assert len(book.settle(kept, [], 1100, made)[1]) == 1
    assert len(kept.rows("SELECT * FROM outbox")) == 2 and sight.all_rigs(kept)[0].report["rig"] == "sill"
