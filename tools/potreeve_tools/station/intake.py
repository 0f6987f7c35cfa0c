"""What becomes of messages in the store: records once, chains without a hole, gaps named, oddities kept aside."""

import json
from dataclasses import dataclass, field

from potreeve.logic import record, recorded

from potreeve_tools.station import commands, logpiece, messages, tables
from potreeve_tools.station.messages import Message

# More than any honest rig has; a hostile one fills no disk.
MOST_BOOTS = 200
MOST_SPANS = 2000
MOST_REASONS = 200
MOST_RIGS = 50_000
KEPT_BYTES = 512
# The wall clock of a board is taken for true within these.
YEAR_2024_S = 1_704_067_200
AHEAD_S = 86400

_INSERT = (
    "INSERT INTO records (rig, boot, place, seq, up_s, at_s, sure, heard_s, body) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) "
    "ON CONFLICT DO NOTHING"
)


@dataclass
class Taken:
    """What a batch brought. acks: {(rig, boot): (place, seq)}; heard: rigs that spoke just now; rigs: that changed;
    odd: those of which something must be told though nothing of theirs was stored; tell: {rig: payload of a command
    that waits for it}."""

    acks: dict = field(default_factory=dict)
    heard: dict = field(default_factory=dict)
    rigs: set = field(default_factory=set)
    odd: set = field(default_factory=set)
    tell: dict = field(default_factory=dict)
    new: int = 0
    doubled: int = 0
    aside: int = 0
    others: int = 0


def take(store, arrived):
    """Store a batch in one transaction; returns Taken. Raises CantStore, and then nothing is stored.

    arrived: list of (heard_s, what, old): what is a Message, or (rig, kind, why, payload) of one that is unfit;
    old: True for what the broker had kept from before (its time says nothing).
    """
    taken = Taken()
    with store.batch():
        store.lock([what.rig if isinstance(what, Message) else what[0] for _, what, _ in arrived])
        known = {}
        for heard_s, what, old in arrived:
            if isinstance(what, Message):
                rig = known.get(what.rig) or _rig(store, what.rig, heard_s)
                if rig is None:
                    _aside(store, taken, heard_s, "", what.kind, "too many rigs", b"")
                    continue
                known[what.rig] = rig
                _message(store, taken, rig, heard_s, what, old)
            else:
                _aside(store, taken, heard_s, *what)
                if what[2].startswith(messages.NEWER):
                    taken.odd.add(what[0])
        for rig in known.values():
            _save(store, rig)
        for name in taken.heard:
            told = known[name]["report"]
            payload = commands.to_tell(store, name, json.loads(told)["seq"] if told else None)
            if payload:
                taken.tell[name] = payload
    taken.rigs = set(known) | taken.odd
    return taken


def _rig(store, name, heard_s):
    found = store.dicts("rigs", tables.RIG_COLUMNS, "WHERE rig = ?", (name,))
    if found:
        return found[0]
    if store.rows("SELECT COUNT(*) FROM rigs")[0][0] >= MOST_RIGS:
        return None
    row = dict.fromkeys(tables.RIG_COLUMNS, 0)
    return {**row, "rig": name, "first_s": heard_s, "newest": None, "report": "", "about": "", "tub": ""}


def know(store, name, about, now_s):
    """Enter a rig that has not been heard of, or what it is said to be. To be used within a batch."""
    row = _rig(store, name, now_s)
    if row is not None:
        _save(store, {**row, "about": about})


def _save(store, rig):
    names = tables.RIG_COLUMNS
    changes = ", ".join(f"{name} = excluded.{name}" for name in names if name not in ("rig", "tub"))
    store.do(
        f"INSERT INTO rigs ({', '.join(names)}) VALUES ({', '.join('?' * len(names))}) "
        f"ON CONFLICT (rig) DO UPDATE SET {changes}",
        tuple(rig[name] for name in names),
    )


