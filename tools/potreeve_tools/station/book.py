"""The book of alarms: each is raised once, cleared once, told again while it matters; and the letters that go out.

All of it is in the store, so a restart neither tells anything twice nor forgets it.
"""

import hashlib

from potreeve_tools.station import alarms, tables

# A trouble must have been gone for so long before its alarm is cleared; a rig that is heard again is heard.
LINGER_S = {"silent": 0, "station": 0}
USUAL_LINGER_S = 600
# How often the store hears that an alarm still is.
SEEN_S = 60
# Of many alarms in one letter so many are spelt out.
SPELT = 8
KEPT_DAYS = 400
RETRY_S = (10, 30, 60, 300, 900, 3600)


def settle(store, findings, now_s, config):
    """Bring the book up to date; returns (raised, cleared, repeated), lists of alarm dicts. One transaction.

    findings: list of alarms.Finding; now_s: wall seconds.
    """
    with store.batch():
        there = {finding.key: finding for finding in findings}
        still = {}
        raised, cleared, again = [], [], []
        for alarm in store.dicts("alarms", tables.ALARM_COLUMNS, "WHERE cleared_s = 0"):
            key = f"{alarm['rig']}/{alarm['pot']}/{alarm['kind']}"
            finding = there.get(key)
            if finding is None:
                if now_s - alarm["seen_s"] >= LINGER_S.get(alarm["kind"], USUAL_LINGER_S) or now_s < alarm["seen_s"]:
                    cleared.append({**alarm, "cleared_s": now_s})
                    store.do("UPDATE alarms SET cleared_s = ? WHERE alarm = ?", (now_s, alarm["alarm"]))
                else:
                    still[key] = alarm
                continue
            still[key] = alarm
            louder = finding.level > alarm["level"]
            due = now_s - alarm["told_s"] >= config.repeat_s and not alarm["acked_s"]
            same = (finding.what, finding.todo, finding.level) == (alarm["what"], alarm["todo"], alarm["level"])
            alarm.update(what=finding.what, todo=finding.todo, level=finding.level)
            if louder or due:
                alarm["told_s"] = now_s
                again.append(alarm)
            # A commit every few seconds would wear out a card.
            if louder or due or not same or not 0 <= now_s - alarm["seen_s"] < SEEN_S:
                store.do(
                    "UPDATE alarms SET what = ?, todo = ?, level = ?, seen_s = ?, told_s = ? WHERE alarm = ?",
                    (alarm["what"], alarm["todo"], alarm["level"], now_s, alarm["told_s"], alarm["alarm"]),
                )
        for key, finding in there.items():
            if key not in still:
                raised.append(_raise(store, finding, now_s))
        for phase, some in (("new", raised), ("still", again), ("over", cleared)):
            _write(store, phase, some, now_s, config)
    return raised, cleared, again


def _raise(store, finding, now_s):
    number = store.rows("SELECT COUNT(*) FROM alarms")[0][0] + 1
    alarm = dict(
        zip(
            tables.ALARM_COLUMNS,
            (
                f"{number}-{finding.kind}-{now_s}",
                finding.rig,
                finding.pot,
                finding.kind,
                finding.level,
                finding.what,
                finding.todo,
                now_s,
                now_s,
                now_s,
                0,
                0,
            ),
            strict=True,
        )
    )
    marks = ", ".join("?" * len(tables.ALARM_COLUMNS))
    store.do(f"INSERT INTO alarms ({', '.join(tables.ALARM_COLUMNS)}) VALUES ({marks})", tuple(alarm.values()))
    return alarm


