"""The parts of the end-of-shift report below its head: hours, happenings, alerts, levels, findings, entries."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from cbi_monitor.exports.borders import hour_borders
from cbi_monitor.exports.chart import LATE, ChartEntry
from cbi_monitor.exports.curves import colour_words
from cbi_monitor.exports.figures import between, ml, plain, range_ml, signed
from cbi_monitor.exports.shift_types import Grid, Section, Told
from cbi_monitor.exports.tables import (
    answers_words,
    changes_words,
    finding_words,
)
from cbi_monitor.exports.told import is_troubling, kind_words, unit_words, word
from cbi_monitor.ledger.account import Line, Row, Standing
from cbi_monitor.model import events as e
from cbi_monitor.model.volumes import Range
from cbi_monitor.wording import say

MARKS = {"high": "!!!", "medium": "!!", "low": "!"}
"""Marks of priority (IEC 60601-1-8)."""


DASH = "\u2014"
"""Stands in the hourly table for a figure that is not known; the line below it says so."""


def hours_part(told: Told) -> Section:
    """The balance hour by hour by the ward's clock, up to where it is closed, and its sum."""
    as_of = told.as_of
    if as_of is None:
        return Section(say("report-hours"), None, (say("report-nothing-closed"),))
    rows = told.book.spans(hour_borders(told.ward, told.from_, as_of))
    columns = _hour_columns(told, rows)
    lines = [
        (_hour_words(row, told), *(get(row) for _, _, get in columns), _colour(told, row)) for row in rows
    ]
    if as_of < told.end:
        clock = told.teller.clock
        words = f"{clock.hm_said(as_of)}\u2013{clock.hm_said(told.end)}"
        lines.append((words, *(DASH for _ in columns), say("report-not-counted-yet")))
    total = told.sum()
    if total is not None:
        lines.append(
            (say("report-total", at=told.teller.clock.near(as_of, told.end)), *_total(total, columns), "")
        )
    headings = (
        say("report-col-hour"),
        *(say(f"report-col-{name}") for name, _, _ in columns),
        say("report-col-colour"),
    )
    grid = Grid(
        headings,
        tuple(lines),
        (
            2.9 if any(len(line[0]) > 14 for line in lines[:-1]) else 1.8,
            *(weight for _, weight, _ in columns),
            4.6 - 0.4 * max(0, len(columns) - 6),
        ),
        frozenset(range(1, len(columns) + 1)),
        frozenset({len(lines) - 1}) if total is not None else frozenset(),
    )
    notes = []
    if any(row.prorated for row in rows):
        notes.append(say("report-shared"))
    if any(DASH in line for line in lines):
        notes.append(say("report-dash"))
    return Section(say("report-hours"), grid, (" ".join(notes),) if notes else ())


_HourColumn = tuple[str, float, Callable[[Row], str]]


def _hour_columns(told: Told, rows: Sequence[Row]) -> list[_HourColumn]:
    """The columns that this shift needs: washouts, by-passing and urine otherwise only where there were any."""
    optional: list[tuple[str, Callable[[Row], int | None]]] = [
        ("washed-in", lambda row: row.washed_in_ml),
        ("washed-back", lambda row: row.washed_back_ml),
        ("leaked", lambda row: row.leaked_ml),
        ("otherwise", lambda row: row.otherwise_ml),
    ]
    shown = {
        name
        for name, get in optional
        if any(get(row) != 0 and (get(row) or row.state == "closed") for row in rows)
    }
    return [
        ("irrigant", 1.15, lambda row: _cell(row.irrigant_in_ml)),
        *[(n, 1.1, _shower(g)) for n, g in optional if n in shown and n == "washed-in"],
        ("drained", 1.1, lambda row: _cell(row.drained_ml)),
        *[(n, 1.3, _shower(g)) for n, g in optional if n in shown and n != "washed-in"],
        ("net", 0.95, lambda row: _cell(row.net_ml, sign=True)),
        (
            "range",
            1.75,
            lambda row: between(row.net_low_ml, row.net_high_ml) if row.net_ml is not None else "",
        ),
        ("running", 1.05, lambda row: _cell(row.running_ml, sign=True)),
        ("behind", 1.05, lambda row: _cell(_most_behind(told, row))),
    ]


def _most_behind(told: Told, row: Row) -> float | None:
    """The most that was behind at any check with volumes in the hour; None where there was no such check."""
    found = [r.behind_ml for r in told.book.rows if row.start < r.end <= row.end and r.behind_ml is not None]
    return max(found, default=None)


def _total(total: Row, columns: Sequence[_HourColumn]) -> list[str]:
    """The sums; running figures have none."""
    return ["" if name in ("running", "behind") else get(total) for name, _, get in columns]


def _cell(amount: float | None, *, sign: bool = False) -> str:
    if amount is None:
        return DASH
    return signed(amount) if sign else ml(amount)


