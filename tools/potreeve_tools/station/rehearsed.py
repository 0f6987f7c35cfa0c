"""A finished rehearsal reports to a live station: what its firmware wrote to the log goes through a real broker, at a
pace one can watch.

The path: the simulated rig's records, written by the real firmware in MicroPython, are put into messages here on the
host
(rigside.py, by messages.md), published with MQTT to the broker, and leave the queue on the station's word. The board's
own
radio is not part of this path.
"""

import random
import time

from potreeve.logic import dosing, record

from potreeve_tools.station import logpiece, messages, rigside
from potreeve_tools.terminal import exits

RIG = "rehearsal"
CONNECT_S = 20
ACK_S = 20
# Real seconds: after so long without another rehearsal the station says that the rig is silent.
PROMISE_S = 3600
BEAT_S = 0.25
DAY_S = 86400


def about(session, rig, boot, version):
    """The body of the rig's `about`: simulated, and it says so."""
    settings = session.checked
    return {
        "v": 1,
        "rig": rig,
        "boot": boot,
        "name": settings["name"],
        "firmware": version,
        "board": session.board["name"] if "name" in session.board else "simulated",
        "interval_s": settings["wake_s"],
        "rehearsed": True,
        "pots": [
            {
                "pot": channel["name"],
                "plant": channel["plant"],
                "refill_pm": dosing.refill_point_pm(channel),
                "stress_pm": dosing.stress_point_pm(channel),
            }
            for channel in settings["channels"]
        ],
    }


def play(session, to, days_per_s, version, rig=RIG, move=lambda done: None):
    """Report a finished Session; returns (records, seconds). days_per_s: simulated days a second, 0 as fast as it goes.

    Raises Stop when broker or station are not there.
    """
    boot = random.randrange(1, 1 << 31)
    log = rigside.RigLog(boot)
    names = [channel["name"] for channel in session.checked["channels"]]
    line = rigside.Line(
        to,
        to.user or rig,
        {rig: log},
        will=(messages.topic(rig, "lost"), messages.dump({"v": 1, "rig": rig, "boot": boot})),
    )
    began = time.monotonic()
    try:
        if not line.up.wait(CONNECT_S):
            raise exits.Stop(
                exits.NO_ANSWER,
                [
                    f"{to.host}:{to.port}: no broker takes the rehearsal in; start one: potreeve station --broker "
                    f"builtin"
                ],
            )
        line.send(rig, "about", messages.dump(about(session, rig, boot, version)), retain=True)
        told = 0
        while told < len(session.records):
            until = len(session.records)
            if days_per_s:
                reached_s = session.record_s[0] + (time.monotonic() - began) * days_per_s * DAY_S
                until = next((n for n in range(told, until) if session.record_s[n] > reached_s), until)
            else:
                until = min(until, told + 240)
            for one in session.records[told:until]:
                log.append(one)
            if until > told:
                told = until
                move(session.record_s[told - 1] / DAY_S)
                _tell(line, rig, log, boot, session.records[told - 1], names)
            if days_per_s:
                time.sleep(BEAT_S)
            elif not _committed(log, ACK_S):
                break
        if not _committed(log, ACK_S):
            raise exits.Stop(
                exits.NO_ANSWER,
                [
                    f"{to.host}:{to.port}: the broker took the records, but no station says that they are stored",
                    "is the station running, and is it connected to this broker?",
                ],
            )
    finally:
        line.close()
    return len(session.records), time.monotonic() - began


def _tell(line, rig, log, boot, newest, names):
    log.begin()
    while (piece := log.next_piece()) is not None:
        line.send(rig, "log", logpiece.pack(piece))
    if record.decode(newest):
        line.send(rig, "report", messages.dump(rigside.report(rig, boot, newest, PROMISE_S, names)), retain=True)


def _committed(log, most_s):
    until = time.monotonic() + most_s
    while log.waiting() and time.monotonic() < until:
        time.sleep(0.05)
    return not log.waiting()
