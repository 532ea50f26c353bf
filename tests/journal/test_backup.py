"""Backing up and restoring: verified, never over anything, nothing half-written."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from cbi_monitor.journal.backup import backup, restore
from cbi_monitor.journal.migrations import SCHEMA
from cbi_monitor.journal.port import Fault
from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.model.findings import Refused
from tests.journal.lines import bag, event, opened


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "journal.sqlite"
    with SqliteJournal(path) as journal:
        journal.append([opened(), bag(), *(event("note", f"n{n}", text="x" * 500) for n in range(300))])
    return path


def names(folder: Path) -> set[str]:
    """All files but those that SQLite itself keeps beside a journal that was read."""
    return {file.name for file in folder.iterdir() if not file.name.endswith(("-wal", "-shm"))}


def test_a_backup_holds_what_the_journal_holds_and_restores_to_the_same(path: Path, tmp_path: Path):
    with SqliteJournal(path) as journal:
        verdict = backup(path, tmp_path / "copy.sqlite")
        assert verdict == journal.verify()
        entries = journal.read_after(0)
    assert verdict.whole
    assert (tmp_path / "copy.sqlite").stat().st_mode & 0o777 == 0o600
    assert names(tmp_path) == {"journal.sqlite", "copy.sqlite"}

    assert restore(tmp_path / "copy.sqlite", tmp_path / "new" / "journal.sqlite") == verdict
    with SqliteJournal(tmp_path / "new" / "journal.sqlite") as journal:
        assert journal.read_after(0) == entries
        journal.append([event("back", "b")])
        assert journal.verify().whole


def test_saving_goes_on_while_a_backup_is_made(path: Path, tmp_path: Path):
    with SqliteJournal(path) as journal:
        saved = 0

        def save(done: int, pages: int) -> None:
            nonlocal saved
            if saved < 5:
                journal.append([event("back", f"while-{saved}")])
                saved += 1

        # Steps of a few pages, so that something is saved between them.
        journal.append([event("note", f"m{n}", text="x" * 4000) for n in range(600)])
        assert backup(path, tmp_path / "copy.sqlite", progress=save).whole
        assert saved > 1
        assert journal.verify().whole


def test_a_backup_never_overwrites(path: Path, tmp_path: Path):
    target = tmp_path / "copy.sqlite"
    target.write_text("the only copy of something")
    with pytest.raises(Refused) as caught:
        backup(path, target)
    assert "already" in caught.value.refusals[0].what
    assert target.read_text() == "the only copy of something"
    assert names(tmp_path) == {"journal.sqlite", "copy.sqlite"}


def test_a_name_that_somebody_takes_while_the_backup_is_made_stays_theirs(path: Path, tmp_path: Path):
    target = tmp_path / "copy.sqlite"
    with pytest.raises(Refused):
        backup(path, target, progress=lambda *_: target.write_text("theirs") and None)
    assert target.read_text() == "theirs"
    assert names(tmp_path) == {"journal.sqlite", "copy.sqlite"}


@pytest.mark.parametrize("rest", ["", "-wal"])
def test_restoring_never_overwrites_a_journal_or_a_part_of_one(path: Path, tmp_path: Path, rest: str):
    backup(path, tmp_path / "copy.sqlite")
    place = tmp_path / f"other.sqlite{rest}"
    place.write_bytes(b"here")
    with pytest.raises(Refused) as caught:
        restore(tmp_path / "copy.sqlite", tmp_path / "other.sqlite")
    assert caught.value.refusals[0].where == str(place)
    assert place.read_bytes() == b"here"


def change(path: Path, *statements: str) -> None:
    connection = sqlite3.connect(path, isolation_level=None)
    for statement in statements:
        connection.execute(statement)
    connection.close()


TAMPERING = (
    "DROP TRIGGER entries_never_changed",
    "UPDATE entries SET payload = replace(payload, '3000', '1000')",
)


def test_a_backup_that_does_not_verify_is_not_restored(path: Path, tmp_path: Path):
    backup(path, tmp_path / "copy.sqlite")
    change(tmp_path / "copy.sqlite", *TAMPERING)
    with pytest.raises(Refused) as caught:
        restore(tmp_path / "copy.sqlite", tmp_path / "other.sqlite")
    assert {(fault.where, fault.line) for fault in caught.value.refusals} == {
        (str(tmp_path / "copy.sqlite"), 0),
        (str(tmp_path / "copy.sqlite"), 2),
    }
    assert names(tmp_path) == {"journal.sqlite", "copy.sqlite"}


def test_a_journal_that_does_not_verify_gives_no_backup(path: Path, tmp_path: Path):
    change(path, *TAMPERING)
    with pytest.raises(Refused):
        backup(path, tmp_path / "copy.sqlite")
    assert not (tmp_path / "copy.sqlite").exists()


def test_a_backup_of_a_newer_program_is_left_alone(path: Path, tmp_path: Path):
    backup(path, tmp_path / "copy.sqlite")
    change(tmp_path / "copy.sqlite", f"PRAGMA user_version = {SCHEMA + 1}")
    with pytest.raises(Fault) as caught:
        restore(tmp_path / "copy.sqlite", tmp_path / "other.sqlite")
    assert caught.value.kind == "newer"
    assert names(tmp_path) == {"journal.sqlite", "copy.sqlite"}


def test_no_journal_no_backup(tmp_path: Path):
    with pytest.raises(Fault) as caught:
        backup(tmp_path / "none", tmp_path / "copy")
    assert caught.value.kind == "missing"
    (tmp_path / "list.csv").write_text("a,b\n" * 300)
    with pytest.raises(Fault) as caught:
        restore(tmp_path / "list.csv", tmp_path / "j")
    assert caught.value.kind == "not_a_journal"
    assert names(tmp_path) == {"list.csv"}


def test_a_copy_cut_short_is_not_restored(path: Path, tmp_path: Path):
    backup(path, tmp_path / "copy.sqlite")
    data = (tmp_path / "copy.sqlite").read_bytes()
    (tmp_path / "cut.sqlite").write_bytes(data[: len(data) // 2])
    with pytest.raises((Fault, Refused)):
        restore(tmp_path / "cut.sqlite", tmp_path / "other.sqlite")
    assert "other.sqlite" not in names(tmp_path)
