"""What is known of a rig, gathered from the store: the page shows it, the alarms judge it."""

import json
from dataclasses import dataclass, field
from typing import Any

from potreeve.logic import recorded

from potreeve_tools.station import intake, messages, tables

HOUR_S = 3600
# Records that are looked at for "below the stress point for so long".
RECENT = 40


@dataclass
class Sight:
    """One rig. Times are the wall's; head, pots: of the newest record, None before the first."""

    rig: str
    name: str
    names: list
    plants: list
    refill_pm: list
    stress_pm: list
    heard_s: int = 0
    report_s: int = 0
    first_s: int = 0
    lost_s: int = 0
    boot: int = 0
    due_s: int = 0
    promised_s: int = 0
    head: dict | None = None
    pots: list = field(default_factory=list)
    newest_s: int = 0
    sure: int = 0
    newest_heard_s: int = 0
    report: dict | None = None
    about: dict | None = None
    tub: dict | None = None
    recent: list = field(default_factory=list)
    committed_seq: int = -1
    committed_s: int = 0
    overdue_s: float | None = None
    missing: int = 0
    others: int = 0
    newer: str = ""
    rehearsed: bool = False

    @property
    def broke_off(self):
        """True where the last that was heard of it is the broker's word that its connection broke off."""
        return self.lost_s > 0

    def pot_names(self, count):
        """Names of `count` channels; those that were never told are numbered."""
        return [*self.names, *[f"channel {n + 1}" for n in range(len(self.names), count)]][:count]


def all_rigs(store, since_s=0):
    """Sights of all rigs, by name. since_s: gaps and oddities heard since then are counted."""
    return [_sight(store, row, since_s) for row in store.dicts("rigs", tables.RIG_COLUMNS, "ORDER BY rig")]


def mark_silent(sights, open_alarms):
    """Have sights know which rigs have broken their promise, by the book of alarms."""
    silent = {alarm["rig"] for alarm in open_alarms if alarm["kind"] == "silent"}
    for one in sights:
        one.overdue_s = 0.0 if one.rig in silent else None


def one_rig(store, rig, since_s=0):
    """The Sight of a rig, or None."""
    found = store.dicts("rigs", tables.RIG_COLUMNS, "WHERE rig = ?", (rig,))
    return _sight(store, found[0], since_s) if found else None


def _sight(store, row, since_s):
    report = json.loads(row["report"]) if row["report"] else None
    about = json.loads(row["about"]) if row["about"] else None
    told = (about or {}).get("pots") or []
    names = [pot["pot"] for pot in (told or (report or {}).get("pots") or [])]
    made = Sight(
        row["rig"],
        (about or {}).get("name") or row["rig"],
        names,
        [pot.get("plant", "") for pot in told],
        [pot.get("refill_pm") for pot in told],
        [pot.get("stress_pm") for pot in told],
        report=report,
        about=about,
        tub=json.loads(row["tub"]) if row["tub"] else None,
    )
    for name in ("heard_s", "first_s", "lost_s", "boot", "due_s", "newest_heard_s"):
        setattr(made, name, row[name])
    made.report_s, made.promised_s = row["anchor_s"], row["promise_heard_s"]
    made.rehearsed = row["rig"] == messages.REHEARSAL
    if row["newest"]:
        made.head, made.pots = recorded.decode(bytes(row["newest"]))
        made.recent = _recent(store, row)
        made.newest_s, made.sure = made.recent[0][:2] if made.recent else (row["newest_heard_s"], 0)
    chain = store.rows("SELECT seq, heard_s FROM chains WHERE rig = ? AND boot = ?", (row["rig"], row["boot"]))
    if chain:
        made.committed_seq, made.committed_s = chain[0]
    missing = store.rows("SELECT SUM(missing) FROM gaps WHERE rig = ? AND heard_s >= ?", (row["rig"], since_s))
    made.missing = int(missing[0][0] or 0)
    made.newer = _newer(store, row, since_s)
    others = store.rows("SELECT COUNT(*) FROM others WHERE rig = ? AND heard_s >= ?", (row["rig"], since_s))
    made.others = others[0][0]
    return made


def _newer(store, row, since_s):
    """What the rig's newest message of a later version was unfit for, "" where it has been understood since."""
    found = store.rows(
        "SELECT why FROM aside WHERE rig = ? AND last_s >= ? AND why LIKE ? ORDER BY last_s DESC LIMIT 1",
        (row["rig"], max(since_s, row["heard_s"]), messages.NEWER + "%"),
    )
    return found[0][0] if found else ""


def _recent(store, row):
    """(wall second, sure, head, pots), newest first."""
    found = store.rows(
        "SELECT at_s, sure, body FROM records WHERE rig = ? AND boot = ? ORDER BY place DESC LIMIT ?",
        (row["rig"], row["boot"], RECENT),
    )
    return [(at_s, sure, *recorded.decode(bytes(body))) for at_s, sure, body in found]


def history(store, one, from_s, to_s, most=6000):
    """Rows of a Sight (wall second, head, pots), oldest first, thinned evenly to about `most` but for pulses, which
    all stay."""
    where, values = _own(one)
    where, values = where + " AND at_s BETWEEN ? AND ?", (*values, from_s, to_s)
    total = store.rows(f"SELECT COUNT(*) FROM records WHERE {where}", values)[0][0]
    every = max(1, -(-total // most))
    found = []
    cursor = store.rows(f"SELECT at_s, body FROM records WHERE {where} ORDER BY at_s, place", values)
    for index, (at_s, body) in enumerate(cursor):
        if index % every and every > 1 and index != total - 1:
            head, pots = recorded.decode(bytes(body))
            if not any(pot["pulse_ms"] for pot in pots):
                continue
        else:
            head, pots = recorded.decode(bytes(body))
        found.append((at_s, head, pots))
    return found


def spans(store, one):
    """(first, last) wall second of a Sight's records, or None."""
    where, values = _own(one)
    found = store.rows(f"SELECT MIN(at_s), MAX(at_s) FROM records WHERE {where}", values)[0]
    return found if found[0] is not None else None


def _own(one):
    """The condition of a rig's own records. Every rehearsal tells of the same days: only the newest counts."""
    return ("rig = ? AND boot = ?", (one.rig, one.boot)) if one.rehearsed else ("rig = ?", (one.rig,))


def given_ul(store, rig, since_s):
    """(the most water that went to all pots since then in µl, that of each day): pulses that a record decided on."""
    rows: Any = store.rows("SELECT at_s, body FROM records WHERE rig = ? AND at_s >= ? ORDER BY at_s", (rig, since_s))
    total, days = 0, {}
    for at_s, body in rows:
        most = sum(pot["most_tenths"] * 100 for pot in recorded.decode(bytes(body))[1] if pot["pulse_ms"])
        total += most
        days[at_s // intake.AHEAD_S] = days.get(at_s // intake.AHEAD_S, 0) + most
    return total, days
