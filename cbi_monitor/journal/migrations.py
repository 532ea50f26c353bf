"""The journal's tables and how an older journal becomes today's, by the migrations of sqlite-utils 4.

A migration that was ever released is never edited; a new one is added below it. ``user_version`` counts them, so that
an older program sees at once that a journal is newer than itself, without knowing anything else about it.

sqlite-utils is imported when a journal is made, brought up to date or verified: it loads pandas where that is
installed, and opening the ward's journal must not wait for it.
"""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlite_utils import Database, Migrations

APPLICATION_ID = 0x4342_494A
"""Marks the file as a journal of ours ("CBIJ") in SQLite's header."""

SCHEMA = 1
"""How many migrations there are."""

_ENTRIES = """
CREATE TABLE entries (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    workstation TEXT NOT NULL REFERENCES workstations (name),
    link INTEGER NOT NULL CHECK (link >= 1),
    id TEXT NOT NULL UNIQUE CHECK (id <> ''),
    session TEXT NOT NULL,
    kind TEXT NOT NULL,
    at_utc TEXT NOT NULL,
    line TEXT,
    target TEXT,
    saved_at TEXT,
    payload TEXT NOT NULL,
    prev BLOB NOT NULL CHECK (length(prev) = 32),
    hash BLOB NOT NULL CHECK (length(hash) = 32)
) STRICT
"""

_INDEXES = (
    "CREATE INDEX entries_by_session ON entries (session)",
    "CREATE UNIQUE INDEX entries_by_link ON entries (workstation, link)",
    "CREATE UNIQUE INDEX one_opening ON entries (session) WHERE kind = 'session_opened'",
    "CREATE INDEX bags ON entries (session, line, at_utc) WHERE kind = 'bag_hung'",
    "CREATE INDEX changes ON entries (target) WHERE target IS NOT NULL",
)

_TRIGGERS = tuple(
    f"CREATE TRIGGER {table}_never_{word} BEFORE {act} ON {table} "
    f"BEGIN SELECT RAISE(ABORT, 'the journal is never changed: {act.lower()} on {table}'); END"
    for table in ("entries", "workstations", "about")
    for word, act in (("changed", "UPDATE"), ("erased", "DELETE"))
)

# REPLACE would take an entry away without asking the triggers above (they run for it only under recursive_triggers).
_NO_REPLACING = """
CREATE TRIGGER entries_only_follow BEFORE INSERT ON entries
WHEN NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM entries)
  OR EXISTS (SELECT 1 FROM entries WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'the journal is never changed: an entry follows the last one under an id of its own'); END
"""


def migrations() -> Migrations:
    """All steps from an empty file to today's journal, in order."""
    from sqlite_utils import Migrations

    steps = Migrations("cbi_monitor.journal")

    @steps(name="0001_entries_in_a_chain")
    def entries_in_a_chain(db: Database) -> None:
        db.execute("CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT")
        db.execute("CREATE TABLE workstations (name TEXT PRIMARY KEY) STRICT")
        for statement in (_ENTRIES, *_INDEXES, *_TRIGGERS, _NO_REPLACING):
            db.execute(statement)

    return steps


def bring_up_to_date(connection: sqlite3.Connection) -> None:
    """Run the steps that this journal has not seen, all or none; no other program writes then. Raises sqlite3.Error."""
    from sqlite_utils import Database

    connection.execute("BEGIN IMMEDIATE")
    try:
        if version_of(connection) < SCHEMA:
            migrations().apply(Database(connection, execute_plugins=False))
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {SCHEMA}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def version_of(connection: sqlite3.Connection) -> int:
    """How many migrations this journal has seen."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def application_of(connection: sqlite3.Connection) -> int:
    """Which program's file this is, by SQLite's header."""
    return int(connection.execute("PRAGMA application_id").fetchone()[0])


def shape_of(connection: sqlite3.Connection) -> dict[str, str]:
    """Every table, index and trigger of a journal with the words that made it."""
    rows = connection.execute(
        "SELECT type || ' ' || name, sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY 1"
    )
    return {name: " ".join(sql.split()) for name, sql in rows if not name.startswith("table sqlite_")}


def right_shape() -> dict[str, str]:
    """The shape that today's journal must have."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    try:
        bring_up_to_date(connection)
        return shape_of(connection)
    finally:
        connection.close()
