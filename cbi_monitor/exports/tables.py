"""The neutral tables of one session: rounds, hours, shifts, days, entries, alerts, what is passed on, findings.

Everything that leaves the ward is made from these, so that a figure is the same wherever it is read.
Volumes are whole mL, ends of ranges about 95 %, unknown is None.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from cbi_monitor.exports.borders import ShiftSpan, day_borders, hour_borders, shifts_between
from cbi_monitor.exports.chart import AlertLine, Book, ChartEntry
from cbi_monitor.exports.clock import WardClock
from cbi_monitor.exports.figures import ml
from cbi_monitor.exports.table import Cell, Column, Table
from cbi_monitor.exports.told import Teller, fields_words, kind_words, word
from cbi_monitor.ledger.account import Row, Standing
from cbi_monitor.model.canonical import payload_of
from cbi_monitor.model.findings import Fact, Finding, Remark
from cbi_monitor.model.instants import hours
from cbi_monitor.model.volumes import whole
from cbi_monitor.model.ward import WardRules
from cbi_monitor.wording import say

_SUMS = (
    Column("start", "time"),
    Column("end", "time"),
    Column("state", "word"),
    Column("irrigant_in_ml", "ml", "mL"),
    Column("washed_in_ml", "ml", "mL"),
    Column("in_ml", "ml", "mL"),
    Column("drained_ml", "ml", "mL"),
    Column("washed_back_ml", "ml", "mL"),
    Column("leaked_ml", "ml", "mL"),
    Column("otherwise_ml", "ml", "mL"),
    Column("out_ml", "ml", "mL"),
    Column("net_urine_ml", "ml", "mL"),
    Column("net_urine_low_ml", "ml", "mL"),
    Column("net_urine_high_ml", "ml", "mL"),
    Column("running_net_urine_ml", "ml", "mL"),
    Column("running_low_ml", "ml", "mL"),
    Column("running_high_ml", "ml", "mL"),
    Column("running_since", "time"),
    Column("behind_by_ml", "ml", "mL"),
    Column("behind_by_sd_ml", "ml", "mL"),
    Column("may_hold_low_ml", "ml", "mL"),
    Column("may_hold_ml", "ml", "mL"),
    Column("may_hold_high_ml", "ml", "mL"),
    Column("other_in_ml", "ml", "mL"),
    Column("other_out_ml", "ml", "mL"),
    Column("fluid_balance_ml", "ml", "mL"),
    Column("ml_per_kg_per_h_low", "number", "mL/kg/h"),
    Column("ml_per_kg_per_h", "number", "mL/kg/h"),
    Column("ml_per_kg_per_h_high", "number", "mL/kg/h"),
    Column("end_bags", "word"),
    Column("end_drainage_ml", "ml", "mL"),
    Column("at_least", "yes"),
    Column("prorated", "yes"),
    Column("remarks", "free"),
)


def gross_in(row: Row) -> int | None:
    """Everything that was run or pushed in: irrigant and washouts, mL. None where a part is not known."""
    return _sum(row.irrigant_in_ml, row.washed_in_ml)


def gross_out(row: Row) -> int | None:
    """Everything that came out: drained, washed back, by-passed, urine otherwise, mL. None: a part is not known."""
    return _sum(row.drained_ml, row.washed_back_ml, row.leaked_ml, row.otherwise_ml)


def _sum(*parts: int | None) -> int | None:
    known = [part for part in parts if part is not None]
    return sum(known) if len(known) == len(parts) else None


def _ml(value: float | None) -> int | None:
    return None if value is None else whole(value)


def facts_as_text(facts: Mapping[str, Fact], clock: WardClock, beside: datetime) -> dict[str, Any]:
    """Facts as ``say`` takes them: times as text by the ward's clock, volumes whole, small numbers with two places."""
    return {name: _fact(value, clock, beside) for name, value in facts.items()}


def _fact(value: Fact, clock: WardClock, beside: datetime) -> Any:
    if isinstance(value, datetime):
        return clock.near(value, beside)
    if isinstance(value, float):
        return round(value) if abs(value) >= 10 or value.is_integer() else round(value, 2)
    return value


def remark_words(remark: Remark, clock: WardClock, beside: datetime) -> str:
    """The sentence of a remark."""
    return say(f"remark-{remark.kind.replace('_', '-')}", **facts_as_text(remark.facts, clock, beside))


def finding_words(finding: Finding, clock: WardClock) -> str:
    """The sentence of a finding."""
    return say(f"finding-{finding.kind.replace('_', '-')}", **facts_as_text(finding.facts, clock, finding.at))


def _bags(bags: Mapping[str, float | None]) -> str | None:
    if not bags:
        return None
    known = [
        say("report-bag-left", line=line, ml=ml(level))
        if level is not None
        else say("report-bag-unknown", line=line)
        for line, level in sorted(bags.items())
    ]
    return ", ".join(known)


