"""Verifying a journal: everything that was stored is computed again, and what does not agree is named by its number."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from typing import Any

from cbi_monitor.journal.chain import hash_of, root_of
from cbi_monitor.journal.migrations import right_shape, shape_of
from cbi_monitor.journal.port import Break, Verdict
from cbi_monitor.journal.rows import columns_of
from cbi_monitor.model.canonical import canonical_bytes
from cbi_monitor.model.events import BY_NAME

_ROWS = """
SELECT seq, workstation, link, id, session, kind, at_utc, line, target, saved_at, payload, prev, hash
FROM entries NOT INDEXED ORDER BY seq
"""


def verify(connection: sqlite3.Connection) -> Verdict:
    """Whether the chain is whole, every payload canonical, every id there once, and the table guarded as it was made.

    Raises nothing about the content: what is wrong stands in the verdict, a damaged database file too.
    """
    breaks: list[Break] = []
    heads: dict[str, str] = {}
    entries, sessions = 0, set()
    try:
        connection.execute("BEGIN")  # one view of the journal, whatever is saved meanwhile
        breaks.extend(_of_the_file(connection))
        walk = _Walk()
        for row in connection.execute(_ROWS):
            breaks.extend(walk.step(row))
            entries += 1
            sessions.add(row[4])
        breaks.extend(walk.end(connection))
        heads = {name: tip.hex() for name, (_, tip) in walk.tips.items()}
    except sqlite3.DatabaseError as cause:
        breaks.append(_break(0, "database", detail=str(cause)))
    finally:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
    return Verdict(entries, len(sessions), heads, tuple(sorted(breaks, key=lambda one: one.seq)))


def _break(seq: int, kind: str, **facts: str | int) -> Break:
    from cbi_monitor.wording import say

    told = {name: str(value) for name, value in facts.items()}
    return Break(seq, kind, say(f"journal-break-{kind.replace('_', '-')}", seq=str(seq), **told))


def _of_the_file(connection: sqlite3.Connection) -> Iterator[Break]:
    """The database's own check, and whether tables, indexes and guards are those that a journal is made with."""
    for (word,) in connection.execute("PRAGMA integrity_check(20)"):
        if word != "ok":
            yield _break(0, "database", detail=word)
    for table, row, parent, _ in connection.execute("PRAGMA foreign_key_check"):
        yield _break(0, "database", detail=f"{table} {row} → {parent}")
    has, should = shape_of(connection), right_shape()
    for name in sorted(should.keys() - has.keys()):
        yield _break(0, "guard_missing", name=name)
    for name in sorted(has.keys() - should.keys()):
        yield _break(0, "guard_strange", name=name)
    for name in sorted(has.keys() & should.keys()):
        if has[name] != should[name]:
            yield _break(0, "guard_changed", name=name)


class _Walk:
    """One walk along all entries in order of arrival."""

    def __init__(self) -> None:
        self.last = 0
        self.ids: dict[str, int] = {}
        self.openings: dict[str, int] = {}
        self.tips: dict[str, tuple[int, bytes]] = {}

    def step(self, row: tuple[Any, ...]) -> Iterator[Break]:
        seq, workstation, link, entry, session, kind, at_utc, line, target, saved_at, payload, prev, told = (
            row
        )
        if seq != self.last + 1:
            yield _break(seq, "gap", first=self.last + 1, last=seq - 1)
        self.last = seq
        if entry in self.ids:
            yield _break(seq, "id_twice", id=entry, other=self.ids[entry])
        self.ids.setdefault(entry, seq)
        if kind == "session_opened":
            if session in self.openings:
                yield _break(seq, "opened_twice", session=session, other=self.openings[session])
            self.openings.setdefault(session, seq)
        link_before, tip = self.tips.get(workstation, (0, root_of(workstation)))
        if link != link_before + 1:
            yield _break(seq, "link", link=link, expected=link_before + 1)
        if bytes(prev) != tip:
            yield _break(seq, "prev")
        written = payload.encode()
        right = hash_of(prev, seq=seq, workstation=workstation, link=link, saved_at=saved_at, payload=written)
        if bytes(told) != right:
            yield _break(seq, "hash")
        # Go on from what is stored, so that one change is one break and not a break at every entry after it.
        self.tips[workstation] = (link, bytes(told))
        yield from _of_the_payload(seq, written, (entry, session, kind, at_utc, line, target))

    def end(self, connection: sqlite3.Connection) -> Iterator[Break]:
        """Whether entries were taken away at the end: SQLite remembers the highest number it ever gave."""
        row = connection.execute("SELECT seq FROM sqlite_sequence WHERE name = 'entries'").fetchone()
        highest = 0 if row is None else int(row[0])
        if highest < self.last:
            yield _break(0, "counter", highest=highest, last=self.last)
        elif highest > self.last:
            yield _break(self.last + 1, "end_missing", first=self.last + 1, last=highest)


def _of_the_payload(seq: int, written: bytes, columns: tuple[Any, ...]) -> Iterator[Break]:
    """Whether the payload is the canonical form of an entry, and what is kept beside it says the same."""
    try:
        told = json.loads(written)
        event = BY_NAME[told["event"]].model_validate(told)
        again = canonical_bytes(event)
    except (ValueError, KeyError, TypeError):
        yield _break(seq, "payload_unreadable")
        return
    if again != written:
        yield _break(seq, "payload_not_canonical")
    if columns_of(event) != columns:
        yield _break(seq, "columns")