def _message(store, taken, rig, heard_s, message, old):
    body = message.body
    if message.kind == "log":
        _piece(store, taken, rig, heard_s, body)
        if body.due_s and not old:
            _promise(taken, rig, heard_s, body.due_s)
    elif message.kind == "report":
        if old and rig["report"]:
            return
        rig["report"] = json.dumps(body)
        if not old:
            _promise(taken, rig, heard_s, body["due_s"])
            rig["anchor_boot"], rig["anchor_up_s"], rig["anchor_s"] = body["boot"], body["proven_s"], heard_s
    elif message.kind == "about":
        rig["about"] = json.dumps(body)
    elif message.kind == "done":
        commands.answered(store, rig["rig"], body)
    elif message.kind == "lost" and not old:
        rig["lost_s"] = heard_s
    if not old and message.kind != "lost":
        # What broke off before is over.
        rig["heard_s"], rig["lost_s"] = heard_s, 0
        taken.heard[rig["rig"]] = heard_s


def _promise(taken, rig, heard_s, due_s):
    rig["promise_heard_s"], rig["due_s"] = heard_s, due_s


def _piece(store, taken, rig, heard_s, piece):
    name, boot = rig["rig"], piece.boot
    chain = store.rows("SELECT place, seq FROM chains WHERE rig = ? AND boot = ?", (name, boot))
    if not chain and store.rows("SELECT COUNT(*) FROM chains WHERE rig = ?", (name,))[0][0] >= MOST_BOOTS:
        _aside(store, taken, heard_s, name, "log", "too many lives of one log", b"")
        return
    rows = []
    anchored = rig["anchor_s"] and boot == rig["anchor_boot"]
    newest = recorded.decode(bytes(rig["newest"])) if rig["newest"] and boot == rig["boot"] else None
    for index, line in enumerate(piece.records):
        place = piece.place + index * record.RECORD_BYTES
        found = recorded.decode(line)
        if found is None:
            _aside(store, taken, heard_s, name, "record", f"rotten at {boot}, {logpiece.split(place)}", line)
            continue
        head = found[0]
        if newest and place > rig["newest_place"] and head["up_s"] < newest[0]["up_s"]:
            # Its memory began anew: what was known of its time is of another life.
            anchored = False
        at_s, sure = _when(head, rig if anchored else None, piece, heard_s)
        rows.append((name, boot, place, head["seq"], head["up_s"], at_s, sure, heard_s, line))
    new = store.many(_INSERT, rows)
    taken.new += new
    taken.doubled += len(rows) - new
    if new < len(rows):
        _compare(store, taken, heard_s, rows)
    taken.acks[name, boot] = _extend(store, name, boot, chain, piece, [(row[2], row[3]) for row in rows], heard_s)
    if rows and (boot != rig["boot"] or rows[-1][2] >= rig["newest_place"]):
        # Another life of the log is the newer one when it is heard for the first time.
        if boot == rig["boot"] or not chain:
            rig["boot"], rig["newest_place"], rig["newest"] = boot, rows[-1][2], rows[-1][8]
            rig["newest_heard_s"] = heard_s


def _when(head, rig, piece, heard_s):
    """(wall second of a record, 1 where its board's clock said so). rig: None where its last report says nothing of
    this."""
    if YEAR_2024_S <= head["utc_s"] <= heard_s + AHEAD_S:
        return head["utc_s"], 1
    if rig:
        return min(heard_s, rig["anchor_s"] + head["up_s"] - rig["anchor_up_s"]), 0
    last = recorded.decode(piece.records[-1])
    return heard_s - max(0, last[0]["up_s"] - head["up_s"] if last else 0), 0