def row_cells(row: Row, clock: WardClock) -> tuple[Cell, ...]:
    """One row of the balance under the columns of the rounds table."""
    hold, per_kg = row.may_hold, row.ml_per_kg_per_h
    remarks = "; ".join(remark_words(remark, clock, row.end) for remark in row.remarks)
    return (
        row.start,
        row.end,
        word(f"state_{row.state}"),
        row.irrigant_in_ml,
        row.washed_in_ml,
        gross_in(row),
        row.drained_ml,
        row.washed_back_ml,
        row.leaked_ml,
        row.otherwise_ml,
        gross_out(row),
        row.net_ml,
        _ml(row.net_low_ml),
        _ml(row.net_high_ml),
        row.running_ml,
        _ml(row.running_low_ml),
        _ml(row.running_high_ml),
        row.running_since,
        _ml(row.behind_ml),
        _ml(row.behind_u_ml),
        _ml(hold.low) if hold else None,
        _ml(hold.mid) if hold else None,
        _ml(hold.high) if hold else None,
        row.other_in_ml,
        row.other_out_ml,
        row.fluid_balance_ml,
        round(per_kg.low, 3) if per_kg else None,
        round(per_kg.mid, 3) if per_kg else None,
        round(per_kg.high, 3) if per_kg else None,
        _bags(row.end_bags),
        _ml(row.end_drainage_ml),
        row.at_least,
        row.prorated,
        remarks or None,
    )


def rounds_table(rows: Iterable[Row], clock: WardClock) -> Table:
    """One line a row of the balance: from one check with volumes to the next."""
    return Table("rounds", _SUMS, tuple(row_cells(row, clock) for row in rows))


def hours_table(book: Book, ward: WardRules, start: datetime, end: datetime, clock: WardClock) -> Table:
    """One line a clock hour by the ward's clock; 23 or 25 on the days that the clock changes."""
    rows = book.spans(hour_borders(ward, start, end)) if end > start else []
    return Table("hours", _SUMS, tuple(row_cells(row, clock) for row in rows))


def days_table(book: Book, ward: WardRules, start: datetime, end: datetime, clock: WardClock) -> Table:
    """One line a ward day."""
    rows = book.spans(day_borders(ward, start, end)) if end > start else []
    return Table("days", _SUMS, tuple(row_cells(row, clock) for row in rows))


def shift_spans(ward: WardRules, start: datetime, end: datetime) -> list[ShiftSpan]:
    """The shifts that touch the time charted, clipped to it."""
    return [
        ShiftSpan(span.name, max(span.start, start), min(span.end, end))
        for span in shifts_between(ward, start, end)
        if min(span.end, end) > max(span.start, start)
    ]


def shifts_table(book: Book, ward: WardRules, start: datetime, end: datetime, clock: WardClock) -> Table:
    """One line a shift, with its name and its length in hours."""
    spans = shift_spans(ward, start, end)
    if not spans:
        return Table("shifts", (Column("shift", "word"), Column("hours", "number", "h"), *_SUMS), ())
    rows = book.spans([spans[0].start, *(span.end for span in spans)])
    lines = [
        (span.name, round(hours(row.end - row.start), 4), *row_cells(row, clock))
        for span, row in zip(spans, rows, strict=True)
    ]
    return Table("shifts", (Column("shift", "word"), Column("hours", "number", "h"), *_SUMS), tuple(lines))


_ENTRY = (
    Column("id", "free"),
    Column("at", "time"),
    Column("recorded", "time"),
    Column("late_minutes", "number", "min"),
    Column("kind", "word"),
    Column("what", "free"),
    Column("entry_state", "word"),
    Column("changes", "free"),
    Column("by", "staff"),
    Column("for_whom", "staff"),
    Column("check", "free"),
    Column("source", "free"),
    Column("payload", "free"),
)


def changes_words(entry: ChartEntry, teller: Teller) -> str:
    """What was corrected or struck out, by whom and why."""
    said = []
    for correction in entry.corrections:
        struck = correction.id in entry.struck_corrections
        said.append(
            say(
                "report-correction-struck" if struck else "report-correction",
                what=fields_words(teller, correction),
                reason=correction.reason,
                by=correction.by or say("report-nobody"),
                at=teller.time(correction.typed_at, entry.event.at),
            )
        )
    if entry.struck is not None:
        said.append(
            say(
                "report-struck",
                reason=entry.struck.reason,
                by=entry.struck.by or say("report-nobody"),
                at=teller.time(entry.struck.typed_at, entry.event.at),
            )
        )
    return "; ".join(said)