def _shower(get: Callable[[Row], int | None]) -> Callable[[Row], str]:
    return lambda row: _cell(get(row))


def _hour_words(row: Row, told: Told) -> str:
    words = f"{told.teller.clock.hm_said(row.start)}\u2013{told.teller.clock.hm_said(row.end)}"
    marks = ("\u2248" if row.prorated else "") + ("?" if row.state == "questioned" else "")
    return f"{words} {marks}".rstrip()


def _colour(told: Told, row: Row) -> str:
    """The colours charted in the hour with the rate each was seen at: first, darkest, last; and the worst clots."""
    graded = [
        event
        for event in told.book.of(e.EffluentGraded)
        if row.start < event.at <= row.end or (event.at == row.start == told.from_)
    ]
    if not graded:
        return ""
    darkest = max(graded, key=lambda event: _step(told, event))
    keep = [graded[0], darkest, graded[-1]]
    said: list[str] = []
    for event in sorted(keep, key=lambda event: event.at):
        seen = colour_words(told.book, told.teller, event)
        if not said or said[-1] != seen:
            said.append(seen)
    parts = [", ".join(said)]
    clots = [event.clots for event in graded if event.clots]
    if clots:
        worst = max(clots, key=("none", "specks", "small", "large").index)
        parts.append(
            say("report-clots-none") if worst == "none" else say("told-clots", clots=word(f"clots_{worst}"))
        )
    return "; ".join(parts)


def _step(told: Told, event: e.EffluentGraded) -> int:
    """How dark; a grade that the scale does not have counts as darkest."""
    step = told.scale.step(event.grade)
    return len(told.scale.grades) if step is None else step


_HAPPENED: tuple[type[e.Event], ...] = (
    e.Ordered, e.CatheterPlaced, e.CatheterRemoved, e.BalloonChanged, e.TractionOn, e.TractionOff, e.InflowSet,
    e.InflowStopped, e.InflowStarted, e.IrrigantLost, e.DrainageClamped, e.DrainageOpened, e.Washout,
    e.BladderScanned, e.Leaked, e.Voided, e.UrineOtherwise, e.TubingChecked, e.LabResult, e.Away, e.Back,
    e.Transferred, e.Called, e.CountRestarted, e.Note, e.HandedOver, e.SessionClosed,
)  # fmt: skip

_SAID_IF_NONE: tuple[tuple[type[e.Event], str], ...] = (
    (e.Washout, "washout"),
    (e.Leaked, "leaked"),
    (e.BladderScanned, "bladder-scanned"),
    (e.LabResult, "lab-result"),
    (e.Called, "called"),
)


def happened_part(told: Told) -> Section:
    """What was done, said and seen, in order of time; comfort and steady looks are counted."""
    clock, teller = told.teller.clock, told.teller
    found: list[e.Event] = []
    for kind in _HAPPENED:
        found += [event for event in told.book.of(kind) if told.inside(event.at)]
    symptoms = [event for event in told.book.of(e.Symptoms) if told.inside(event.at)]
    found += [event for event in symptoms if is_troubling(event, told.ward.bladder.discomfort_pain)]
    found += [
        event for event in told.book.of(e.OutflowSeen) if told.inside(event.at) and event.how != "steady"
    ]
    found.sort(key=lambda event: (event.at, event.event, event.id))
    rows = tuple(
        (
            clock.near(event.at, told.end),
            kind_words(event),
            teller.tell(event),
            event.by or say("report-nobody"),
        )
        for event in found
    )
    lines = []
    calm = [event for event in symptoms if not is_troubling(event, told.ward.bladder.discomfort_pain)]
    if calm:
        pains = [event.pain for event in calm if isinstance(event.pain, int)]
        lines.append(
            say(
                "report-comfortable",
                count=len(calm),
                pain=_from_to(min(pains), max(pains)) if pains else say("report-not-charted"),
                at=clock.near(calm[-1].at, told.end),
            )
        )
    elif not symptoms:
        lines.append(say("report-no-symptoms"))
    looks = [
        event for event in told.book.of(e.OutflowSeen) if told.inside(event.at) and event.how == "steady"
    ]
    if looks:
        lines.append(say("report-steady-looks", count=len(looks), at=clock.near(looks[-1].at, told.end)))
    lines += _vital_lines(told)
    none = [
        say(f"told-kind-{name}")
        for kind, name in _SAID_IF_NONE
        if not any(told.inside(event.at) for event in told.book.of(kind))
    ]
    if none:
        lines.append(say("report-none-of", what=", ".join(none)))
    headings = tuple(say(f"report-col-{name}") for name in ("time", "what", "details", "by"))
    grid = Grid(headings, rows, (1.0, 1.7, 7.2, 0.9)) if rows else None
    return Section(say("report-happened"), grid, tuple(lines), run_on=True)


