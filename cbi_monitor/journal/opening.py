"""Opening a journal's file: made where there is none, for its owner only, brought up to date, and its faults named."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import uuid4

from cbi_monitor.journal.migrations import (
    APPLICATION_ID,
    SCHEMA,
    application_of,
    bring_up_to_date,
    version_of,
)
from cbi_monitor.journal.port import Fault, FaultKind

OWNER_ONLY = 0o600

# --- the database's faults --------------------------------------------------------------------------------------

_FAULTS: dict[int, FaultKind] = {
    sqlite3.SQLITE_FULL: "full",
    sqlite3.SQLITE_BUSY: "busy",
    sqlite3.SQLITE_LOCKED: "busy",
    sqlite3.SQLITE_READONLY: "read_only",
    sqlite3.SQLITE_CORRUPT: "corrupt",
    sqlite3.SQLITE_NOTADB: "not_a_journal",
}


def fault_of(cause: sqlite3.Error | OSError, path: Path) -> Fault:
    """What a word of the database or the system means to whoever wanted to save."""
    if isinstance(cause, OSError):
        kind: FaultKind = "read_only" if isinstance(cause, PermissionError) else "disk"
        return Fault(kind, cause.strerror or str(cause), place=str(path))
    code = getattr(cause, "sqlite_errorcode", 0) or 0
    name = getattr(cause, "sqlite_errorname", "") or type(cause).__name__
    return Fault(_FAULTS.get(code & 0xFF, "disk"), f"{cause} [{name}]", place=str(path))


def told(fault: Fault, doing: str) -> Fault:
    """The same fault, after it was written to the log under its reference."""
    import structlog  # faults are rare

    structlog.get_logger("cbi_monitor.journal").error(
        "journal fault",
        reference=fault.reference,
        doing=doing,
        kind=fault.kind,
        place=fault.place,
        detail=fault.detail,
    )
    return fault


# --- opening ----------------------------------------------------------------------------------------------------


def opened(path: Path, *, create: bool, read_only: bool, busy_seconds: float) -> sqlite3.Connection:
    """A connection to a journal of today's shape. Raises Fault, sqlite3.Error, OSError."""
    if not path.exists():
        if not create or read_only:
            raise Fault("missing", place=str(path))
        path.parent.mkdir(parents=True, exist_ok=True)
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, OWNER_ONLY))
    if not read_only:
        _only_for_owner(path)
    uri = f"{path.absolute().as_uri()}?mode={'ro' if read_only else 'rw'}"
    connection = sqlite3.connect(
        uri,
        uri=True,
        timeout=busy_seconds,
        isolation_level=None,
        check_same_thread=False,
        cached_statements=64,
    )
    try:
        _known_here(connection, made=read_only)
        if not read_only:
            _into_wal(connection, busy_seconds)
            if version_of(connection) < SCHEMA:
                bring_up_to_date(connection)
            _only_for_owner(path)
        for pragma in (
            "synchronous = FULL",
            "foreign_keys = ON",
            "recursive_triggers = ON",
            "trusted_schema = OFF",
        ):
            connection.execute(f"PRAGMA {pragma}")
    except BaseException:
        connection.close()
        raise
    return connection


def _known_here(connection: sqlite3.Connection, *, made: bool) -> None:
    """Raises Fault where this is not a journal, or one of a newer program; an empty file passes unless ``made``."""
    application, version = application_of(connection), version_of(connection)
    if application != APPLICATION_ID:
        tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
        if made or application or version or tables:
            raise Fault("not_a_journal", "another program's database")
    elif version > SCHEMA:
        raise Fault("newer", f"{version} > {SCHEMA}")


def _into_wal(connection: sqlite3.Connection, busy_seconds: float) -> None:
    """Write-ahead logging, so that reading never waits. Changing the mode asks no busy handler: we wait ourselves."""
    give_up = time.monotonic() + busy_seconds
    while True:
        try:
            mode = connection.execute("PRAGMA journal_mode = WAL").fetchone()[0]
        except sqlite3.OperationalError as fault:
            if (fault.sqlite_errorcode & 0xFF) != sqlite3.SQLITE_BUSY or time.monotonic() > give_up:
                raise
            time.sleep(0.01)
            continue
        if mode != "wal":
            raise Fault("disk", f"journal_mode {mode}")
        return


def _only_for_owner(path: Path) -> None:
    """Nobody but the owner reads or writes the journal and what lies beside it."""
    for file in (path, path.with_name(path.name + "-wal"), path.with_name(path.name + "-shm")):
        if file.exists() and file.stat().st_mode & 0o777 != OWNER_ONLY:
            file.chmod(OWNER_ONLY)


def own_name(connection: sqlite3.Connection) -> str:
    """The name of the chain that this file's entries belong to, given when it was made."""
    asked = "SELECT value FROM about WHERE name = 'workstation'"
    row = connection.execute(asked).fetchone()
    if row is None:
        with writing(connection):
            made = "INSERT OR IGNORE INTO about (name, value) VALUES ('workstation', ?)"
            connection.execute(made, (str(uuid4()),))
        row = connection.execute(asked).fetchone()
    return str(row[0])


@contextmanager
def writing(connection: sqlite3.Connection) -> Iterator[None]:
    """One transaction that no other writer comes between; whatever happens inside, all of it stands or none."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
