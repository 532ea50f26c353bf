"""``cbi-monitor journal``: verify, back up, restore, import, export; and the schema of session files."""

from __future__ import annotations

import argparse
import contextlib
import sys
from collections.abc import Iterator
from pathlib import Path

from cbi_monitor.cli.faults import WrongUse
from cbi_monitor.cli.output import json_text
from cbi_monitor.journal.codec import write_session_file
from cbi_monitor.journal.port import Verdict
from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.journal.transfer import Imported, export_bytes, import_events, import_files
from cbi_monitor.model.events import Event
from cbi_monitor.model.findings import Refusal, Refused
from cbi_monitor.ward.places import journal_file
from cbi_monitor.wording import say


def path_of(args: argparse.Namespace) -> Path:
    """The journal that the command names, or the ward's own."""
    named: Path | None = args.journal
    return named if named is not None else journal_file()


@contextlib.contextmanager
def open_to_read(path: Path) -> Iterator[SqliteJournal]:
    """A journal that is only read. Raises Fault where there is none."""
    with SqliteJournal(path, create=False, read_only=True) as journal:
        yield journal


def verify(args: argparse.Namespace) -> int:
    """Recompute everything; each break is named on stderr."""
    path = path_of(args)
    with open_to_read(path) as journal:
        return _tell(path, journal.verify())


def _tell(path: Path, verdict: Verdict) -> int:
    print(say("cli-verified", file=str(path), entries=verdict.entries, sessions=verdict.sessions))
    for workstation, head in sorted(verdict.head.items()):
        print(say("cli-head", workstation=workstation, head=head))
    for found in verdict.breaks:
        print(f"{path}:{found.seq}: {found.text}" if found.seq else f"{path}: {found.text}", file=sys.stderr)
    print(say("cli-whole" if verdict.whole else "cli-not-whole", count=len(verdict.breaks)))
    return 0 if verdict.whole else 1


def backup(args: argparse.Namespace) -> int:
    """Copy the journal into a new file, verified."""
    from cbi_monitor.journal.backup import backup as copy

    verdict = copy(path_of(args), args.copy, progress=_Pages())
    print(say("cli-backed-up", file=str(args.copy), entries=verdict.entries))
    return _tell(args.copy, verdict)


def restore(args: argparse.Namespace) -> int:
    """Put a copy in the place of a journal, where none is."""
    from cbi_monitor.journal.backup import restore as put_back

    path = path_of(args)
    verdict = put_back(args.copy, path, progress=_Pages())
    print(say("cli-restored", file=str(path), entries=verdict.entries))
    return _tell(path, verdict)


class _Pages:
    """Tells how many pages are done, on a terminal only."""

    def __call__(self, done: int, of: int) -> None:
        if sys.stderr.isatty():
            end = "\n" if done >= of else ""
            sys.stderr.write(f"\r{say('cli-progress-pages')} {done}/{of}\x1b[K{end}")
            sys.stderr.flush()


def import_(args: argparse.Namespace) -> int:
    """Take session files, or charts by a map; all of them or nothing."""
    if args.sessions is not None and args.map is None:
        raise WrongUse(say("cli-sessions-without-map"))
    with SqliteJournal(path_of(args)) as journal:
        if args.map is None:
            done = import_files(journal, args.files)
        else:
            from cbi_monitor.journal.charts import read_chart, told
            from cbi_monitor.settings import load_chart_map

            chart_map = load_chart_map(args.map)
            events: list[Event] = []
            refusals: list[Refusal] = []
            said: list[str] = []
            for file in args.files:
                try:
                    read = read_chart(file, chart_map, args.sessions)
                except Refused as refused:
                    refusals.extend(refused.refusals)
                    continue
                events.extend(read.events)
                said.extend(told(read.report, chart_map))
            if refusals:
                raise Refused(tuple(refusals))
            done = import_events(journal, events)
            print("\n".join(said))
    _tell_import(path_of(args), done)
    return 0


def _tell_import(path: Path, done: Imported) -> None:
    print(
        say(
            "cli-imported",
            file=str(path),
            added=done.added,
            already=done.already,
            sessions=len(done.sessions),
        )
    )
    for session in done.sessions:
        print(f"  {session}")


def export(args: argparse.Namespace) -> int:
    """Write the journal, or one session of it, as a session file."""
    out: Path = args.out
    if out.exists() and not args.overwrite:
        raise WrongUse(say("cli-there-already", file=str(out)))
    with open_to_read(path_of(args)) as journal:
        if args.session is not None:
            export_bytes(journal, args.session)  # says which sessions there are where this one is not
            events = journal.events(args.session)
        else:
            events = [event for session in journal.sessions() for event in journal.events(session)]
    write_session_file(out, events)
    print(say("cli-exported", file=str(out), entries=len(events)))
    return 0


def schema(_args: argparse.Namespace) -> int:
    """Print the JSON Schema of one line of a session file."""
    from cbi_monitor.journal.schema import session_schema

    print(json_text(session_schema()))
    return 0
