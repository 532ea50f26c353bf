"""Whatever is changed in a journal behind its back is seen, and told by the number of the entry."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from cbi_monitor.journal.chain import hash_of
from cbi_monitor.journal.port import Verdict
from cbi_monitor.journal.sqlite import SqliteJournal
from tests.journal.lines import bag, event, opened


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "journal.sqlite"
    with SqliteJournal(path) as journal:
        journal.append([opened(), bag()])
        journal.append([event("bag_read", f"r{n}", line="A", left_ml=2000 - n) for n in range(6)])
    return path


def tampered(
    path: Path, *statements: str, act: Callable[[sqlite3.Connection], None] | None = None
) -> Verdict:
    """What verifying says after somebody with a database tool took the guards off, changed, and put them back."""
    connection = sqlite3.connect(path, isolation_level=None)
    guards = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in guards:
        connection.execute(f"DROP TRIGGER {name}")
    for statement in statements:
        connection.execute(statement)
    if act is not None:
        act(connection)
    for _, sql in guards:
        connection.execute(sql)
    connection.close()
    with SqliteJournal(path) as journal:
        return journal.verify()


def found(verdict: Verdict) -> list[tuple[int, str]]:
    return [(one.seq, one.kind) for one in verdict.breaks]


def test_an_untouched_journal_is_whole(path: Path):
    assert found(tampered(path)) == []


@pytest.mark.parametrize(
    ("statement", "expected"),
    [
        ("UPDATE entries SET payload = replace(payload, '1997', '1797') WHERE seq = 6", [(6, "hash")]),
        ("UPDATE entries SET saved_at = '2026-03-01T07:00:00+00:00' WHERE seq = 6", [(6, "hash")]),
        ("UPDATE entries SET line = 'B' WHERE seq = 6", [(6, "columns")]),
        ("UPDATE entries SET session = 't' WHERE seq = 6", [(6, "columns")]),
        ("UPDATE entries SET at_utc = '2026-03-01' WHERE seq = 6", [(6, "columns")]),
        ("UPDATE entries SET id = 'other' WHERE seq = 6", [(6, "columns")]),
        (
            "UPDATE entries SET payload = payload || ' ' WHERE seq = 6",
            [(6, "hash"), (6, "payload_not_canonical")],
        ),
        ("UPDATE entries SET payload = '{}' WHERE seq = 6", [(6, "hash"), (6, "payload_unreadable")]),
        ("UPDATE entries SET hash = zeroblob(32) WHERE seq = 6", [(6, "hash"), (7, "prev")]),
        ("UPDATE entries SET prev = zeroblob(32) WHERE seq = 6", [(6, "prev"), (6, "hash")]),
        ("DELETE FROM entries WHERE seq = 6", [(7, "gap"), (7, "link"), (7, "prev")]),
        ("DELETE FROM entries WHERE seq = 1", [(2, "gap"), (2, "link"), (2, "prev")]),
        ("DELETE FROM entries WHERE seq >= 7", [(7, "end_missing")]),
        ("DELETE FROM entries", [(1, "end_missing")]),
        ("UPDATE entries SET seq = seq + 1 WHERE seq = 8", [(0, "counter"), (9, "gap"), (9, "hash")]),
    ],
)
def test_what_was_changed_is_named_by_its_number(path: Path, statement: str, expected: list[tuple[int, str]]):
    assert found(tampered(path, statement)) == expected


def test_two_entries_that_changed_places(path: Path):
    def swap(connection: sqlite3.Connection) -> None:
        moves = ((60, 6), (6, 7), (7, 60))
        connection.executemany("UPDATE entries SET seq = ? WHERE seq = ?", moves)

    seqs = {seq for seq, _ in found(tampered(path, act=swap))}
    assert {6, 7} <= seqs


def test_an_entry_that_was_changed_together_with_its_own_hash_breaks_the_next(path: Path):
    def forge(connection: sqlite3.Connection) -> None:
        row = connection.execute(
            "SELECT prev, workstation, link, payload FROM entries WHERE seq = 6"
        ).fetchone()
        payload = row[3].replace("1997", "1797")
        told = hash_of(
            row[0], seq=6, workstation=row[1], link=row[2], saved_at=None, payload=payload.encode()
        )
        connection.execute("UPDATE entries SET payload = ?, hash = ? WHERE seq = 6", (payload, told))

    assert found(tampered(path, act=forge)) == [(7, "prev")]


def test_an_entry_put_in_at_the_end_without_its_hash(path: Path):
    slipped = (
        "INSERT INTO entries SELECT 9, workstation, 9, 'x', session, kind, at_utc, line, target, saved_at, "
        "replace(payload, '\"r5\"', '\"x\"'), hash, hash FROM entries WHERE seq = 8"
    )
    assert found(tampered(path, slipped)) == [(9, "hash")]


def test_the_head_written_down_elsewhere_shows_a_journal_that_was_made_anew(path: Path, tmp_path: Path):
    with SqliteJournal(path) as journal:
        before, name = journal.verify().head, journal.workstation
        events = [stored.event for stored in journal.read_after(0)]
    with SqliteJournal(tmp_path / "forged", workstation=name) as journal:
        journal.append([*events[:-1], event("bag_read", "r5", line="A", left_ml=1000)])
        verdict = journal.verify()
    assert verdict.whole
    assert verdict.head != before


@pytest.mark.parametrize(
    ("statement", "kind", "name"),
    [
        ("DROP TRIGGER entries_never_changed", "guard_missing", "trigger entries_never_changed"),
        ("DROP INDEX one_opening", "guard_missing", "index one_opening"),
        ("CREATE TABLE notes (text)", "guard_strange", "table notes"),
        ("CREATE TRIGGER sly AFTER INSERT ON entries BEGIN SELECT 1; END", "guard_strange", "trigger sly"),
    ],
)
def test_a_guard_that_was_taken_out_or_put_in(path: Path, statement: str, kind: str, name: str):
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute(statement)
    connection.close()
    with SqliteJournal(path) as journal:
        (broken,) = journal.verify().breaks
    assert (broken.seq, broken.kind) == (0, kind)
    assert name in broken.text


def test_a_guard_that_was_weakened(path: Path):
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("DROP TRIGGER entries_never_changed")
    connection.execute(
        "CREATE TRIGGER entries_never_changed BEFORE UPDATE OF id ON entries BEGIN SELECT RAISE(ABORT, 'x'); END"
    )
    connection.close()
    with SqliteJournal(path) as journal:
        assert found(journal.verify()) == [(0, "guard_changed")]


def test_each_break_says_what_it_is(path: Path):
    verdict = tampered(path, "DELETE FROM entries WHERE seq = 6")
    assert verdict.breaks[0].text == "Entries 6 to 6 are missing."
