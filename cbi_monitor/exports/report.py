"""One session, one span of time: the shift report and its tables, written into a folder.

The command line and the desk call ``write_report``; everything else in this room can be called on its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Literal

from cbi_monitor import __version__
from cbi_monitor.alerts.life import AlertState
from cbi_monitor.exports.borders import shift_at, shifts_between
from cbi_monitor.exports.chart import AlertLine, Answer, alerts_shown, chart_entries
from cbi_monitor.exports.clock import WardClock
from cbi_monitor.exports.csv import csv_bytes
from cbi_monitor.exports.names import Nameless
from cbi_monitor.exports.safe import refuse_existing, write_whole
from cbi_monitor.exports.shift_types import Told
from cbi_monitor.exports.table import Table
from cbi_monitor.exports.tables import session_tables
from cbi_monitor.exports.told import Teller
from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.model.events import Answered, Corrected, Event, StruckOut
from cbi_monitor.model.instants import utc
from cbi_monitor.model.ward import EffluentScale, WardRules
from cbi_monitor.wording import say
from cbi_monitor.wording.alerts import AlertWords

Format = Literal["pdf", "csv", "xlsx", "fhir"]
FORMATS: tuple[Format, ...] = ("pdf", "csv", "xlsx", "fhir")


def alerts_computed(states: Iterable[AlertState], ward: WardRules, scale: EffluentScale) -> list[AlertLine]:
    """Alerts of a replay as lines, marked "computed later": nobody saw them. Those another spoke for are left out."""
    words = AlertWords(WardClock(ward.zone).zone, scale)
    lines = []
    for state in states:
        if state.spoke_at is None:
            continue
        for place, raised in enumerate(state.raises):
            until = state.raises[place + 1].at if place + 1 < len(state.raises) else state.cleared_at
            answers = tuple(
                Answer(a.at, a.by, a.kind, a.action or "")
                for a in state.answers
                if a.at >= raised.at and (until is None or a.at <= until)
            )
            lines.append(
                AlertLine(
                    state.id,
                    state.condition,
                    state.subject,
                    raised.priority,
                    raised.at,
                    until,
                    words.text(raised.reading, raised.at),
                    "",
                    answers,
                    "computed",
                )
            )
    return sorted(lines, key=lambda line: (line.raised_at, line.id))


def ledger_up_to(
    events: Iterable[Event], session: str, ward: WardRules, scale: EffluentScale, end: datetime
) -> Ledger:
    """The ledger of what happened up to ``end``, with every correction and answer known today laid over."""
    known = list(events)
    happened = {entry.event.id for entry in chart_entries(known) if utc(entry.at) <= utc(end)}
    laid: set[str] = set()
    for event in known:
        if isinstance(event, Corrected) and event.target in happened:
            laid.add(event.id)
    wanted = [
        event
        for event in known
        if (isinstance(event, Corrected) and event.id in laid)
        or (isinstance(event, StruckOut) and (event.target in happened or event.target in laid))
        or (isinstance(event, Answered) and _finding_entry(event.finding) in happened)
        or (not isinstance(event, (Corrected, StruckOut, Answered)) and event.id in happened)
    ]
    ledger = Ledger(session, ward, scale)
    ledger.fold_all(wanted)
    return ledger


def _correction_strikes(events: Iterable[Event]) -> tuple[StruckOut, ...]:
    known = list(events)
    corrections = {event.id for event in known if isinstance(event, Corrected)}
    return tuple(event for event in known if isinstance(event, StruckOut) and event.target in corrections)


def _finding_entry(finding: str) -> str:
    return finding.partition(":")[2]


@dataclass(frozen=True, slots=True)
class Prepared:
    """All content of one report; ``render`` turns it into files."""

    told: Told
    tables: Mapping[str, Table]
    stem: str
    session: str

    def render(self, formats: Iterable[str]) -> dict[str, bytes]:
        """File names with their bytes. Raises ValueError for a format that is not known."""
        made: dict[str, bytes] = {}
        for name in formats:
            if name not in _RENDER:
                raise ValueError(f"{name}: not a format of reports; write {', '.join(FORMATS)}")
            made.update(_RENDER[name](self))
        return made


def prepare(
    events: Sequence[Event],
    ward: WardRules,
    scale: EffluentScale,
    thresholds_hash: str,
    start: datetime,
    end: datetime,
    *,
    printed_at: datetime,
    computed: Iterable[AlertState] = (),
    staff: Mapping[str, str] | None = None,
    shift: str = "",
    demo: bool = False,
    nameless: bool = False,
) -> Prepared:
    """The content of one session's report between ``start`` and ``end``.

    A report printed before ``end`` (or in the middle of a shift) tells how the bed stood when it was printed.
    ``computed``: alerts of a replay, used where the journal holds none that were shown. ``staff``: id to name and role.
    Raises ValueError where there are no events, where ``end`` is not after ``start``, or events are of two sessions.
    """
    start, end = utc(start), utc(end)
    if end <= start:
        raise ValueError("the end of a report must be after its start")
    sessions = {event.session for event in events}
    if len(sessions) != 1:
        raise ValueError(f"a report is of one session; these events are of {len(sessions)}")
    session = next(iter(sessions))
    known = list(events)
    states = list(computed)
    if nameless:
        cloak = Nameless()
        known, session = cloak.without_names(known), cloak.session(session)
    book = Ledger(session, ward, scale)
    book.fold_all(known)
    end = max(min(end, utc(printed_at)), start + timedelta(minutes=1))
    clock = WardClock(ward.zone)
    teller = Teller(clock, scale, ward)
    lines = alerts_shown(book.events) or alerts_computed(states, ward, scale)
    if nameless:
        lines = [_nameless_line(line) for line in lines]
    entries = chart_entries(known)
    spans = shifts_between(ward, start, end)
    name = shift or (
        " + ".join(span.name for span in spans) if len(spans) <= 2 else say("report-several-shifts")
    )
    told = Told(
        book=book,
        as_stood=ledger_up_to(known, session, ward, scale, end),
        entries=entries,
        alerts=lines,
        ward=ward,
        scale=scale,
        teller=teller,
        start=start,
        end=end,
        shift=name,
        staff={} if nameless else dict(staff or {}),
        thresholds_hash=thresholds_hash,
        version=__version__,
        printed_at=printed_at,
        demo=demo,
        nameless=nameless,
        correction_strikes=_correction_strikes(known),
    )
    tables = session_tables(
        book, told.as_stood, entries, lines, ward, teller, told.from_, told.as_of or told.from_, end
    )
    stem = f"{_file_name(session)}_{clock.stamp(start)}_{clock.stamp(end)}"
    return Prepared(told, tables, stem, session)


def write_report(
    events: Sequence[Event],
    ward: WardRules,
    scale: EffluentScale,
    thresholds_hash: str,
    start: datetime,
    end: datetime,
    folder: Path,
    formats: Iterable[str],
    *,
    printed_at: datetime,
    computed: Iterable[AlertState] = (),
    staff: Mapping[str, str] | None = None,
    shift: str = "",
    demo: bool = False,
    nameless: bool = False,
    overwrite: bool = False,
) -> list[Path]:
    """Write the report into ``folder`` and give the paths.

    Everything is made before anything is written, and each file is written whole or not at all. Raises AlreadyThere
    (nothing written) where a file of that name exists and ``overwrite`` is not given; ValueError as ``prepare``.
    """
    made = prepare(
        events,
        ward,
        scale,
        thresholds_hash,
        start,
        end,
        printed_at=printed_at,
        computed=computed,
        staff=staff,
        shift=shift,
        demo=demo,
        nameless=nameless,
    ).render(formats)
    paths = {folder / name: content for name, content in made.items()}
    refuse_existing(list(paths), overwrite=overwrite)
    return [write_whole(path, content, overwrite=overwrite) for path, content in paths.items()]


def whole_span(events: Iterable[Event], ward: WardRules) -> tuple[datetime, datetime]:
    """From the start of the first shift in which anything is charted to the end of the last. Raises ValueError."""
    times = [utc(entry.at) for entry in chart_entries(events)]
    if not times:
        raise ValueError("nothing is charted")
    return shift_at(ward, min(times)).start, shift_at(ward, max(times)).end


def _nameless_line(line: AlertLine) -> AlertLine:
    number = say("report-nameless-alert", condition=line.condition)
    return AlertLine(
        number,
        line.condition,
        line.subject,
        line.priority,
        line.raised_at,
        line.cleared_at,
        line.text,
        line.cleared_text,
        line.answers,
        line.basis,
    )


def _file_name(session: str) -> str:
    kept = "".join(c if c.isalnum() or c in "-_" else "-" for c in session)
    return kept.strip("-") or "session"


def _pdf(made: Prepared) -> dict[str, bytes]:
    from cbi_monitor.exports.pdf.shift import shift_pdf
    from cbi_monitor.exports.shift_content import shift_report

    return {f"{made.stem}_report.pdf": shift_pdf(shift_report(made.told))}


def _csv(made: Prepared) -> dict[str, bytes]:
    clock = made.told.teller.clock
    return {f"{made.stem}_{name}.csv": csv_bytes(table, clock) for name, table in made.tables.items()}


def _xlsx(made: Prepared) -> dict[str, bytes]:
    from cbi_monitor.exports.shift_content import shift_report
    from cbi_monitor.exports.xlsx import xlsx_bytes

    told = made.told
    report = shift_report(told)
    about = [
        (say("report-cautions"), " ".join(report.cautions)),
        (say("report-about-span"), report.when),
        *report.head,
        (say("report-about-net"), say("report-net-once")),
        (say("report-about-foot"), report.foot),
    ]
    if told.demo:
        about.insert(0, (say("report-demo"), say("report-demo-note")))
    if told.nameless:
        about.append((say("report-no-names"), say("report-no-names-note")))
    title = f"{report.bed} · {report.title}"
    return {
        f"{made.stem}_tables.xlsx": xlsx_bytes(
            made.tables, told.teller.clock, title=title, about=about, printed_at=told.printed_at
        )
    }


def _fhir(made: Prepared) -> dict[str, bytes]:
    from cbi_monitor.exports.fhir import bundle_bytes

    return {f"{made.stem}_fhir.json": bundle_bytes(made.told, made.session)}


_RENDER: dict[str, Callable[[Prepared], dict[str, bytes]]] = {
    "pdf": _pdf,
    "csv": _csv,
    "xlsx": _xlsx,
    "fhir": _fhir,
}
