"""A rig that lies, a hundred thousand times, through a real broker: the station must stay up, small and right."""

import subprocess
import sys
import tempfile
import time
from pathlib import Path

from potreeve.logic import recorded

from potreeve_tools.bench import fleet
from potreeve_tools.station import broker, fuzzing, logpiece, messages, rigside, store

# After the first tenth, caches are full.
GROWTH_KB = 16 * 1024
ABOUT = {"v": 1, "rig": "liar", "boot": 17, "name": "liar", "firmware": "0", "pots": [{"pot": "mint", "plant": "mint"}]}
WINDOW = 2000


def run(count, seed, on_part=lambda text: None):
    """Figures as a dict."""
    with tempfile.TemporaryDirectory() as folder, fleet.mosquitto(Path(folder)) as port:
        where = f"{folder}/lies.db"
        station = subprocess.Popen([sys.executable, "-m", "potreeve_tools.bench.fleet", str(port), where])
        line = rigside.Line(broker.Address("127.0.0.1", port), "liar", {})
        try:
            fleet.wait(line.up.is_set, "the connection")
            fleet.wait(lambda: fleet.listens(line), "the station")
            began = time.monotonic()
            early = _send(line, count, seed, station.pid, on_part)
            alive = _answers(line)
            took = time.monotonic() - began
            late = _size_kb(station.pid)
        finally:
            line.close()
            station.terminate()
            station.wait()
        kept = store.open_store(where)
        try:
            unfit = sum(recorded.decode(bytes(body)) is None for (body,) in kept.rows("SELECT body FROM records"))
            for kind in ("report", "about"):
                for (text,) in kept.rows(f"SELECT {kind} FROM rigs WHERE {kind} <> ''"):
                    unfit += messages.dump(messages.load(kind, text.encode())) is None
            aside = kept.rows("SELECT COALESCE(SUM(count), 0) FROM aside")[0][0]
            stored = kept.rows("SELECT COUNT(*) FROM records")[0][0]
        finally:
            kept.close()
        return {
            "payloads": count,
            "seconds": round(took, 1),
            "refused": aside,
            "records_stored": stored,
            "stored_unfit": unfit,
            "alive": alive,
            "memory_kb_early": early,
            "memory_kb_late": late,
            "grown_kb": late - early,
            "store_kb": Path(where).stat().st_size // 1024 if Path(where).exists() else 0,
        }


def _send(line, count, seed, pid, on_part):
    piece = logpiece.Piece(17, 0, rigside.place_of(0), 0, [fleet.a_record(0, n + 1) for n in range(8)])
    report = rigside.report("liar", 17, fleet.a_record(0, 1), 600, ["mint"])
    good = fuzzing.truth("liar", piece, report, ABOUT)
    early = 0
    waiting = []
    for number, (kind, payload) in enumerate(fuzzing.stream(seed, count, good)):
        waiting.append(line.send("liar", kind, payload))
        if len(waiting) >= WINDOW:
            fleet.wait(lambda: all(one.is_published() for one in waiting), "the broker")
            _answers(line)
            waiting.clear()
            on_part(f"{number + 1:,} of {count:,} sent")
        if number == count // 10:
            _answers(line)
            early = _size_kb(pid)
    return early


def _answers(line):
    """True when an honest rig is answered."""
    line.asked.mark = 0
    until = time.monotonic() + 120
    while time.monotonic() < until:
        if fleet.listens(line):
            return True
    return False


def _size_kb(pid):
    """Resident memory of a process."""
    done = subprocess.run(["ps", "-o", "rss=", "-p", str(pid)], capture_output=True, text=True, check=False)
    return int(done.stdout.strip() or 0)