def _from_to(low: float, high: float) -> str:
    return plain(low) if low == high else say("report-range", low=plain(low), high=plain(high))


def _vital_lines(told: Told) -> list[str]:
    clock = told.teller.clock
    by_name: dict[tuple[str, str], list[e.VitalSign]] = {}
    for event in told.book.of(e.VitalSign):
        if told.inside(event.at):
            by_name.setdefault((event.name, event.unit), []).append(event)
    said = []
    for (name, unit), seen in sorted(by_name.items()):
        said.append(
            say(
                "report-vital",
                name=name,
                between=_from_to(min(v.value for v in seen), max(v.value for v in seen)),
                unit=unit_words(unit),
                last=plain(seen[-1].value),
                at=clock.near(seen[-1].at, told.end),
            )
        )
    return [say("report-vitals", what="; ".join(said))] if said else []


def alerts_part(told: Told) -> Section:
    """The alerts of the span as they were shown; those computed afterwards say so."""
    clock = told.teller.clock
    lines = [
        line
        for line in told.alerts
        if told.inside(line.raised_at)
        or (line.raised_at <= told.start and (line.cleared_at is None or line.cleared_at > told.start))
    ]
    if not lines:
        watched = any(isinstance(entry.event, (e.WatchStarted, e.AlertShown)) for entry in told.entries)
        return Section(
            say("report-alerts"), None, (say("report-no-alerts" if watched else "report-not-watched"),)
        )
    rows = []
    for line in lines:
        cleared = line.cleared_at if line.cleared_at and line.cleared_at <= told.end else None
        rows.append(
            (
                clock.near(line.raised_at, told.end),
                f"{MARKS[line.priority]} {word(line.priority)}",
                line.text + (f" [{word('computed')}]" if line.basis == "computed" else ""),
                answers_words(line, clock) or say(f"report-not-answered-{line.basis}"),
                clock.near(cleared, told.end) if cleared else say("report-still-stands"),
            )
        )
    notes = (say("report-computed"),) if any(line.basis == "computed" for line in lines) else ()
    computed = all(line.basis == "computed" for line in lines)
    shown = ("raised", "priority", "as-computed") if computed else ("shown", "priority", "as-shown")
    headings = tuple(say(f"report-col-{name}") for name in (*shown, "answered", "cleared"))
    return Section(say("report-alerts"), Grid(headings, tuple(rows), (0.9, 1.3, 5.4, 2.6, 1.1)), notes)


def passed_on_part(told: Told, standing: Standing) -> Section:
    """Bag levels and drainage contents that the next nurse takes over."""
    rows = [_line_row(told, line) for line in standing.lines]
    bag = standing.drainage
    if bag.capacity_ml is not None or bag.contents_ml is not None:
        full = bag.capacity_ml
        rows.append(
            (
                say("report-drainage-bag"),
                say("told-capacity", ml=ml(full)),
                _read(told, bag.contents_ml, bag.read_at),
                _reckoned(told, bag.read_at, bag.contents_now, full),
                say("report-drainage-clamped") if bag.clamped else say("report-drainage-open"),
            )
        )
    clock, lines = told.teller.clock, []
    if not rows:
        lines.append(say("report-no-vessels"))
    hung = Counter(event.label_ml for event in told.book.of(e.BagHung) if told.inside(event.at))
    if hung:
        what = ", ".join(f"{count} × {ml(size)} mL" for size, count in sorted(hung.items(), reverse=True))
        lines.append(say("report-hung", what=what))
    emptied = [event for event in told.book.of(e.DrainageEmptied) if told.inside(event.at)]
    if emptied:
        lines.append(say("report-emptied", count=len(emptied), at=clock.near(emptied[-1].at, told.end)))
    headings = tuple(
        say(f"report-col-{name}") for name in ("vessel", "size", "last-read", "reckoned", "state")
    )
    grid = Grid(headings, tuple(rows), (1.3, 2.4, 2.2, 2.0, 1.5)) if rows else None
    return Section(say("report-passed-on", at=clock.hm_said(told.end)), grid, tuple(lines), run_on=True)


def _line_row(told: Told, line: Line) -> tuple[str, ...]:
    return (
        say("report-bag-on-line", line=line.name),
        say("report-bag-label", ml=ml(line.label_ml), fluid=told.teller.fluid(line.fluid)),
        _read(told, line.level_ml, line.level_at),
        _reckoned(told, line.level_at if line.running else told.end, line.level_now, None),
        say("report-line-running") if line.running else say("report-line-standing"),
    )


def _read(told: Told, level: float | None, at: datetime | None) -> str:
    if level is None or at is None:
        return say("report-not-read")
    return say("report-read-at", ml=ml(level), at=told.teller.clock.near(at, told.end))


