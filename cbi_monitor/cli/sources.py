"""Where a command's charts come from: session files, or a journal; and which ward files it goes by."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from cbi_monitor.cli.faults import WrongUse
from cbi_monitor.journal.codec import read_session_file
from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.model.events import Event
from cbi_monitor.model.findings import Refusal, Refused
from cbi_monitor.model.ward import EffluentScale, WardRules
from cbi_monitor.ward.settings_in_force import InForce, WardFiles
from cbi_monitor.wording import say


@dataclass(frozen=True, slots=True)
class Chart:
    """One session's entries and the file that they came from."""

    file: str
    session: str
    events: tuple[Event, ...]

    def ledger(self, ward: WardRules, scale: EffluentScale) -> Ledger:
        """The session reckoned."""
        ledger = Ledger(self.session, ward, scale)
        ledger.fold_all(self.events)
        return ledger

    @property
    def last_known(self) -> datetime:
        """When the last entry happened or was typed."""
        return max(max(event.at, event.typed_at) for event in self.events)


def in_force(args: argparse.Namespace) -> InForce:
    """Ward file, scale and thresholds as the command line names them. Raises Refused with every fault."""
    return InForce(WardFiles(ward=args.ward, scale=args.effluent, thresholds=args.thresholds), strict=True)


def one_chart(args: argparse.Namespace) -> Chart:
    """The one session that the command is about. Raises WrongUse where several could be meant."""
    files = [args.session_file] if args.session_file is not None else []
    charts = list(_charts(files, args.journal, args.session))
    if len(charts) > 1:
        names = ", ".join(chart.session for chart in charts)
        raise WrongUse(say("cli-several-sessions", where=charts[0].file, names=names))
    return charts[0]


def all_charts(args: argparse.Namespace) -> Iterator[Chart]:
    """Every session that the command names, file by file."""
    return _charts(args.session_files, args.journal, args.session)


def _charts(files: Sequence[Path], journal: Path | None, session: str | None) -> Iterator[Chart]:
    if files and journal is not None:
        raise WrongUse(say("cli-file-and-journal"))
    if not files and journal is None:
        raise WrongUse(say("cli-no-source"))
    refusals: list[Refusal] = []
    found = False
    for file in files:
        try:
            events = read_session_file(file)
        except Refused as refused:
            refusals.extend(refused.refusals)
            continue
        for chart in _split(str(file), events, session):
            found = True
            yield chart
    if journal is not None:
        for chart in _from_journal(journal, session):
            found = True
            yield chart
    if refusals:
        raise Refused(tuple(refusals))
    if not found:
        where = str(journal if journal is not None else files[0])
        raise WrongUse(say("cli-no-such-session", where=where, session=session or "-"))


def _split(file: str, events: Sequence[Event], session: str | None) -> Iterator[Chart]:
    by_session: dict[str, list[Event]] = {}
    for event in events:
        by_session.setdefault(event.session, []).append(event)
    for name, own in by_session.items():
        if session is None or name == session:
            yield Chart(file, name, tuple(own))


def _from_journal(path: Path, session: str | None) -> Iterator[Chart]:
    from cbi_monitor.cli.journal import open_to_read

    with open_to_read(path) as journal:
        names = list(journal.sessions())
        for name in names:
            if session is None or name == session:
                yield Chart(str(path), name, tuple(journal.events(name)))
