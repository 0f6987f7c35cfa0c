"""What the link costs: bytes, seconds and round trips of each kind of work, on a virtual board of its own.

A virtual board answers faster than USB does and its flash takes no time: of
these figures bytes and round trips carry over to a real board, seconds do not.
"""

import contextlib
import os
import tempfile
import time
from dataclasses import asdict
from pathlib import Path

from potreeve import keep
from potreeve.logic.state import fresh

from potreeve_tools.boards import boardfile as boards
from potreeve_tools.link import logs_pull, settings_push, status_facts
from potreeve_tools.link.flash import work
from potreeve_tools.link.port import open_board
from potreeve_tools.owner import commission
from potreeve_tools.rehearsal import rehearse
from potreeve_tools.standins.stores import MemoryStore
from potreeve_tools.virtual import imagefile
from potreeve_tools.virtual.board import VirtualBoard
from potreeve_tools.world.rigfile import load_rig

SCHEMA = "potreeve-link/1"
LOG_DAYS = 30
SEED = 1


def run(board="rp2040_wifi", log_days=LOG_DAYS, on_part=lambda name: None):
    """Measure; returns a dict with `rows`, one per kind of work. board: name or file.

    payload_bytes: what was to be moved; bytes_out, bytes_in: over the wire;
    round_trips; s: of the work; s_in_all: with connecting and looking at the board.
    """
    made = boards.load(board)
    rig = load_rig()
    settings = commission.make_settings(rig, made.device_dict(), SEED)
    rows = []

    def timed(virtual, name, act):
        on_part(name)
        rows.append(_row(name, virtual.port, act))

    with _own_data_folder() as folder:
        image = Path(folder) / "board.img"
        with _board(board, image) as virtual:
            timed(virtual, "first flash", lambda link: _flash(link, board))
            timed(virtual, "unchanged flash", lambda link: _flash(link, None))
            timed(virtual, "settings push", lambda link: _push(link, settings))
        on_part(f"a rehearsal of {log_days} days, for its log")
        with imagefile.Image(image, made.flash) as opened:
            for name, data in log_files(rig, made, settings, log_days).items():
                opened.write(f"data/{name}", data)
        with _board(board, image) as virtual:
            timed(virtual, f"log pull, {log_days} days", _pull)
            timed(virtual, "log pull, nothing new", _pull)
    return {"schema": SCHEMA, "board": made.name, "rows": rows}


def _board(board, image):
    return VirtualBoard(str(board), image=image, awake=0, asleep=float("inf"))


@contextlib.contextmanager
def _own_data_folder():
    """A data folder that goes away again: what a bench pulls and pushes is nobody's rig."""
    before = os.environ.get("POTREEVE_DATA_DIR")
    with tempfile.TemporaryDirectory(prefix="potreeve-bench-") as folder:
        os.environ["POTREEVE_DATA_DIR"] = folder
        try:
            yield folder
        finally:
            del os.environ["POTREEVE_DATA_DIR"]
            if before is not None:
                os.environ["POTREEVE_DATA_DIR"] = before


def _row(name, port, act):
    """One piece of work on a connection of its own."""
    began = time.monotonic()
    with open_board(port, leave="stay") as link:
        before, start = asdict(link.traffic), time.monotonic()
        payload = act(link)
        seconds, after = time.monotonic() - start, asdict(link.traffic)
    moved = {key: after[key] - before[key] for key in ("bytes_out", "bytes_in", "round_trips")}
    return {
        "work": name,
        "payload_bytes": payload,
        **moved,
        "s": round(seconds, 2),
        "s_in_all": round(time.monotonic() - began, 2),
    }


def _flash(link, asked):
    """Bytes of files sent."""
    job = work.prepare(link, asked)
    if job.plan.steps:
        work.carry_out(link, job)
    return job.plan.send_bytes


def _push(link, settings):
    """Bytes of the settings file."""
    settings_push.push(link, status_facts.read(link), settings, "bench")
    return len(link.read_file("data/settings.json"))


def _pull(link):
    """Bytes of log fetched."""
    return logs_pull.pull(lambda code: link.output(code, "giving its log").decode(), link.info["id"]).bytes


def log_files(rig, board, settings, days):
    """{name: bytes} of the log a rehearsal leaves, cut into segments by the firmware's own code.

    The states in the segments' heads are those of a fresh board: they have the size, not the content, of real ones.
    """
    device = board.device_dict()
    session = rehearse.run(rehearse.make_session(rig, device, days, SEED, settings), "cpython")
    store = MemoryStore()
    log, state = keep.Log(store, device["flash"]), fresh(len(settings["channels"]))
    for line in session.records:
        log.append(line, state)
    return store.files
