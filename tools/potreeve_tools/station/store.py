"""Where what rigs told is kept: exactly once, and safely on disk before anybody is told that it is.

`open_store` gives the one interface there is; SQLite and PostgreSQL differ in how they are opened, nothing else.
"""

import contextlib
import json
import os
import sqlite3
import zlib
from pathlib import Path

from potreeve_tools.station import tables
from potreeve_tools.terminal import exits
from potreeve_tools.terminal.faultlist import BadInput


class CantStore(Exception):
    """The store can't be written or read just now; nothing of the batch is in it."""


class Store:
    """A connection, to be used by one thread. `do` runs SQL with ? for values; `batch` is a transaction."""

    def __init__(self, link, faults, mark="?", begin="BEGIN"):
        self._link, self._faults, self._mark, self._begin = link, faults, mark, begin
        self._cursor = link.cursor()

    def do(self, sql, values=()):
        """Run one statement; returns the cursor. Raises CantStore."""
        try:
            self._cursor.execute(sql.replace("?", self._mark), values)
        except self._faults as fault:
            raise CantStore(_said(fault)) from None
        return self._cursor

    def many(self, sql, rows):
        """Run a statement for every row; returns how many rows it changed. Raises CantStore."""
        if not rows:
            return 0
        try:
            self._cursor.executemany(sql.replace("?", self._mark), rows)
            return self._cursor.rowcount
        except self._faults as fault:
            raise CantStore(_said(fault)) from None

    def rows(self, sql, values=()):
        """All rows of a query."""
        try:
            return self.do(sql, values).fetchall()
        except self._faults as fault:
            raise CantStore(_said(fault)) from None

    def dicts(self, table, columns, where="", values=()):
        """Rows of a table as dicts."""
        found = self.rows(f"SELECT {', '.join(columns)} FROM {table} {where}", values)
        return [dict(zip(columns, row, strict=True)) for row in found]

    @contextlib.contextmanager
    def batch(self):
        """All or nothing. When it is left without a fault, all of it is on disk. Raises CantStore."""
        self.do(self._begin)
        try:
            yield self
            self.do("COMMIT")
        except BaseException:
            with contextlib.suppress(CantStore):
                self.do("ROLLBACK")
            raise

    def lock(self, names):
        """Have other stations that share this store wait until this transaction is over, for these rigs. SQLite's
        BEGIN does it for all."""
        if self._mark != "?":
            # In one order, or two that wait for each other wait for ever.
            for number in sorted({zlib.crc32(name.encode()) for name in names}):
                self.do("SELECT pg_advisory_xact_lock(7268, ?)", (number - (1 << 31),))

    def close(self):
        """End the connection."""
        with contextlib.suppress(*self._faults):
            self._link.close()

    # ---- small things that are remembered ----

    def note(self, name, default=None):
        """A remembered value."""
        found = self.rows("SELECT value FROM notes WHERE name = ?", (name,))
        return json.loads(found[0][0]) if found else default

    def set_note(self, name, value):
        """Remember a value that JSON can hold."""
        self.do(
            "INSERT INTO notes (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
            (name, json.dumps(value)),
        )


def _said(fault):
    return f"{type(fault).__name__}: {str(fault).splitlines()[0] if str(fault) else ''}"


def open_store(where):
    """A Store. where: path of an SQLite file, or postgresql://... Raises BadInput."""
    text = str(where)
    store = _postgres(text) if text.startswith(("postgresql://", "postgres://")) else _sqlite(Path(text))
    try:
        known = store.note("tables")
        if known is not None and known > tables.VERSION:
            raise BadInput([f"{_plain(text)}: written by a newer Potreeve (tables {known}); use that, or another file"])
        if known is None:
            store.set_note("tables", tables.VERSION)
    except CantStore as fault:
        store.close()
        raise BadInput([f"{_plain(text)}: can't be used as a store: {fault}; give another one"]) from None
    except BadInput:
        store.close()
        raise
    return store


def _plain(text):
    """A store's place without what may hold a password."""
    return text if "://" not in text else text.split("://")[0] + "://..." + text.rpartition("@")[2].rpartition("/")[2]


def _sqlite(path):
    if not path.parent.is_dir():
        raise BadInput([f"{path}: there is no folder {path.parent}; make it first or give another place"])
    try:
        if not path.exists():
            # Readable by its owner alone from its first byte on. Never on a file in use: closing it would give up the
            # locks that all connections of this process hold.
            with contextlib.suppress(FileExistsError):
                os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
        link = sqlite3.connect(path, timeout=5.0, isolation_level=None, check_same_thread=False)
        store = Store(link, (sqlite3.Error,), begin="BEGIN IMMEDIATE")
        for pragma in ("journal_mode = WAL", "synchronous = FULL", "busy_timeout = 5000", "wal_autocheckpoint = 4000"):
            store.do(f"PRAGMA {pragma}").fetchall()
        for table in tables.TABLES:
            end = " STRICT, WITHOUT ROWID"
            store.do(table.format(int="INTEGER", blob="BLOB", end=end))
    except (OSError, sqlite3.Error, CantStore) as fault:
        raise BadInput([f"{path}: can't be used as a store: {fault}; give another place, or free some room"]) from None
    return store


def _postgres(url):
    try:
        import psycopg
    except ImportError:
        raise exits.Stop(
            exits.BAD_INPUT, ["PostgreSQL needs the package psycopg: pip install 'potreeve[postgres]'"]
        ) from None
    try:
        link = psycopg.connect(url, autocommit=True, connect_timeout=10)
        store = Store(link, (psycopg.Error,), mark="%s")
        # Two stations that start at once would else make the same table twice.
        with store.batch():
            store.do("SELECT pg_advisory_xact_lock(7267)")
            for table in tables.TABLES:
                store.do(table.format(int="BIGINT", blob="BYTEA", end=""))
    except (psycopg.Error, CantStore) as fault:
        raise BadInput(
            [f"{_plain(url)}: no store there: {type(fault).__name__}; check that it runs and lets you in"]
        ) from None
    return store
