"""Made-up rigs for the station's tests."""

import contextlib
import time

from potreeve.logic import record, segments
from potreeve_tools.station import logpiece

BOOT = 17
TABLES = ("rigs", "records", "chains", "spans", "gaps", "others", "aside", "alarms", "outbox", "notes")


def about(pot="mint"):
    """What a rig says of itself."""
    pots = [{"pot": pot, "plant": "mint"}]
    return {"v": 1, "rig": "sill", "boot": BOOT, "name": "room", "firmware": "0.1.0", "pots": pots}


def line(seq, up_s=None, utc_s=0, pots=((700, 0, 0),), **more):
    """A record's bytes. pots: (moisture_pm, rung, reason) each, or also (pulse_ms, the most it gives in 0.1 ml)."""
    head = {
        "channels": len(pots),
        "seq": seq,
        "up_s": seq * 1800 if up_s is None else up_s,
        "utc_s": utc_s,
        "elapsed_s": 1800,
        "awake_ms": 900,
        "cause": 0,
        "button": 0,
        "battery_mv": 4000,
        "temp_cdeg": 2200,
        "rh_pm": 450,
        "lx": 900,
        "usb": 0,
        "sleep_s": 1800,
        "hold": 0,
        "alarm": 0,
        "memory": 0,
        "soc_pm": 800,
        "days_left": 60,
        "tray_ml": 3,
        "errors": 0,
        **more,
    }
    names = record.HEAD_NAMES[2:]
    blocks = [(30000, 100, record.NOT_RUN, 0, pm, rung, reason, *(dose or (0, 0))) for pm, rung, reason, *dose in pots]
    return record.encode(tuple(head[name] for name in names), blocks)


def places(count, start=0):
    """Places of records number start, start + 1 ... of a log that was never trimmed."""
    return [
        logpiece.place(1 + n // segments.RECORDS, segments.HEAD_BYTES + n % segments.RECORDS * record.RECORD_BYTES)
        for n in range(start, start + count)
    ]


def pieces(lines, boot=BOOT, mark=0, start=0, due_s=0, size=8):
    """The log messages for records number start ... of a log, cut as a board cuts them."""
    made, at = [], 0
    where = places(len(lines), start)
    while at < len(lines):
        count = min(size, len(lines) - at, segments.RECORDS - (start + at) % segments.RECORDS)
        piece = logpiece.Piece(boot, mark, where[at], due_s, list(lines[at : at + count]))
        made.append(piece)
        mark = piece.end
        at += count
    return made


def report(rig="sill", boot=BOOT, seq=1, due_s=7200, proven_s=1800, pots=(("mint", 700, 0, 0),), **more):
    """The body of a report."""
    return {
        "v": 1,
        "rig": rig,
        "boot": boot,
        "seq": seq,
        "time_s": None,
        "proven_s": proven_s,
        "due_s": due_s,
        "battery_mv": 4000,
        "charge_pm": 800,
        "battery_left_d": 60,
        "temperature_cdeg": 2200,
        "humidity_pm": 450,
        "light_lx": 900,
        "tray_most_ml": 3,
        "rig_hold": 0,
        "alarm": 0,
        "errors": 0,
        "memory_lost": 0,
        "pots": [
            {"pot": n, "moisture_pm": pm, "rung": rung, "reason": why, "pulse_ms": 0} for n, pm, rung, why in pots
        ],
        **more,
    }


@contextlib.contextmanager
def running(plan, port=None):
    """A whole station in this process, with its page; yields it."""
    import threading

    from potreeve_tools.station import service

    with service.Station(plan) as station:
        thread = threading.Thread(target=station.serve, daemon=True)
        thread.start()
        try:
            until(lambda: station._server is not None and station._server.started or plan.listen is None)
            yield station
        finally:
            station.live.close()
            station.stop_serving()
            thread.join(10)
            assert not thread.is_alive(), "the page must end when it is told to"


def until(what, most_s=60.0):
    """True as soon as what() is."""
    end = time.monotonic() + most_s
    while time.monotonic() < end:
        if what():
            return True
        time.sleep(0.02)
    return False
