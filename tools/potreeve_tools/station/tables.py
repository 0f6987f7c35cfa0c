"""The station's tables, in the SQL that SQLite and PostgreSQL share. {int}, {blob}, {end}: as each calls them."""

VERSION = 1

TABLES = (
    """CREATE TABLE IF NOT EXISTS rigs (
    rig TEXT NOT NULL PRIMARY KEY, first_s {int} NOT NULL, heard_s {int} NOT NULL,
    promise_heard_s {int} NOT NULL, due_s {int} NOT NULL, lost_s {int} NOT NULL,
    boot {int} NOT NULL, newest_place {int} NOT NULL, newest {blob}, newest_heard_s {int} NOT NULL,
    anchor_boot {int} NOT NULL, anchor_up_s {int} NOT NULL, anchor_s {int} NOT NULL,
    report TEXT NOT NULL, about TEXT NOT NULL, tub TEXT NOT NULL){end}""",
    """CREATE TABLE IF NOT EXISTS records (
    rig TEXT NOT NULL, boot {int} NOT NULL, place {int} NOT NULL, seq {int} NOT NULL, up_s {int} NOT NULL,
    at_s {int} NOT NULL, sure {int} NOT NULL, heard_s {int} NOT NULL, body {blob} NOT NULL,
    PRIMARY KEY (rig, boot, place)){end}""",
    "CREATE INDEX IF NOT EXISTS records_at ON records (rig, at_s)",
    """CREATE TABLE IF NOT EXISTS chains (
    rig TEXT NOT NULL, boot {int} NOT NULL, place {int} NOT NULL, seq {int} NOT NULL, heard_s {int} NOT NULL,
    PRIMARY KEY (rig, boot)){end}""",
    """CREATE TABLE IF NOT EXISTS spans (
    rig TEXT NOT NULL, boot {int} NOT NULL, from_place {int} NOT NULL, start_place {int} NOT NULL, end_place {int} NOT
    NULL,
    first_seq {int} NOT NULL, last_seq {int} NOT NULL,
    PRIMARY KEY (rig, boot, from_place, end_place)){end}""",
    """CREATE TABLE IF NOT EXISTS gaps (
    rig TEXT NOT NULL, boot {int} NOT NULL, place {int} NOT NULL, from_seq {int} NOT NULL, to_seq {int} NOT NULL,
    missing {int} NOT NULL, heard_s {int} NOT NULL, PRIMARY KEY (rig, boot, place)){end}""",
    # Valid records at a place where another lies already: the board was set back.
    """CREATE TABLE IF NOT EXISTS others (
    rig TEXT NOT NULL, boot {int} NOT NULL, place {int} NOT NULL, sum {int} NOT NULL, heard_s {int} NOT NULL,
    body {blob} NOT NULL, PRIMARY KEY (rig, boot, place, sum)){end}""",
    """CREATE TABLE IF NOT EXISTS aside (
    rig TEXT NOT NULL, kind TEXT NOT NULL, why TEXT NOT NULL, count {int} NOT NULL, first_s {int} NOT NULL,
    last_s {int} NOT NULL, body {blob} NOT NULL, PRIMARY KEY (rig, kind, why)){end}""",
    """CREATE TABLE IF NOT EXISTS alarms (
    alarm TEXT NOT NULL PRIMARY KEY, rig TEXT NOT NULL, pot TEXT NOT NULL, kind TEXT NOT NULL, level {int} NOT NULL,
    what TEXT NOT NULL, todo TEXT NOT NULL, raised_s {int} NOT NULL, told_s {int} NOT NULL, seen_s {int} NOT NULL,
    cleared_s {int} NOT NULL, acked_s {int} NOT NULL){end}""",
    """CREATE TABLE IF NOT EXISTS outbox (
    letter TEXT NOT NULL PRIMARY KEY, route TEXT NOT NULL, title TEXT NOT NULL, body TEXT NOT NULL, made_s {int} NOT
    NULL,
    next_s {int} NOT NULL, tries {int} NOT NULL, sent_s {int} NOT NULL){end}""",
    """CREATE TABLE IF NOT EXISTS notes (name TEXT NOT NULL PRIMARY KEY, value TEXT NOT NULL){end}""",
)

# rigs, in the order of the table.
RIG_COLUMNS = (
    "rig",
    "first_s",
    "heard_s",
    "promise_heard_s",
    "due_s",
    "lost_s",
    "boot",
    "newest_place",
    "newest",
    "newest_heard_s",
    "anchor_boot",
    "anchor_up_s",
    "anchor_s",
    "report",
    "about",
    "tub",
)
ALARM_COLUMNS = (
    "alarm",
    "rig",
    "pot",
    "kind",
    "level",
    "what",
    "todo",
    "raised_s",
    "told_s",
    "seen_s",
    "cleared_s",
    "acked_s",
)
