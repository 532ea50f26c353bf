"""The journal's file: nobody else's to read, and nothing in it to be changed."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

import pytest

from cbi_monitor.journal.sqlite import SqliteJournal
from tests.journal.lines import bag, opened


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "journal.sqlite"
    with SqliteJournal(path) as journal:
        journal.append([opened(), bag()])
    return path


def slipped_in(how: str, seq: str, link: str, entry: str, kind: str) -> str:
    """A copy of the first entry, under another number or id."""
    return (
        f"{how} INTO entries SELECT {seq}, workstation, {link}, {entry}, session, {kind}, at_utc, line, target, "  # noqa: S608
        "saved_at, payload, prev, hash FROM entries WHERE seq = 1"
    )


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entries SET payload = '{}' WHERE seq = 1",
        "UPDATE entries SET saved_at = 'later'",
        "DELETE FROM entries WHERE seq = 2",
        "DELETE FROM entries",
        "UPDATE about SET value = 'other'",
        "DELETE FROM about",
        "UPDATE workstations SET name = 'other'",
        "DELETE FROM workstations",
        "REPLACE INTO entries SELECT * FROM entries WHERE seq = 1",
        slipped_in("INSERT OR REPLACE", "3", "9", "id", "'note'"),
        slipped_in("INSERT", "9", "9", "'x'", "'note'"),
        slipped_in("INSERT", "3", "'nine'", "'x'", "'note'"),
        slipped_in("INSERT", "3", "9", "'x'", "'session_opened'"),
    ],
)
def test_nothing_is_changed_erased_replaced_or_slipped_in(path: Path, statement: str):
    connection = sqlite3.connect(path)
    try:
        before = list(connection.execute("SELECT * FROM entries"))
        with pytest.raises(sqlite3.IntegrityError):
            connection.execute(statement)
        assert list(connection.execute("SELECT * FROM entries")) == before
    finally:
        connection.close()


def test_every_table_of_ours_is_strict_and_the_log_is_written_ahead(path: Path):
    with SqliteJournal(path) as journal:
        asked = journal._connection.execute
        tables = dict(asked("SELECT name, strict FROM pragma_table_list WHERE name IN ('entries', 'about')"))
        assert tables == {"entries": 1, "about": 1}
        assert asked("PRAGMA journal_mode").fetchone() == ("wal",)
        assert asked("PRAGMA synchronous").fetchone() == (2,)  # FULL
        assert asked("PRAGMA foreign_keys").fetchone() == (1,)


def modes(path: Path) -> dict[str, int]:
    return {file.name: file.stat().st_mode & 0o777 for file in path.parent.iterdir()}


def test_only_the_owner_reads_and_writes_it(tmp_path: Path):
    path = tmp_path / "journal.sqlite"
    before = os.umask(0)
    try:
        with SqliteJournal(path) as journal:
            journal.append([opened()])
            assert modes(path) == dict.fromkeys((path.name, f"{path.name}-wal", f"{path.name}-shm"), 0o600)
    finally:
        os.umask(before)


def test_a_journal_that_lies_open_to_others_is_closed_to_them(path: Path):
    path.chmod(0o644)
    with SqliteJournal(path) as journal:
        journal.append([])
        assert set(modes(path).values()) == {0o600}
