"""Sessions into a journal and out of it, as session files: all of several files or nothing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from cbi_monitor.journal import checks
from cbi_monitor.journal.checks import Placed
from cbi_monitor.journal.codec import parse_file, session_bytes, write_session_file
from cbi_monitor.journal.port import Journal
from cbi_monitor.journal.words import refusal
from cbi_monitor.model.events import Event
from cbi_monitor.model.findings import Refusal, Refused


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import did: how many entries came in, how many stood there already, and which sessions they belong to."""

    added: int
    already: int
    sessions: tuple[str, ...]


def import_files(journal: Journal, paths: Iterable[Path | str]) -> Imported:
    """Take all entries of all files into the journal in one transaction; a file taken twice adds nothing.

    A file may correct entries of another one or of the journal. Raises Refused with every fault of every file (what
    entries are together is looked at once every line could be read), Fault; nothing is taken then.
    """
    entries: list[Placed] = []
    refusals: list[Refusal] = []
    for path in paths:
        parsed = parse_file(path)
        entries.extend(parsed.entries)
        refusals.extend(parsed.refusals)
    entries, clashes = checks.without_twins(entries)
    refusals.extend(clashes)
    if refusals:
        raise Refused(tuple(refusals))
    return _take(journal, entries)


def import_events(journal: Journal, events: Sequence[Event], *, where: str = "") -> Imported:
    """Take entries that were made from another chart; their places are said by their ``source``. Raises as above."""
    return _take(journal, [Placed(event, event.source or where) for event in events])


def _take(journal: Journal, entries: Sequence[Placed]) -> Imported:
    places = {entry.event.id: (entry.where, entry.line) for entry in entries}
    saved = journal.append([entry.event for entry in entries], places=places)
    sessions = tuple(dict.fromkeys(entry.event.session for entry in entries))
    return Imported(len(saved.ids), len(saved.already), sessions)


def export_bytes(journal: Journal, session: str) -> bytes:
    """One session as a session file: canonical lines in the total order. Raises Refused where there is no such session.

    The same entries give the same bytes, whatever order they came in and whichever journal holds them.
    """
    events = journal.events(session)
    if not events:
        known = ", ".join(journal.sessions()) or "-"
        raise Refused((refusal("no-session", where=session, session=session, known=known),))
    return session_bytes(events)


def export_file(journal: Journal, session: str, path: Path | str) -> int:
    """Write one session into a file, whole or not at all, and say how many entries. Raises Refused, OSError."""
    events = journal.events(session)
    if not events:
        export_bytes(journal, session)
    write_session_file(path, events)
    return len(events)
