"""The firmware's own radio, in real MicroPython, and this station, over a real broker: all records of a rehearsal
arrive, once, byte for byte."""

import threading
import time

import pytest
from potreeve_tools.station import broker, sight, store
from potreeve_tools.station.ingest import Ingest
from real_rig import rehearsed
from station_kit import until

pytest.importorskip("potreeve.logic.outbox", reason="this firmware has no radio of its own yet")


def all_kept(folder, session):
    """The store, which holds all records but those written after the last connection: they wait for the next."""
    kept = store.open_store(folder / "s.db")
    found = [bytes(row[0]) for row in kept.rows("SELECT body FROM records ORDER BY boot, place")]
    counts = (len(found), len(session.records))
    assert found == session.records[: len(found)] and counts[1] - counts[0] <= 3, counts
    return kept


def test_the_firmware_tells_the_station_all_it_wrote(mosquitto, tmp_path):
    listening = Ingest(broker.Address("127.0.0.1", mosquitto.port), lambda: store.open_store(tmp_path / "s.db"))
    listening.start()
    try:
        assert until(lambda: listening.connected)
        session = rehearsed(mosquitto.port, 2)
        assert until(lambda: listening._queue.empty())
        time.sleep(0.5)
    finally:
        listening.stop()
    kept = all_kept(tmp_path, session)
    assert (
        listening.counts["unfit"] == 0
        and kept.rows("SELECT * FROM gaps") == []
        and kept.rows("SELECT * FROM others") == []
    )
    one = sight.one_rig(kept, "sill")
    assert one.report["pots"][0]["pot"] == "mint" and one.due_s >= 3600
    kept.close()


def test_days_without_a_station_are_made_good(mosquitto, tmp_path):
    """Nobody listens for a day; what the broker acknowledged meanwhile is sent again to a station that begins late."""
    listening = Ingest(broker.Address("127.0.0.1", mosquitto.port), lambda: store.open_store(tmp_path / "s.db"))
    begun = threading.Event()

    def on_day(day):
        if day == 1 and not begun.is_set():
            begun.set()
            listening.start()
            until(lambda: listening.connected)

    try:
        session = rehearsed(mosquitto.port, 3, on_day=on_day)
        time.sleep(0.5)
    finally:
        listening.stop()
    kept = all_kept(tmp_path, session)
    assert kept.rows("SELECT * FROM gaps") == []
    kept.close()
