"""Simulated rigs, a real mosquitto, the station's own ingest in a process of its own: how many records a second, and
what is lost.

Rigs share connections (a thousand threads would measure Python, not the station), but each has its own log, mark and
promise,
and empties its queue on the station's word alone. Lag is from publishing a piece to its record being committed, as the
station's word tells. Lost and doubled are counted in the store at the end, not believed from counters.
"""

import contextlib
import os
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from potreeve.logic import record

from potreeve_tools.station import access, broker, ingest, lines, logpiece, messages, rigside, store

CONNECTIONS = 50
RECORDS = 40
LIMIT_S = 600
DUE_S = 7200
BOOT = 99
# Pieces on their way at a time, over all rigs: a real fleet does not send all it has in one second, either.
WINDOW = 2000


def run(rigs, records=RECORDS, piece=8, where=None, push="", doubled=True, on_part=lambda text: None):
    """Measure; returns a dict of figures. where: a store (path or postgresql://), None for SQLite in a folder of its
    own.

    push: address of a time-series database that all is sent to afterwards; doubled: every tenth piece is sent twice.
    """
    with tempfile.TemporaryDirectory() as folder, mosquitto(Path(folder)) as port:
        where = where or f"{folder}/fleet.db"
        on_part(f"{rigs} rigs, {records} records each ...")
        station = subprocess.Popen([sys.executable, "-m", "potreeve_tools.bench.fleet", str(port), where])
        try:
            figures = _drive(port, where, rigs, records, piece, doubled)
        finally:
            station.terminate()
            _, status, usage = os.wait4(station.pid, 0)
            # Or it would be looked for once more.
            station.returncode = os.waitstatus_to_exitcode(status)
        figures.update(
            station_cpu_s=round(usage.ru_utime + usage.ru_stime, 2), station_mb=round(usage.ru_maxrss / 1024)
        )
        kept = store.open_store(where)
        try:
            figures.update(_count(kept, rigs, records))
            if push:
                on_part("line protocol ...")
                began = time.monotonic()
                told = lines.Pusher(None, push).step(kept)
                took = time.monotonic() - began
                figures.update(lines_per_s=round(told / took), values_per_s=round(figures["stored"] * _values() / took))
        finally:
            kept.close()
        figures["store_bytes_per_record"] = (
            round(os.path.getsize(where) / max(1, figures["stored"])) if "://" not in where else None
        )
        return figures


def _values():
    """Values that one record brings to a time-series database."""
    made = lines.of_record("r", ["a"] * 3, 0, a_record(0, 1))
    return sum(one.split(" ")[1].count("=") for one in made)