def _reckoned(told: Told, read_at: datetime | None, now: Range | None, full: float | None) -> str:
    """What is reckoned for the end; nothing from a reading that is too old to say."""
    blind = timedelta(minutes=told.ward.bladder.blind_minutes)
    if now is None or read_at is None:
        return say("report-not-known")
    if told.end - read_at > blind:
        return say("report-read-too-old")
    if full is not None and now.high >= full:
        return say("report-may-be-full", low=ml(min(now.low, full)))
    if full is None and now.low <= 0:
        return say("report-may-be-dry", high=ml(now.high))
    return range_ml(now.low, now.high)


def findings_part(told: Told) -> Section:
    """Where the chart disagrees or is unlikely, and whether that was answered."""
    clock = told.teller.clock
    lines = []
    for finding in told.book.findings:
        if not told.inside(finding.at):
            continue
        status = ""
        if finding.answer:
            status = say(f"report-finding-{finding.answer.replace('_', '-')}")
        elif finding.asks:
            status = say("report-finding-unanswered")
        said = say(
            "report-finding",
            at=clock.near(finding.at, told.end),
            what=finding_words(finding, clock),
            status=f" {status}" if status else "",
        )
        lines.append(said)
    return Section(say("report-findings"), None, tuple(lines) or (say("report-no-findings"),))


_MOST_LINES = 12
_OF_THE_PROGRAM = (e.AlertShown, e.AlertCleared, e.ThresholdsInForce, e.WatchStarted, e.WatchStopped)


def _changed_at(entry: ChartEntry) -> list[datetime]:
    """When corrections and strike-outs of an entry were typed."""
    changes: list[e.Event] = [*entry.corrections]
    if entry.struck is not None:
        changes.append(entry.struck)
    return [change.typed_at for change in changes]


def chart_entries_part(told: Told) -> Section:
    """Late, corrected, struck-out and unsigned entries; beyond a dozen of a sort the rest is counted."""
    clock, teller = told.teller.clock, told.teller
    here = [
        entry
        for entry in told.entries
        if not isinstance(entry.event, _OF_THE_PROGRAM)
        and (told.inside(entry.at) or any(told.start < at <= told.end for at in _changed_at(entry)))
    ]
    lines: list[str] = []

    def named(entry: ChartEntry) -> str:
        what = teller.tell(entry.event)
        return say(
            "report-entry",
            at=clock.near(entry.at, told.end),
            kind=kind_words(entry.event),
            what=f" ({what})" if what else "",
        )

    changed = [entry for entry in here if entry.state != "stands" or entry.corrections]
    lines += [
        say("report-changed", entry=named(entry), changes=changes_words(entry, teller))
        for entry in changed[:_MOST_LINES]
    ]
    _rest(lines, changed)
    late = [entry for entry in here if entry.late_by >= LATE and entry.state != "struck_out"]
    grouped: dict[tuple[datetime, datetime, str], list[ChartEntry]] = {}
    for entry in late:
        grouped.setdefault((entry.at, entry.event.typed_at, entry.event.by or ""), []).append(entry)
    for (at, typed, by), together in list(grouped.items())[:_MOST_LINES]:
        lines.append(
            say(
                "report-late",
                at=clock.near(at, told.end),
                kinds=", ".join(dict.fromkeys(kind_words(entry.event) for entry in together)),
                typed=clock.near(typed, told.end),
                by=by or say("report-nobody"),
            )
        )
    _rest(lines, list(grouped))
    unsigned = [entry for entry in here if entry.event.by is None]
    if unsigned:
        if len(unsigned) > _MOST_LINES:
            lines.append(say("report-unsigned-many", count=len(unsigned), all=len(here)))
        else:
            lines.append(say("report-unsigned", what="; ".join(named(entry) for entry in unsigned)))
    paper = [
        entry
        for entry in here
        if isinstance(entry.event, e.CountRestarted) and entry.event.reason == "kept_on_paper"
    ]
    lines += [say("report-paper", at=clock.near(entry.at, told.end)) for entry in paper]
    return Section(say("report-entries"), None, tuple(lines) or (say("report-no-changes"),))


def _rest(lines: list[str], found: Sequence[object]) -> None:
    if len(found) > _MOST_LINES:
        lines.append(say("report-and-more", count=len(found) - _MOST_LINES))


def staff_part(told: Told) -> Section:
    """Who charted, each once."""
    counts: Counter[str] = Counter()
    for entry in told.entries:
        for name in (entry.event.by, entry.event.for_whom):
            if name and told.inside(entry.at):
                counts[name] += 1
    said = [
        say(
            "report-staff-member",
            id=name,
            who=f" {told.staff[name]}" if name in told.staff else "",
            count=count,
        )
        for name, count in sorted(counts.items())
    ]
    return Section(say("report-staff"), None, ("; ".join(said),) if said else (say("report-nobody-signed"),))
