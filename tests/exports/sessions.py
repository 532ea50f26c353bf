"""What the tests of this room share: the demo sessions read, and small sessions written in the test."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import Any

from cbi_monitor.exports.borders import ShiftSpan, shifts_between
from cbi_monitor.exports.report import Prepared, prepare, whole_span
from cbi_monitor.journal.codec import read_session_file
from cbi_monitor.model import events as e
from cbi_monitor.model.canonical import with_derived_ids
from cbi_monitor.resources import demo_sessions
from cbi_monitor.settings import load_scale, load_ward

WARD = load_ward()
SCALE = load_scale()
HASH = "9f2c4b1a77aa00ff"
START = datetime(2026, 3, 2, 7, tzinfo=UTC)
DEMOS = [path.stem for path in demo_sessions()]


def at(hours: float) -> datetime:
    """So many hours after the start of a day shift in winter."""
    return START + timedelta(hours=hours)


def entry(kind: type[e.Event], hours: float, /, **fields: Any) -> e.Event:
    """An entry of nurse K.M., typed at once unless said otherwise."""
    when = at(hours)
    fields.setdefault("by", "K.M.")
    fields.setdefault("recorded", when)
    return kind(session="bed-7", at=when, **fields)


def opening() -> list[e.Event]:
    """A session from its start with one bag and one drainage bag."""
    return [
        entry(
            e.SessionOpened, 0, patient="ref 4471", bed="7A", weight_kg=78.0, operation="prostate resection"
        ),
        entry(e.BagHung, 0, line="A", label_ml=3000.0, fluid="saline_0_9", measured_ml=3000.0),
        entry(e.DrainageBagPlaced, 0, capacity_ml=4000.0, contents_ml=0.0),
    ]


def check(hours: float, left: float, contents: float) -> list[e.Event]:
    """One check with volumes, comfortable, running steadily."""
    return [
        entry(e.OutflowSeen, hours, running=True, how="steady"),
        entry(e.Symptoms, hours, pain=0),
        entry(e.EffluentGraded, hours, grade="pale_pink", clots="none"),
        entry(e.DrainageRead, hours, contents_ml=contents),
        entry(e.BagRead, hours, line="A", left_ml=left),
    ]


def quiet() -> list[e.Event]:
    """Four hours without anything to tell."""
    events = opening()
    for hour in range(1, 5):
        events += check(hour, 3000 - 500 * hour, 580 * hour)
    return with_derived_ids(events)


def report_of(events: list[e.Event], start: datetime, end: datetime, **more: Any) -> Prepared:
    """The report of a span, printed at its end."""
    more.setdefault("printed_at", end)
    return prepare(events, WARD, SCALE, HASH, start, end, **more)


@lru_cache(maxsize=16)
def demo(name: str) -> tuple[e.Event, ...]:
    """The entries of a demo session."""
    path = next(path for path in demo_sessions() if path.stem == name)
    return tuple(read_session_file(path))


def demo_shifts(name: str) -> list[ShiftSpan]:
    """Every shift that a demo session touches."""
    start, end = whole_span(demo(name), WARD)
    return shifts_between(WARD, start, end)


@lru_cache(maxsize=64)
def demo_report(name: str, number: int) -> Prepared:
    """The report of the ``number``-th shift of a demo session."""
    span = demo_shifts(name)[number]
    return report_of(list(demo(name)), span.start, span.end, shift=span.name, demo=True)
