"""The station against a real broker, killed at any moment; and the broker, too. Nothing lost, nothing doubled."""

import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from potreeve_tools.station import broker, hostclock, logpiece, messages, rigside, store
from potreeve_tools.station.ingest import Ingest
from station_kit import line, report, until

HERE = Path(__file__).parent


def to(mosquitto):
    return broker.Address("127.0.0.1", mosquitto.port)


def session(line_, logs, most_s=0.4):
    """What a board does in one connection: send from the mark on, then wait for the station's word, a while."""
    if not line_.up.wait(0.5):
        return
    for rig, log in logs.items():
        log.begin()
        while (piece := log.next_piece()) is not None:
            line_.send(rig, "log", logpiece.pack(piece))
    until(lambda: not any(log.waiting() for log in logs.values()), most_s)


def start_station(mosquitto, path):
    return subprocess.Popen([sys.executable, str(HERE / "station_process.py"), str(mosquitto.port), str(path)])


def test_station_and_broker_killed_at_any_moment(mosquitto, tmp_path):
    """Takes the guarantee apart: were a message acknowledged before its commit, or the queue emptied on the broker's
    word, rows would be missing."""
    rng = random.Random(4)
    path = tmp_path / "station.db"
    rigs, most, kills = 10, 200, 0
    logs = {f"rig-{n}": rigside.RigLog(100 + n) for n in range(rigs)}
    made = {rig: [line(seq + 1, battery_mv=3000 + n) for seq in range(most)] for n, rig in enumerate(logs)}
    station = start_station(mosquitto, path)
    told = rigside.Line(to(mosquitto), "rigs", logs)
    end = time.monotonic() + 60
    while time.monotonic() < end:
        for rig, log in logs.items():
            for one in made[rig][len(log) : len(log) + rng.randint(0, 12)]:
                log.append(one)
        session(told, logs, rng.uniform(0.01, 0.3))
        if all(len(log) == most and not log.waiting() for log in logs.values()):
            break
        if kills < 14 and rng.random() < 0.6:
            kills += 1
            if kills % 3 == 0:
                mosquitto.kill()
                mosquitto.start()
            else:
                station.send_signal(signal.SIGKILL)
                station.wait()
                station = start_station(mosquitto, path)
    told.close()
    station.kill()
    station.wait()
    kept = store.open_store(path)
    assert kills >= 6, "the test must kill to show anything"
    for rig, log in logs.items():
        found = [bytes(row[0]) for row in kept.rows("SELECT body FROM records WHERE rig = ? ORDER BY place", (rig,))]
        assert not log.waiting() and found == made[rig], (rig, len(found), log.waiting())
    assert kept.rows("SELECT * FROM gaps") == [] and kept.rows("SELECT * FROM others") == []
    kept.close()


@pytest.fixture
def listening(mosquitto, tmp_path):
    made = Ingest(to(mosquitto), lambda: store.open_store(tmp_path / "station.db"))
    made.start()
    yield made
    made.stop()


def test_disk_full_acknowledges_nothing_and_loses_nothing(mosquitto, tmp_path):
    broken = [True]

    def make_store():
        if broken[0]:
            raise store.CantStore("database or disk is full")
        return store.open_store(tmp_path / "station.db")

    listening = Ingest(to(mosquitto), make_store)
    listening.start()
    log = rigside.RigLog(5)
    for n in range(60):
        log.append(line(n + 1))
    told = rigside.Line(to(mosquitto), "rig", {"sill": log})
    try:
        session(told, {"sill": log})
        assert until(lambda: listening.trouble) and "full" in listening.trouble and log.mark == 0
        broken[0] = False
        assert until(lambda: not log.waiting()) and not listening.trouble
        assert listening.counts["records"] == 60
    finally:
        told.close()
        listening.stop()


def test_a_really_full_disk(mosquitto, tmp_path):
    """SQLite itself says that it is full: max_page_count stands for the disk's end."""
    small = [20]

    def make_store():
        made = store.open_store(tmp_path / "station.db")
        made.do(f"PRAGMA max_page_count = {small[0]}").fetchall()
        return made

    store.open_store(tmp_path / "station.db").close()
    listening = Ingest(to(mosquitto), make_store)
    listening.start()
    log = rigside.RigLog(5)
    lines = [line(n + 1) for n in range(2000)]
    for one in lines:
        log.append(one)
    told = rigside.Line(to(mosquitto), "rig", {"sill": log})
    try:
        session(told, {"sill": log}, 1.0)
        assert until(lambda: "full" in listening.trouble), listening.trouble
        kept = store.open_store(tmp_path / "station.db")
        place, seq = kept.rows("SELECT place, seq FROM chains")[0] if kept.rows("SELECT place FROM chains") else (0, -1)
        assert log.told_seq <= max(seq, 0) or log.told_seq == -1
        small[0] = 100000
        assert until(lambda: not log.waiting(), 40)
        assert [bytes(row[0]) for row in kept.rows("SELECT body FROM records ORDER BY place")] == lines
        kept.close()
    finally:
        told.close()
        listening.stop()


def test_an_acknowledgement_of_before_a_reconnect_is_dropped(mosquitto, tmp_path, listening):
    """By now its number may name another message, which would be lost."""
    assert until(lambda: listening.connected)
    given = []
    listening._client.ack = lambda mid, qos: given.append(mid)
    stale = (listening._epoch - 1, 7, 1, "potreeve/sill/report", messages.dump(report()), False, hostclock.wall_s())
    fresh = (listening._epoch, 8, 1, "potreeve/sill/report", messages.dump(report()), False, hostclock.wall_s())
    listening._queue.put(stale)
    listening._queue.put(fresh)
    assert until(lambda: given) and until(lambda: listening._queue.empty())
    assert given == [8]


def test_unfit_messages_are_acknowledged_and_do_not_return(mosquitto, tmp_path, listening):
    told = rigside.Line(to(mosquitto), "rig", {})
    assert told.up.wait(60) and until(lambda: listening.connected)
    told.send("sill", "report", b"{")
    told.send("sill", "log", b"PL")
    told.send("sill", "report", messages.dump(report()))
    assert until(lambda: listening.counts["messages"] >= 3)
    assert listening.counts["unfit"] == 2
    told.close()
    kept = store.open_store(tmp_path / "station.db")
    assert kept.rows("SELECT rig, kind FROM aside ORDER BY kind") == [("sill", "log"), ("sill", "report")]
    assert kept.rows("SELECT rig FROM rigs") == [("sill",)]
    kept.close()


def test_the_word_is_retained_for_a_board_that_left(mosquitto, tmp_path, listening):
    log = rigside.RigLog(5)
    for n in range(10):
        log.append(line(n + 1))
    told = rigside.Line(to(mosquitto), "rig", {"sill": log})
    session(told, {"sill": log}, 5)
    told.close()
    again = rigside.RigLog(5)
    for n in range(10):
        again.append(line(n + 1))
    back = rigside.Line(to(mosquitto), "rig", {"sill": again})
    assert until(lambda: again.told_seq == 10) and not again.waiting()
    back.close()
