"""The points of the report's drawing: in and out as running sums, doubt between them, the colour strip with rates."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from cbi_monitor.exports.borders import hour_borders
from cbi_monitor.exports.chart import Book
from cbi_monitor.exports.figures import ml
from cbi_monitor.exports.tables import gross_in, gross_out
from cbi_monitor.exports.told import Teller, word
from cbi_monitor.model import events as e
from cbi_monitor.model.instants import hours
from cbi_monitor.model.ward import EffluentScale, WardRules
from cbi_monitor.wording import say

MOST_POINTS = 160
"""More rows than this are thinned for the drawing; the tables keep them all."""

Point = tuple[datetime, float]


@dataclass(frozen=True, slots=True)
class Run:
    """An unbroken stretch of the balance, from 0 at its start (mL). ``low``, ``high``: in plus the ends of net."""

    into: tuple[Point, ...]
    out: tuple[Point, ...]
    low: tuple[Point, ...]
    high: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Colour:
    """A stretch of the strip: from one look at the tubing until the next, no longer than a look is good for.

    ``weight``: the darker and the more clots, the less its word may be left out where room is short.
    """

    start: datetime
    end: datetime
    word: str
    swatch: str
    label: str
    weight: int


@dataclass(frozen=True, slots=True)
class Curves:
    """Everything drawn; times are instants."""

    start: datetime
    end: datetime
    ticks: tuple[tuple[datetime, str], ...]
    runs: tuple[Run, ...]
    unknown: tuple[tuple[datetime, datetime], ...]
    off: tuple[tuple[datetime, datetime], ...]
    colours: tuple[Colour, ...]
    marks: tuple[tuple[datetime, str], ...]


def rate_words(book: Book, at: datetime) -> str:
    """The irrigation rate at ``at``: by the bags where a closed row covers it, else as set, else "not known"."""
    for row in book.rows:
        if row.start < at <= row.end and row.state == "closed" and row.irrigant_in_ml is not None:
            if row.irrigant_in_ml == 0:
                return say("report-rate-off")
            return say("report-rate", ml=ml(_round_rate(row.irrigant_in_ml / hours(row.end - row.start))))
    last = None
    for event in (*book.of(e.InflowSet), *book.of(e.InflowStopped), *book.of(e.InflowStarted)):
        if event.at <= at and (last is None or event.at >= last.at):
            last = event
    if isinstance(last, e.InflowStopped):
        return say("report-rate-off")
    if isinstance(last, e.InflowSet):
        if last.ml_per_h is not None:
            return say("report-rate-set", ml=ml(last.ml_per_h))
        if last.drops_per_min is not None and last.drops_per_ml is not None:
            return say("report-rate-set", ml=ml(last.drops_per_min * 60 / last.drops_per_ml))
        if last.setting is not None:
            return word(last.setting)
    return say("report-rate-not-known")


def colour_words(book: Book, teller: Teller, event: e.EffluentGraded) -> str:
    """The colour with the rate it was seen at: the same colour at twice the rate is twice the loss."""
    grade, rate = teller.grade(event.grade), rate_words(book, event.at)
    key = "report-colour-off" if rate == say("report-rate-off") else "report-colour-at"
    return say(key, grade=grade, rate=rate)


def _round_rate(rate: float) -> float:
    step = 10 if rate < 1000 else 50
    return round(rate / step) * step


def shift_curves(
    book: Book, ward: WardRules, scale: EffluentScale, teller: Teller, start: datetime, end: datetime
) -> Curves | None:
    """The drawing between ``start`` and ``end``; None where there is no time between them."""
    if end <= start:
        return None
    borders = sorted({start, end, *(row.end for row in book.rows if start < row.end < end)})
    thin = max(1, -(-len(borders) // MOST_POINTS))
    borders = [border for n, border in enumerate(borders) if n % thin == 0 or border == end]
    runs, unknown = _runs(book, borders)
    ticks = tuple((at, teller.clock.hm(at)) for at in hour_borders(ward, start, end))
    return Curves(
        start,
        end,
        ticks,
        tuple(runs),
        tuple(unknown),
        tuple(_off(book, start, end)),
        tuple(_colours(book, ward, scale, teller, start, end)),
        tuple(_marks(book, start, end)),
    )


def _runs(book: Book, borders: list[datetime]) -> tuple[list[Run], list[tuple[datetime, datetime]]]:
    runs: list[Run] = []
    unknown: list[tuple[datetime, datetime]] = []
    into: list[Point] = []
    out: list[Point] = []
    low: list[Point] = []
    high: list[Point] = []

    def finish() -> None:
        if len(into) > 1:
            runs.append(Run(tuple(into), tuple(out), tuple(low), tuple(high)))
        for points in (into, out, low, high):
            points.clear()

    for begin, row in zip(borders, book.spans(borders), strict=False):
        run_in, run_out = gross_in(row), gross_out(row)
        if run_in is None or run_out is None:
            finish()
            unknown.append((row.start, row.end))
            continue
        if not into:
            for points in (into, out, low, high):
                points.append((begin, 0.0))
        into.append((row.end, into[-1][1] + run_in))
        out.append((row.end, out[-1][1] + run_out))
        since = book.spans([into[0][0], row.end])[0]
        net_low = since.net_low_ml if since.net_low_ml is not None else since.net_ml
        net_high = since.net_high_ml if since.net_high_ml is not None else since.net_ml
        low.append((row.end, into[-1][1] + net_low) if net_low is not None else (row.end, out[-1][1]))
        high.append((row.end, into[-1][1] + net_high) if net_high is not None else (row.end, out[-1][1]))
    finish()
    return runs, unknown


def _stops(book: Book) -> list[e.InflowStopped | e.InflowStarted]:
    return [*book.of(e.InflowStopped), *book.of(e.InflowStarted)]


def _off(book: Book, start: datetime, end: datetime) -> list[tuple[datetime, datetime]]:
    """When all lines were stopped, as charted."""
    changes: list[tuple[datetime, bool]] = [
        (event.at, isinstance(event, e.InflowStopped)) for event in _stops(book) if event.line is None
    ]
    changes.sort()
    spans = []
    since: datetime | None = None
    for at, stopped in changes:
        if stopped and since is None:
            since = at
        elif not stopped and since is not None:
            spans.append((since, at))
            since = None
    if since is not None:
        spans.append((since, end))
    return [(max(a, start), min(b, end)) for a, b in spans if b > start and a < end]


def _colours(
    book: Book, ward: WardRules, scale: EffluentScale, teller: Teller, start: datetime, end: datetime
) -> list[Colour]:
    good_for = timedelta(minutes=2 * ward.check_plan.later_every)
    graded = [event for event in book.of(e.EffluentGraded) if event.at <= end]
    colours: list[Colour] = []
    for place, event in enumerate(graded):
        until = graded[place + 1].at if place + 1 < len(graded) else end
        until = min(until, event.at + good_for, end)
        if until <= start or until <= event.at:
            continue
        known = scale.grade(event.grade)
        clots = (
            f", {say('told-clots', clots=word(f'clots_{event.clots}'))}"
            if event.clots not in (None, "none")
            else ""
        )
        label = colour_words(book, teller, event) + clots
        colours.append(
            Colour(
                max(event.at, start),
                until,
                teller.grade(event.grade),
                known.swatch if known else "",
                label,
                _weight(scale, event),
            )
        )
    return colours


def _weight(scale: EffluentScale, event: e.EffluentGraded) -> int:
    step = scale.step(event.grade)
    clots = ("none", "specks", "small", "large").index(event.clots or "none")
    return 4 * (len(scale.grades) if step is None else step) + clots


def _marks(book: Book, start: datetime, end: datetime) -> list[tuple[datetime, str]]:
    kinds: tuple[tuple[type[e.Event], str], ...] = (
        (e.BagHung, "report-mark-bag"),
        (e.DrainageEmptied, "report-mark-emptied"),
        (e.Washout, "report-mark-washout"),
        (e.Leaked, "report-mark-leak"),
    )
    found = [
        (event.at, say(key)) for kind, key in kinds for event in book.of(kind) if start <= event.at <= end
    ]
    return sorted(found)