def events_table(entries: Sequence[ChartEntry], teller: Teller) -> Table:
    """Every entry as first written, with corrections and strike-outs beside it; nothing is left out."""
    lines: list[tuple[Cell, ...]] = []
    for entry in entries:
        event = entry.event
        payload = json.dumps(payload_of(event), ensure_ascii=False, sort_keys=True, separators=(",", ":"))
        late = round(entry.late_by.total_seconds() / 60) if event.recorded else None
        lines.append(
            (
                event.id or None,
                entry.at,
                event.recorded,
                late,
                kind_words(event),
                teller.tell(event) or None,
                word(f"entry_{entry.state}"),
                changes_words(entry, teller) or None,
                event.by,
                event.for_whom,
                event.check,
                event.source,
                payload,
            )
        )
    return Table("events", _ENTRY, tuple(lines))


_ALERT = (
    Column("alert", "free"),
    Column("condition", "word"),
    Column("subject", "free"),
    Column("priority", "word"),
    Column("raised_at", "time"),
    Column("cleared_at", "time"),
    Column("text", "free"),
    Column("answers", "free"),
    Column("basis", "word"),
)


def answers_words(line: AlertLine, clock: WardClock) -> str:
    """Who went or saw it, when, and what was done."""
    return "; ".join(
        say(
            "report-answer",
            at=clock.near(answer.at, line.raised_at),
            by=answer.by or say("report-nobody"),
            how=word(answer.kind),
            action=f": {answer.action}" if answer.action else "",
        )
        for answer in line.answers
    )


def alerts_table(lines: Iterable[AlertLine], clock: WardClock) -> Table:
    """One line an alert, as it was shown; one that was computed afterwards says so."""
    rows = tuple(
        (
            line.id,
            line.condition,
            line.subject,
            word(line.priority),
            line.raised_at,
            line.cleared_at,
            line.text,
            answers_words(line, clock) or None,
            word(line.basis),
        )
        for line in lines
    )
    return Table("alerts", _ALERT, rows)


_LEVEL = (
    Column("vessel", "word"),
    Column("fluid", "free"),
    Column("label_ml", "ml", "mL"),
    Column("level_ml", "ml", "mL"),
    Column("as_of", "time"),
    Column("level_low_ml", "ml", "mL"),
    Column("level_high_ml", "ml", "mL"),
    Column("running", "yes"),
)


def levels_table(standing: Standing) -> Table:
    """What hangs and what the drainage bag holds: the last reading, and the range reckoned for ``now``."""
    rows: list[tuple[Cell, ...]] = []
    for line in standing.lines:
        now = line.level_now
        rows.append(
            (
                say("report-bag-on-line", line=line.name),
                line.fluid,
                _ml(line.label_ml),
                _ml(line.level_ml),
                line.level_at,
                _ml(now.low) if now else None,
                _ml(now.high) if now else None,
                line.running,
            )
        )
    bag = standing.drainage
    if bag.capacity_ml is not None or bag.contents_ml is not None:
        now = bag.contents_now
        rows.append(
            (
                say("report-drainage-bag"),
                None,
                _ml(bag.capacity_ml),
                _ml(bag.contents_ml),
                bag.read_at,
                _ml(now.low) if now else None,
                _ml(now.high) if now else None,
                None,
            )
        )
    return Table("levels", _LEVEL, tuple(rows))


_FINDING = (
    Column("at", "time"),
    Column("finding", "free"),
    Column("asks", "yes"),
    Column("answer", "word"),
    Column("events", "free"),
    Column("source", "free"),
)


def findings_table(findings: Iterable[Finding], clock: WardClock) -> Table:
    """Where the chart disagrees with itself or is unlikely, and what was answered."""
    rows = tuple(
        (
            finding.at,
            finding_words(finding, clock),
            finding.asks and finding.answer is None,
            word(f"answer_{finding.answer}") if finding.answer else None,
            ", ".join(finding.events) or None,
            finding.source,
        )
        for finding in findings
    )
    return Table("findings", _FINDING, rows)


def session_tables(
    book: Book,
    as_stood: Book,
    entries: Sequence[ChartEntry],
    alerts: Sequence[AlertLine],
    ward: WardRules,
    teller: Teller,
    start: datetime,
    as_of: datetime,
    end: datetime,
) -> dict[str, Table]:
    """All tables of one session between ``start`` and ``end``, by name; sums go up to ``as_of``.

    ``as_stood`` is the ledger of what happened up to ``end``: what is passed on is read off it.
    """
    clock = teller.clock
    inside = [row for row in book.rows if row.end > start and row.start < end]
    tables = [
        rounds_table(inside, clock),
        hours_table(book, ward, start, as_of, clock),
        shifts_table(book, ward, start, as_of, clock),
        days_table(book, ward, start, as_of, clock),
        events_table([entry for entry in entries if start <= entry.at <= end], teller),
        alerts_table([line for line in alerts if start <= line.raised_at <= end], clock),
        levels_table(as_stood.at(end)),
        findings_table([finding for finding in book.findings if start <= finding.at <= end], clock),
    ]
    return {table.name: table for table in tables}