def _drive(port, where, rigs, records, piece, doubled):
    names = [f"rig-{n:05d}" for n in range(rigs)]
    logs = {name: rigside.RigLog(BOOT, DUE_S) for name in names}
    for number, log in enumerate(logs.values()):
        for seq in range(records):
            log.append(a_record(number, seq + 1))
    to = broker.Address("127.0.0.1", port)
    sent_at, lags = {name: {} for name in names}, []

    def on_ack(rig):
        mine = sent_at.get(rig, {})
        for mark in [one for one in list(mine) if one <= logs[rig].mark]:
            lags.append(time.monotonic() - mine.pop(mark))

    links = []
    for n in range(min(CONNECTIONS, rigs)):
        mine = {name: logs[name] for name in names[n::CONNECTIONS]}
        links.append(rigside.Line(to, f"fleet-{n}", mine, on_ack))
    wait(lambda: all(line.up.is_set() for line in links), "the connections")
    wait(lambda: listens(links[0]), "the station")
    began = time.monotonic()
    sent = twice = 0
    for log in logs.values():
        log.begin()
    left = dict(zip(names, [links[n % CONNECTIONS] for n in range(rigs)], strict=True))
    while left:
        for name in list(left):
            one = logs[name].next_piece(piece)
            if one is None:
                del left[name]
                continue
            wait(lambda: sent - len(lags) < WINDOW, "room")
            sent_at[name][one.end] = time.monotonic()
            payload = logpiece.pack(one)
            left[name].send(name, "log", payload)
            sent += 1
            if doubled and sent % 10 == 0:
                left[name].send(name, "log", payload)
                twice += 1
    wait(lambda: not any(log.waiting() for log in logs.values()), "the last word")
    took = time.monotonic() - began
    for line in links:
        line.close()
    lags.sort()
    return {
        "rigs": rigs,
        "records": rigs * records,
        "seconds": round(took, 2),
        "messages_per_s": round((sent + twice) / took),
        "records_per_s": round(rigs * records / took),
        "sent_twice": twice,
        "lag_median_ms": round(1000 * lags[len(lags) // 2]) if lags else None,
        "lag_99_ms": round(1000 * lags[int(len(lags) * 0.99)]) if lags else None,
    }


def listens(line):
    """True once the station has answered a report."""
    if not hasattr(line, "asked"):
        line.asked = rigside.RigLog(BOOT)
        line.asked.append(a_record(0, 1))
        line.rigs["fleet-asks"] = line.asked
        line.client.subscribe(messages.topic("fleet-asks", "ack"), 1)
    line.asked.begin()
    piece = line.asked.next_piece()
    if piece is None:
        # The answer to an earlier one came late.
        return True
    line.send("fleet-asks", "log", logpiece.pack(piece))
    time.sleep(0.3)
    return not line.asked.waiting()


def wait(there, what):
    until = time.monotonic() + LIMIT_S
    while not there():
        if time.monotonic() > until:
            raise TimeoutError(f"{what} did not come within {LIMIT_S} s")
        time.sleep(0.002)


def a_record(rig, seq):
    names = record.HEAD_NAMES[2:]
    head = dict.fromkeys(names, 0)
    head.update(channels=3, seq=seq, up_s=seq * 1800, utc_s=1_790_000_000 + seq * 1800, battery_mv=3700 + rig % 400)
    head.update(temp_cdeg=2150, rh_pm=480, lx=700, soc_pm=850, days_left=60, sleep_s=1800)
    pots = [
        (30_000 + (rig * 31 + seq * 7 + n) % 900, 90, record.NOT_RUN, 0, 700 - seq % 90, 0, 0, 0, 0) for n in range(3)
    ]
    return record.encode(tuple(head[name] for name in names), pots)


def _count(kept, rigs, records):
    """What is really in the store: every record by its bytes."""
    stored = lost = wrong = 0
    for number in range(rigs):
        rows = kept.rows("SELECT place, body FROM records WHERE rig = ? ORDER BY place", (f"rig-{number:05d}",))
        stored += len(rows)
        there = {place: bytes(body) for place, body in rows}
        for seq in range(records):
            body = there.pop(rigside.place_of(seq), None)
            lost += body is None
            wrong += body is not None and body != a_record(number, seq + 1)
        wrong += len(there)
    return {
        "stored": stored,
        "lost": lost,
        "doubled_or_wrong": wrong,
        "gaps": kept.rows("SELECT COUNT(*) FROM gaps")[0][0],
    }


@contextlib.contextmanager
def mosquitto(folder):
    """A mosquitto of our own; yields its port."""
    with socket.socket() as sock:
        sock.bind(("127.0.0.1", 0))
        port = sock.getsockname()[1]
    own = "user root\n" if hasattr(os, "geteuid") and os.geteuid() == 0 else ""
    path = folder / "broker.conf"
    path.write_text(f"listener {port} 127.0.0.1\nallow_anonymous true\nmax_queued_messages 0\npersistence false\n{own}")
    child = subprocess.Popen(
        [access.program("mosquitto"), "-c", str(path)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        until = time.monotonic() + 10
        while time.monotonic() < until:
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 0.5):
                break
            time.sleep(0.05)
        yield port
    finally:
        child.terminate()
        child.wait()


def on_paper(figures, interval_s=900):
    """What the measured figures mean for a fleet: rigs one station takes at a report each interval_s, and with all at
    once after a day away."""
    rate = figures["records_per_s"]
    cpu = figures["station_cpu_s"] / max(1, figures["records"])
    return {
        "rigs_at_rest": rate * interval_s,
        "day_of_backlog_s": round(figures["rigs"] * 86400 / interval_s / max(1, rate)),
        "cpu_us_per_record": round(1e6 * cpu),
        "cpu_s_per_rig_year": round(cpu * 365 * 86400 / interval_s, 1),
    }


if __name__ == "__main__":
    listening = ingest.Ingest(broker.Address("127.0.0.1", int(sys.argv[1])), lambda: store.open_store(sys.argv[2]))
    listening.start()
    while True:
        time.sleep(1)
