"""The journal in one SQLite file: append-only, hash-chained, on disk before "saved" is said."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, Self

from cbi_monitor.journal import checks
from cbi_monitor.journal.chain import hash_of, root_of
from cbi_monitor.journal.checks import Placed
from cbi_monitor.journal.opening import fault_of, opened, own_name, told, writing
from cbi_monitor.journal.port import Fault, Place, Saved, Stored, Verdict
from cbi_monitor.journal.rows import ROW, Ready, asked, columns_of, context, event_of, made_ready, sortable
from cbi_monitor.model.canonical import order_key
from cbi_monitor.model.events import BagHung, Corrected, Event, SessionOpened, StruckOut, line_of
from cbi_monitor.model.findings import Refusal, Refused
from cbi_monitor.model.instants import format_instant

_INSERT = """
INSERT INTO entries
    (seq, workstation, link, id, session, kind, at_utc, line, target, saved_at, payload, prev, hash)
VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
"""


class SqliteJournal:
    """A journal in a file. One object may be used by several threads; several programs may have the same file open."""

    def __init__(
        self,
        path: Path | str,
        *,
        workstation: str | None = None,
        create: bool = True,
        read_only: bool = False,
        busy_seconds: float = 5.0,
    ) -> None:
        """Open the journal, or make it where there is none and ``create`` says so.

        ``workstation`` names the chain that entries saved here belong to; None: the name that the file got when it was
        made. ``busy_seconds``: how long to wait for another program that writes. Raises Fault.
        """
        self.path = Path(path)
        self.read_only = read_only
        self._lock = threading.RLock()
        self._hung: dict[tuple[str, str], str] = {}
        self._connection: sqlite3.Connection | None = None
        with self._guarded("open"):
            self._connection = opened(
                self.path, create=create, read_only=read_only, busy_seconds=busy_seconds
            )
            try:
                self.workstation = workstation or own_name(self._connection)
            except BaseException:
                self.close()
                raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # --- writing --------------------------------------------------------------------------------------------------

    def append(
        self,
        events: Sequence[Event],
        *,
        live_at: datetime | None = None,
        places: Mapping[str, Place] | None = None,
    ) -> Saved:
        """See ``port.Journal.append``."""
        ready = made_ready(events, live_at, places or {})
        saved_at = None if live_at is None else format_instant(live_at)
        with self._guarded("save") as connection, writing(connection):
            fresh, already = self._not_yet_there(connection, ready)
            refusals = self._refusals(connection, fresh)
            if refusals:
                raise Refused(tuple(refusals))
            seq = self._insert(connection, fresh, saved_at)
        self._remember_bags(fresh)
        return Saved(seq, tuple(one.event.id for one in fresh), already)

    def _not_yet_there(
        self, connection: sqlite3.Connection, ready: Sequence[Ready]
    ) -> tuple[list[Ready], tuple[str, ...]]:
        """What is new, and the ids of what stands there with the same content. Raises Refused for other content."""
        rows = asked(
            connection, "SELECT id, seq, payload FROM entries WHERE id IN", [r.event.id for r in ready]
        )
        there = {entry: (seq, payload) for entry, seq, payload in rows}
        if not there:
            return list(ready), ()
        clashes = [
            checks.id_taken(one.placed, f"{self.path.name} {there[one.event.id][0]}")
            for one in ready
            if one.event.id in there and there[one.event.id][1] != one.payload
        ]
        if clashes:
            raise Refused(tuple(clashes))
        return [one for one in ready if one.event.id not in there], tuple(there)

    def _refusals(self, connection: sqlite3.Connection, fresh: Sequence[Ready]) -> list[Refusal]:
        """What does not go together with what stands there. The usual entry is passed at a glance."""
        if all(self._plain(connection, one.event, fresh) for one in fresh):
            return []
        known = [Placed(event, self.path.name, seq) for seq, event in context(connection, fresh)]
        new = frozenset(one.event.id for one in fresh)
        return checks.together([*known, *(one.placed for one in fresh)], new=new)

    def _plain(self, connection: sqlite3.Connection, event: Event, fresh: Sequence[Ready]) -> bool:
        """Whether nothing that stands there can speak against this entry."""
        if isinstance(event, (Corrected, StruckOut)):
            return False
        if isinstance(event, SessionOpened):
            question = "SELECT 1 FROM entries WHERE session = ? AND kind = 'session_opened'"
            twice = sum(isinstance(one.event, SessionOpened) for one in fresh) > 1
            return not twice and connection.execute(question, (event.session,)).fetchone() is None
        line = line_of(event)
        if not line or not isinstance(event, (*checks.NEED_A_BAG, *checks.NEED_A_BAG_AMONG_BAGS)):
            return True
        since = self._hung.get((event.session, line))
        if since is None:
            question = "SELECT min(at_utc) FROM entries WHERE session = ? AND line = ? AND kind = 'bag_hung'"
            since = connection.execute(question, (event.session, line)).fetchone()[0]
            if since is None:
                return False
            # A hung bag is never taken out of the journal, so what was once true may be kept.
            self._hung[event.session, line] = since
        return since <= sortable(event.at)

    def _insert(self, connection: sqlite3.Connection, fresh: Sequence[Ready], saved_at: str | None) -> int:
        seq = int(connection.execute("SELECT coalesce(max(seq), 0) FROM entries").fetchone()[0])
        if not fresh:
            return seq
        question = "SELECT link, hash FROM entries WHERE workstation = ? ORDER BY link DESC LIMIT 1"
        tip = connection.execute(question, (self.workstation,)).fetchone()
        if tip is None:
            connection.execute("INSERT OR IGNORE INTO workstations (name) VALUES (?)", (self.workstation,))
            tip = (0, root_of(self.workstation))
        link, prev = int(tip[0]), bytes(tip[1])
        rows: list[tuple[Any, ...]] = []
        for one in fresh:
            event = one.event
            seq, link = seq + 1, link + 1
            mark = hash_of(
                prev,
                seq=seq,
                workstation=self.workstation,
                link=link,
                saved_at=saved_at,
                payload=one.payload.encode(),
            )
            rows.append((seq, self.workstation, link, *columns_of(event), saved_at, one.payload, prev, mark))
            prev = mark
        connection.executemany(_INSERT, rows)
        return seq

    def _remember_bags(self, fresh: Iterable[Ready]) -> None:
        for one in fresh:
            if isinstance(one.event, BagHung):
                key, at = (one.event.session, one.event.line), sortable(one.event.at)
                self._hung[key] = min(self._hung.get(key, at), at)

    # --- reading --------------------------------------------------------------------------------------------------

    def read_after(self, seq: int = 0) -> list[Stored]:
        """See ``port.Journal.read_after``."""
        with self._guarded("read") as connection:
            rows = connection.execute(f"{ROW} WHERE seq > ? ORDER BY seq", (seq,)).fetchall()
            return [Stored(number, event_of(number, payload)) for number, payload in rows]

    def sessions(self) -> list[str]:
        """See ``port.Journal.sessions``."""
        with self._guarded("read") as connection:
            rows = connection.execute("SELECT session FROM entries GROUP BY session ORDER BY min(seq)")
            return [session for (session,) in rows]

    def events(self, session: str) -> list[Event]:
        """See ``port.Journal.events``."""
        with self._guarded("read") as connection:
            rows = connection.execute(f"{ROW} WHERE session = ? ORDER BY seq", (session,)).fetchall()
            return sorted((event_of(seq, payload) for seq, payload in rows), key=order_key)

    def get(self, entry: str) -> Event | None:
        """See ``port.Journal.get``."""
        with self._guarded("read") as connection:
            row = connection.execute(f"{ROW} WHERE id = ?", (entry,)).fetchone()
            return None if row is None else event_of(*row)

    def verify(self) -> Verdict:
        """See ``port.Journal.verify``."""
        from cbi_monitor.journal.integrity import verify

        with self._guarded("verify") as connection:
            return verify(connection)

    def close(self) -> None:
        """See ``port.Journal.close``."""
        with self._lock:
            if self._connection is not None:
                self._connection.close()
                self._connection = None

    @contextmanager
    def _guarded(self, doing: str) -> Iterator[sqlite3.Connection]:
        """The connection, for one thread at a time; what the database says against it becomes a Fault."""
        with self._lock:
            if self._connection is None and doing != "open":
                raise told(Fault("closed", place=str(self.path)), doing)
            try:
                # While opening there is no connection yet; nothing asks for it then.
                yield self._connection  # type: ignore[misc]
            except Fault as fault:
                fault.place = fault.place or str(self.path)
                raise told(fault, doing) from fault.__cause__
            except (sqlite3.Error, OSError) as cause:
                raise told(fault_of(cause, self.path), doing) from cause
