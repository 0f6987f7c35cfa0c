"""Several stations as a user starts them, `--share house` and `--worker NAME`, behind one mosquitto and before one
PostgreSQL."""

import contextlib
import json
import os
import signal
import subprocess
import sys
import urllib.request

import pytest
from mosquitto import free_port
from potreeve.logic import reasons, state
from potreeve_tools.station import broker, logpiece, rigside, store
from station_kit import TABLES, line, until

RIGS = 12
HELD = ((640, state.HELD, reasons.NO_RISE),)


class House:
    """Processes of `potreeve station` that share their listening and their store; each has a data folder of its own,
    as on machines of their own."""

    def __init__(self, mosquitto, url, folder):
        self.base = ["--broker", f"127.0.0.1:{mosquitto.port}", "--store", url, "--share", "house"]
        self.folder, self.page = folder, free_port()
        self.running = {}

    def start(self, name, *more):
        env = {**os.environ, "POTREEVE_DATA_DIR": str(self.folder / name)}
        words = [sys.executable, "-m", "potreeve_tools", "station", *self.base, *more]
        self.running[name] = subprocess.Popen(words, env=env, stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL)

    def worker(self, name):
        self.start(name, "--worker", name)

    def watcher(self):
        self.start("first", "--listen", f"127.0.0.1:{self.page}")

    def shown(self):
        """The first station's page, "" while there is none."""
        with contextlib.suppress(OSError):
            with urllib.request.urlopen(f"http://127.0.0.1:{self.page}/", timeout=5) as answer:
                return answer.read().decode()
        return ""

    def end(self, name, how=signal.SIGTERM):
        process = self.running.pop(name)
        process.send_signal(how)
        return process.wait(30)


@pytest.fixture
def house(server, mosquitto, tmp_path):
    made = House(mosquitto, server, tmp_path)
    yield made
    for name in list(made.running):
        made.end(name, signal.SIGKILL)
    kept = store.open_store(server)
    for table in TABLES:
        kept.do(f"TRUNCATE {table}")
    kept.close()


def tell(told, logs, lines):
    for rig, log in logs.items():
        for one in lines:
            log.append(one)
        log.begin()
        while (piece := log.next_piece()) is not None:
            told.send(rig, "log", logpiece.pack(piece))


def all_stored(told, logs, most_s=60):
    """Boards ask again from their mark on, as they do at each connection, until the station's word covers all."""

    def done():
        if until(lambda: not any(log.waiting() for log in logs.values()), 5):
            return True
        tell(told, logs, [])
        return False

    return until(done, most_s)


def test_workers_store_and_the_first_station_shows_and_warns(house, server, mosquitto):
    logs = {f"rig-{n}": rigside.RigLog(n + 1) for n in range(RIGS)}
    told = rigside.Line(broker.Address("127.0.0.1", mosquitto.port), "rigs", logs)
    assert told.up.wait(60)
    kept = store.open_store(server)
    try:
        # Workers alone: nobody shows, everything is stored.
        house.worker("two")
        house.worker("three")
        tell(told, logs, [line(seq + 1) for seq in range(40)])
        assert all_stored(told, logs)
        house.watcher()
        assert until(lambda: "rig-0" in house.shown(), 60)
        # One is killed while rigs talk; the others take its share.
        tell(told, logs, [line(seq + 1) for seq in range(40, 80)])
        house.end("two", signal.SIGKILL)
        assert all_stored(told, logs)
        # Whoever of them stored it: the one that watches sees it, and says so on its page and to scripts.
        tell(told, logs, [line(81, pots=HELD)])
        assert all_stored(told, logs)
        assert until(lambda: held(house) == set(logs), 40), held(house)
        assert kept.rows("SELECT COUNT(*), COUNT(DISTINCT rig) FROM records") == [(81 * RIGS, RIGS)]
        assert kept.rows("SELECT * FROM gaps") == [] and kept.rows("SELECT * FROM others") == []
        assert house.end("three") == 0 and house.end("first") == 0
    finally:
        told.close()
        kept.close()


def held(house):
    """Rigs that the first station calls held, in what it tells scripts."""
    with contextlib.suppress(OSError, ValueError):
        told = json.loads((house.folder / "first" / "station" / "alarms.json").read_text())
        return {one["rig"] for one in told["alarms"] if one["kind"] == "held"}
    return set()