def _write(store, phase, some, now_s, config):
    """One letter a route, whatever the number of alarms; what can wait waits for the end of the quiet hours."""
    for route in config.routes:
        mine = [alarm for alarm in some if route.takes(alarm)]
        for waits in (False, True):
            part = [alarm for alarm in mine if (alarm["level"] < alarms.CALL or phase == "over") == waits]
            if part:
                title, body = letter(phase, part)
                ids = "\n".join(alarm["alarm"] for alarm in part) + f"{phase}{route.name}{now_s}"
                store.do(
                    "INSERT INTO outbox (letter, route, title, body, made_s, next_s, tries, sent_s) "
                    "VALUES (?, ?, ?, ?, ?, ?, 0, 0) ON CONFLICT DO NOTHING",
                    (
                        hashlib.sha256(ids.encode()).hexdigest()[:32],
                        route.name,
                        title,
                        body,
                        now_s,
                        config.quiet_until(now_s) if waits else now_s,
                    ),
                )


def letter(phase, some):
    """(title, body) of a letter about alarms."""
    first = some[0]
    who = first["pot"] or first["rig"] or "the station"
    if first["pot"] and first["rig"]:
        who = f"{first['pot']} ({first['rig']})"
    lead = {"new": "", "still": "Still: ", "over": "Over: "}[phase]
    title = f"{lead}{who}: {alarms.KINDS[first['kind']]}"
    if len(some) > 1:
        title += f", and {len(some) - 1} more"
    lines = []
    for alarm in some[:SPELT]:
        name = " · ".join(part for part in (alarm["rig"], alarm["pot"]) if part) or "station"
        text = f"{name}: {alarm['what']}."
        if alarm["todo"] and phase != "over":
            text += f"\nTo do: {alarm['todo']}."
        lines.append(text)
    if len(some) > SPELT:
        lines.append(f"... and {len(some) - SPELT} more; see the station's page.")
    return title, "\n\n".join(lines)


def open_alarms(store):
    """Alarms that are not over, the loudest and newest first."""
    return store.dicts("alarms", tables.ALARM_COLUMNS, "WHERE cleared_s = 0 ORDER BY level DESC, raised_s DESC")


def past_alarms(store, most=50):
    """Alarms that are over, the newest first."""
    where = "WHERE cleared_s > 0 ORDER BY cleared_s DESC LIMIT ?"
    return store.dicts("alarms", tables.ALARM_COLUMNS, where, (most,))


def for_programs(found):
    """Open alarms as one JSON object. needed: somebody is needed, and nobody has seen it."""
    needed = any(one["level"] >= alarms.CALL and not one["acked_s"] for one in found)
    return {"schema": "potreeve-alarms/1", "needed": needed, "alarms": found}


def acknowledge(store, alarm, now_s):
    """Somebody has seen it: it is not told again. True when there was such an alarm."""
    with store.batch():
        return store.do("UPDATE alarms SET acked_s = ? WHERE alarm = ? AND acked_s = 0", (now_s, alarm)).rowcount == 1


def due_letters(store, now_s):
    """Letters to send now: dicts letter, route, title, body, tries."""
    columns = ("letter", "route", "title", "body", "tries")
    return store.dicts("outbox", columns, "WHERE sent_s = 0 AND next_s <= ? ORDER BY made_s LIMIT 50", (now_s,))


def sent(store, one, now_s, good):
    """Note what came of a letter."""
    with store.batch():
        if good:
            store.do("UPDATE outbox SET sent_s = ?, tries = tries + 1 WHERE letter = ?", (now_s, one["letter"]))
        else:
            wait = RETRY_S[min(one["tries"], len(RETRY_S) - 1)]
            store.do("UPDATE outbox SET tries = tries + 1, next_s = ? WHERE letter = ?", (now_s + wait, one["letter"]))
        store.do("DELETE FROM outbox WHERE sent_s > 0 AND sent_s < ?", (now_s - KEPT_DAYS * 86400,))


def stuck_letters(store, now_s, tries=3):
    """How many letters were tried so often in vain."""
    return store.rows("SELECT COUNT(*) FROM outbox WHERE sent_s = 0 AND tries >= ?", (tries,))[0][0]
