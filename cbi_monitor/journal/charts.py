"""Other charts: a table of items becomes events, by a map.

Every row that can be read becomes an event as it stands, with ``source`` "file:line" and ``recorded`` from the time it
was stored; rows that make no sense (28,000 mL; stored before the time they are charted for) become findings in the
ledger, by that source. What cannot be read is refused, all faults at once, and then nothing of the chart is taken.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta, timezone, tzinfo
from decimal import Decimal
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import ValidationError

from cbi_monitor.journal.chart_table import Table, TableRow, guess, quoted, read_table, refuse
from cbi_monitor.journal.words import refusals_of
from cbi_monitor.model.canonical import with_derived_ids
from cbi_monitor.model.chart_map import ChartItem, ChartMap, fixed_zone
from cbi_monitor.model.events import BY_NAME, Event, SessionClosed, SessionOpened, StruckOut
from cbi_monitor.model.findings import Refusal, Refused
from cbi_monitor.model.instants import format_instant, speakable, utc
from cbi_monitor.wording import say

_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d{1,3})?", re.ASCII | re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class ChartReport:
    """What was read, and what was not.

    ``taken``: entries by item code. ``unmapped``: rows of items that the map does not know, by code. ``left_out``: rows
    of items that the map leaves out, by code; ``left_out_words``: rows by code and word. ``opened_earlier``: sessions
    charted before their opening, with the time in the table and the time of the first entry. ``clock_twice``: lines
    whose time lies in an hour that the clock showed twice.
    """

    rows: int
    taken: Mapping[str, int]
    unmapped: Mapping[str, int]
    left_out: Mapping[str, int]
    left_out_words: Mapping[tuple[str, str], int]
    marked_wrong: int
    stored_before: int
    sessions: tuple[str, ...]
    without_details: tuple[str, ...]
    unused_sessions: int
    opened_earlier: Mapping[str, tuple[datetime, datetime]]
    clock_twice: tuple[int, ...]
    ended: bool


@dataclass(frozen=True, slots=True)
class ReadChart:
    """The events of a chart, each with an id, in the order of its rows (openings first), and the report on it."""

    events: tuple[Event, ...]
    report: ChartReport


def read_chart(path: Path, chart_map: ChartMap, sessions: Path | None = None) -> ReadChart:
    """The events of another chart.

    ``sessions``: the table of sessions; None: the file that the map names, beside the chart. Raises Refused with every
    line that cannot be read.
    """
    return _Reader(path, chart_map, sessions).read()


def told(report: ChartReport, chart_map: ChartMap) -> list[str]:
    """The report in sentences, the count of what was taken first."""
    lines = [
        say(
            "charts-told-rows",
            rows=report.rows,
            taken=sum(report.taken.values()),
            sessions=len(report.sessions),
        )
    ]
    for code, count in report.taken.items():
        item = chart_map.items[code]
        lines.append(say("charts-told-item", count=count, words=item.words, code=code, event=item.event))
    if report.marked_wrong:
        lines.append(say("charts-told-wrong", count=report.marked_wrong))
    lines += [say("charts-told-unmapped", count=n, code=code) for code, n in report.unmapped.items()]
    why = chart_map.left_out or {}
    lines += [
        say("charts-told-left-out", count=n, code=code, why=why[code]) for code, n in report.left_out.items()
    ]
    for (code, word), count in report.left_out_words.items():
        lines.append(say("charts-told-left-out-word", count=count, code=code, word=word))
    if report.stored_before:
        lines.append(say("charts-told-stored-before", count=report.stored_before))
    lines += [say("charts-told-no-details", session=session) for session in report.without_details]
    if report.unused_sessions:
        lines.append(say("charts-told-unused", count=report.unused_sessions))
    for session, (opened, charted) in report.opened_earlier.items():
        times = {"opened": format_instant(opened), "charted": format_instant(charted)}
        lines.append(say("charts-told-opened-earlier", session=session, **times))
    if report.clock_twice:
        which = chart_map.chart.clock_going_back
        lines.append(say("charts-told-twice-hour", count=len(report.clock_twice), which=which))
    if not report.ended:
        lines.append(say("charts-told-not-ended"))
    return lines


def _plain(number: Decimal) -> float:
    """The number as an entry writes it: without a point where it is whole."""
    value = float(number)
    return int(value) if value.is_integer() and abs(value) < 2**53 else value


class _Unreadable(Exception):
    """A cell that cannot be read; carries its refusal."""

    def __init__(self, *refusals: Refusal) -> None:
        super().__init__(*refusals)
        self.refusals = refusals


@dataclass(slots=True)
class _Counts:
    taken: Counter[str] = field(default_factory=Counter)
    unmapped: Counter[str] = field(default_factory=Counter)
    left_out: Counter[str] = field(default_factory=Counter)
    left_out_words: Counter[tuple[str, str]] = field(default_factory=Counter)
    marked_wrong: int = 0
    stored_before: int = 0
    unused_sessions: int = 0
    without_details: list[str] = field(default_factory=list)
    opened_earlier: dict[str, tuple[datetime, datetime]] = field(default_factory=dict)
    clock_twice: list[int] = field(default_factory=list)


class _Reader:
    def __init__(self, path: Path, chart_map: ChartMap, sessions: Path | None) -> None:
        self.path = path
        self.map = chart_map
        self.sessions_path = sessions
        self.zone: tzinfo = fixed_zone(chart_map.chart.zone) or ZoneInfo(chart_map.chart.zone)
        self.refusals: list[Refusal] = []
        self.counts = _Counts()

    def read(self) -> ReadChart:
        form, columns = self.map.chart, self.map.columns
        names = (
            columns.session, columns.charted, columns.stored, columns.item, columns.value, columns.unit,
            columns.by, columns.marked_wrong,
        )  # fmt: skip
        needed = [name for name in names if name is not None]
        table = read_table(self.path, form.encoding, form.delimiter, needed, self.refusals)
        entries = [entry for row in table.rows for entry in self._row(table.where, row)]
        first: dict[str, datetime] = {}
        for event, _ in entries:
            if event.session not in first or utc(event.at) < utc(first[event.session]):
                first[event.session] = event.at
        frames = self._frames(first, table.where) if form.opens_sessions else []
        if self.refusals:
            raise Refused(
                tuple(sorted(self.refusals, key=lambda fault: (fault.where, fault.line, fault.field)))
            )
        opened = [event for event in frames if isinstance(event, SessionOpened)]
        closed = [event for event in frames if isinstance(event, SessionClosed)]
        events = with_derived_ids([*opened, *(event for event, _ in entries), *closed])
        wrong = [bad for _, bad in entries]
        strikes = [
            _strike(event)
            for event, bad in zip(events[len(opened) : len(opened) + len(entries)], wrong, strict=True)
            if bad
        ]
        return ReadChart((*events, *with_derived_ids(strikes)), self._report(table, tuple(first)))

    def _report(self, table: Table, sessions: tuple[str, ...]) -> ChartReport:
        counts = self.counts
        return ChartReport(
            rows=len(table.rows),
            taken=dict(counts.taken),
            unmapped=dict(counts.unmapped),
            left_out=dict(counts.left_out),
            left_out_words=dict(counts.left_out_words),
            marked_wrong=counts.marked_wrong,
            stored_before=counts.stored_before,
            sessions=sessions,
            without_details=tuple(counts.without_details),
            unused_sessions=counts.unused_sessions,
            opened_earlier=counts.opened_earlier,
            clock_twice=tuple(counts.clock_twice),
            ended=table.ended,
        )

    # --- the chart's rows ---

    def _row(self, where: str, row: TableRow) -> Iterator[tuple[Event, bool]]:
        """The event of a row and whether the chart marks it as wrong; nothing where it is left out or refused."""
        columns = self.map.columns
        code = row.cells[columns.item]
        item = self.map.items.get(code)
        if not code:
            self.refusals.append(refuse("blank", where, row.line, columns.item, name=columns.item))
            return
        if item is None:
            (self.counts.left_out if code in (self.map.left_out or {}) else self.counts.unmapped)[code] += 1
            return
        word = row.cells[columns.value]
        if word in (item.leave_out or ()):
            self.counts.left_out_words[(code, word)] += 1
            return
        event = self._event(where, row, item)
        if event is None:
            return
        self.counts.taken[code] += 1
        if event.recorded is not None and utc(event.recorded) < utc(event.at):
            self.counts.stored_before += 1
        wrong = columns.marked_wrong is not None and row.cells[columns.marked_wrong] in (
            columns.wrong_words or ()
        )
        self.counts.marked_wrong += wrong
        yield event, wrong

    def _event(self, where: str, row: TableRow, item: ChartItem) -> Event | None:
        columns = self.map.columns
        payload: dict[str, Any] = {**(item.fields or {}), "source": f"{where}:{row.line}"}
        faults: list[Refusal] = []
        try:
            payload["session"] = self.map.chart.session_prefix + self._filled(where, row, columns.session)
        except _Unreadable as fault:
            faults += fault.refusals
        for name, column in (("at", columns.charted), ("recorded", columns.stored)):
            if column is None or (name == "recorded" and not row.cells[column]):
                continue
            try:
                payload[name] = self._time(where, row, column)
            except _Unreadable as fault:
                faults += fault.refusals
        try:
            payload[item.value_to] = self._value(where, row, item)
        except _Unreadable as fault:
            faults += fault.refusals
        if columns.by is not None and row.cells[columns.by]:
            payload["by"] = row.cells[columns.by]
        kind = BY_NAME[item.event]
        if not faults:
            try:
                return kind.model_validate(payload)
            except ValidationError as fault:
                told_of = {item.value_to: columns.value, "at": columns.charted, "by": columns.by or "by"}
                faults += [
                    Refusal(where, row.line, 0, told_of.get(one.field, one.field), one.what, one.write)
                    for one in refusals_of(fault, kind, payload, where=where, line=row.line, text="")
                ]
        self.refusals += faults
        return None

    @staticmethod
    def _filled(where: str, row: TableRow, column: str) -> str:
        cell = row.cells[column]
        if not cell:
            raise _Unreadable(refuse("blank", where, row.line, column, name=column))
        return cell

    def _value(self, where: str, row: TableRow, item: ChartItem) -> float | str:
        column = self.map.columns.value
        cell = self._filled(where, row, column)
        if item.unit is not None:
            return _plain(self._number(where, row, column) * self._factor(where, row, item.unit))
        if item.values is not None:
            if cell not in item.values:
                near = guess(cell, item.values)
                known = ", ".join([*item.values, *(item.leave_out or ())])
                facts = {"given": quoted(cell), "known": known, "guess": near or ""}
                write = "word-guess" if near else None
                raise _Unreadable(refuse("word", where, row.line, column, write=write, **facts))
            cell = item.values[cell]
        return (item.text_before or "") + cell

    def _number(self, where: str, row: TableRow, column: str) -> Decimal:
        cell, decimal = self._filled(where, row, column), self.map.chart.decimal
        plain = cell if decimal == "." else cell.replace(".", "?").replace(",", ".")
        if _NUMBER.fullmatch(plain):
            return Decimal(plain)
        kind = "decimal" if re.search(r"\d[.,' ]\d", cell) else "number"
        raise _Unreadable(refuse(kind, where, row.line, column, given=quoted(cell), decimal=decimal))

    def _factor(self, where: str, row: TableRow, unit: str) -> Decimal:
        column = self.map.columns.unit
        if column is None:
            return Decimal(1)
        cell = row.cells[column]
        known = self.map.units[unit]
        if cell not in known:
            kind = "unit" if cell else "unit-blank"
            facts = {"given": quoted(cell), "unit": unit, "known": ", ".join(known)}
            raise _Unreadable(refuse(kind, where, row.line, column, write="unit", **facts))
        return Decimal(repr(known[cell]))

    # --- times ---

    def _time(self, where: str, row: TableRow, column: str) -> datetime:
        cell = self._filled(where, row, column)
        form = self.map.chart.time_format
        try:
            at = datetime.fromisoformat(cell) if form is None else datetime.strptime(cell, form)  # noqa: DTZ007
        except ValueError:
            example = "2026-03-01 07:00:00" if form is None else form
            raise _Unreadable(
                refuse("time", where, row.line, column, given=quoted(cell), example=example)
            ) from None
        if not speakable(at):
            raise _Unreadable(refuse("year", where, row.line, column, given=quoted(cell)))
        if at.tzinfo is None:
            at = self._in_zone(where, row, column, at)
        # The offset as it was, without the zone's rules: what is read back from a session file is then equal.
        return at.astimezone(timezone(at.utcoffset() or timedelta(0)))

    def _in_zone(self, where: str, row: TableRow, column: str, naive: datetime) -> datetime:
        early, late = naive.replace(tzinfo=self.zone), naive.replace(tzinfo=self.zone, fold=1)
        if early.utcoffset() == late.utcoffset():
            return early
        facts = {"given": quoted(row.cells[column]), "zone": self.map.chart.zone}
        if utc(early).astimezone(self.zone).replace(tzinfo=None) != naive:
            raise _Unreadable(refuse("skipped-hour", where, row.line, column, **facts))
        if self.map.chart.clock_going_back == "refuse":
            raise _Unreadable(refuse("twice-hour", where, row.line, column, **facts))
        if where == self.path.name and row.line not in self.counts.clock_twice:
            self.counts.clock_twice.append(row.line)
        return early if self.map.chart.clock_going_back == "first" else late

    # --- sessions ---

    def _frames(self, first: Mapping[str, datetime], chart: str) -> list[Event]:
        """The opening of each session, and its closing where the table of sessions gives one."""
        plan = self.map.sessions
        if plan is None:
            return [
                SessionOpened(session=session, at=at, patient=session, source=chart)
                for session, at in first.items()
            ]
        path = self.sessions_path or self.path.with_name(plan.file)
        form = self.map.chart
        names = (
            plan.id, plan.patient, plan.bed, plan.weight_kg, plan.age_years, plan.sex, plan.operation,
            plan.opened, plan.closed,
        )  # fmt: skip
        needed = [name for name in names if name is not None]
        table = read_table(path, form.encoding, form.delimiter, needed, self.refusals)
        frames: list[Event] = []
        lines: dict[str, int] = {}
        for row in table.rows:
            session = form.session_prefix + row.cells[plan.id]
            if session in lines:
                facts = {"given": quoted(row.cells[plan.id]), "first": str(lines[session])}
                self.refusals.append(refuse("session-twice", table.where, row.line, plan.id, **facts))
            elif session in first:
                frames += self._frame(table.where, row, session, first[session])
            else:
                self.counts.unused_sessions += 1
            lines.setdefault(session, row.line)
        for session, at in first.items():
            if session not in lines:
                self.counts.without_details.append(session)
                frames.append(SessionOpened(session=session, at=at, patient=session, source=chart))
        return frames

    def _frame(self, where: str, row: TableRow, session: str, first: datetime) -> list[Event]:
        plan = self.map.sessions
        if plan is None:
            return []
        source = f"{where}:{row.line}"
        payload: dict[str, Any] = {"session": session, "source": source, "patient": session}
        columns = {
            "patient": plan.patient, "bed": plan.bed, "weight_kg": plan.weight_kg, "age_years": plan.age_years,
            "sex": plan.sex, "operation": plan.operation, "opened": plan.opened, "closed": plan.closed,
        }  # fmt: skip
        faults: list[Refusal] = []
        for name, column in columns.items():
            if column is None or not row.cells[column]:
                continue
            try:
                payload[name] = self._detail(where, row, name, column)
            except _Unreadable as fault:
                faults += fault.refusals
        if faults:
            self.refusals += faults
            return []
        opened, closed = payload.pop("opened", first), payload.pop("closed", None)
        if utc(first) < utc(opened):
            self.counts.opened_earlier[session] = (opened, first)
            opened = first
        try:
            frames: list[Event] = [SessionOpened.model_validate({**payload, "at": opened})]
        except ValidationError as fault:
            self.refusals += [
                Refusal(
                    where,
                    row.line,
                    0,
                    columns.get(one.field) or one.field,
                    one.what,
                    say("charts-session-write"),
                )
                for one in refusals_of(fault, SessionOpened, payload, where=where, line=row.line, text="")
            ]
            return []
        if closed is not None and plan.closed_reason is not None:
            frames.append(SessionClosed(session=session, at=closed, reason=plan.closed_reason, source=source))
        return frames

    def _detail(self, where: str, row: TableRow, name: str, column: str) -> datetime | float | str:
        plan = self.map.sessions
        if name in ("opened", "closed"):
            return self._time(where, row, column)
        if name in ("weight_kg", "age_years"):
            return _plain(self._number(where, row, column))
        cell = row.cells[column]
        if name != "sex" or plan is None:
            return cell
        words = plan.sex_words or {}
        if cell not in words:
            facts = {"given": quoted(cell), "known": ", ".join(words)}
            raise _Unreadable(refuse("sex", where, row.line, column, **facts))
        return words[cell]


def _strike(event: Event) -> StruckOut:
    """The chart took this entry back: it stays on the chart, struck out."""
    return StruckOut(
        session=event.session,
        at=event.at,
        recorded=event.recorded,
        target=event.id,
        reason=say("charts-wrong-reason"),
        source=event.source,
    )