def _compare(store, taken, heard_s, rows):
    """Keep apart what lies where other bytes lie already: the board was set back to an earlier state."""
    name, boot = rows[0][:2]
    there = dict(
        store.rows(
            "SELECT place, body FROM records WHERE rig = ? AND boot = ? AND place BETWEEN ? AND ?",
            (name, boot, rows[0][2], rows[-1][2]),
        )
    )
    others = [
        (name, boot, row[2], int.from_bytes(row[8][-4:], "little"), heard_s, row[8])
        for row in rows
        if bytes(there[row[2]]) != row[8]
    ]
    taken.others += store.many(
        "INSERT INTO others (rig, boot, place, sum, heard_s, body) VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
        others,
    )


def _extend(store, name, boot, chain, piece, seqs, heard_s):
    """Move the chain on over a piece, and over what waited for it; returns (place, seq)."""
    place, seq = chain[0] if chain else (0, -1)
    if piece.from_place > place:
        if store.rows("SELECT COUNT(*) FROM spans WHERE rig = ? AND boot = ?", (name, boot))[0][0] < MOST_SPANS:
            first, last = (seqs[0][1], seqs[-1][1]) if seqs else (-1, -1)
            store.do(
                "INSERT INTO spans (rig, boot, from_place, start_place, end_place, first_seq, last_seq) VALUES (?, "
                "?, ?, ?, ?, ?, ?) "
                "ON CONFLICT DO NOTHING",
                (name, boot, piece.from_place, piece.place, piece.end, first, last),
            )
    elif piece.end > place:
        for at, one in seqs:
            if at >= place:
                _gap(store, name, boot, at, seq, one, heard_s)
                seq = one
        place = piece.end
        place, seq = _absorb(store, name, boot, place, seq, heard_s)
    store.do(
        "INSERT INTO chains (rig, boot, place, seq, heard_s) VALUES (?, ?, ?, ?, ?) "
        "ON CONFLICT (rig, boot) DO UPDATE SET place = excluded.place, seq = excluded.seq, heard_s = excluded.heard_s",
        (name, boot, place, seq, heard_s),
    )
    return place, seq


def _absorb(store, name, boot, place, seq, heard_s):
    where = "FROM spans WHERE rig = ? AND boot = ? AND from_place <= ?"
    while True:
        found = store.rows(
            f"SELECT from_place, start_place, end_place, first_seq, last_seq {where} ORDER BY from_place, end_place "
            f"LIMIT 1",
            (name, boot, place),
        )
        if not found:
            return place, seq
        before, start, end, first, last = found[0]
        if end > place:
            if last >= 0:
                # Where it overlaps, its first record is an old one.
                if start >= place:
                    _gap(store, name, boot, start, seq, first, heard_s)
                seq = last
            place = end
        store.do(
            "DELETE FROM spans WHERE rig = ? AND boot = ? AND from_place = ? AND end_place = ?",
            (name, boot, before, end),
        )


def _gap(store, name, boot, place, before, seq, heard_s):
    """Note that between two records that lie side by side in the log others are missing, or that the count starts
    over."""
    expected = before + 1 if before >= 0 else 1
    if seq == expected or before < 0 and seq == 0:
        return
    store.do(
        "INSERT INTO gaps (rig, boot, place, from_seq, to_seq, missing, heard_s) VALUES (?, ?, ?, ?, ?, ?, ?) "
        "ON CONFLICT DO NOTHING",
        (name, boot, place, before, seq, max(0, seq - expected), heard_s),
    )


def _aside(store, taken, heard_s, rig, kind, why, payload):
    """Count an odd message, and keep the newest of its sort: so no flood of them grows the store."""
    taken.aside += 1
    if store.rows("SELECT COUNT(*) FROM aside WHERE rig = ?", (rig,))[0][0] >= MOST_REASONS:
        why = "other"
    store.do(
        "INSERT INTO aside (rig, kind, why, count, first_s, last_s, body) VALUES (?, ?, ?, 1, ?, ?, ?) "
        "ON CONFLICT (rig, kind, why) DO UPDATE SET count = aside.count + 1, last_s = excluded.last_s, "
        "body = excluded.body",
        (rig, kind, why[:120], heard_s, heard_s, bytes(payload[:KEPT_BYTES])),
    )
