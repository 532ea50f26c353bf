"""What the exports read: the ledger as a protocol, every entry with its corrections, every alert as a line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal, Protocol, TypeVar

from cbi_monitor.ledger.account import Row, Standing, UrineWindow
from cbi_monitor.model.events import (
    AlertAnswered,
    AlertCleared,
    AlertShown,
    Corrected,
    Event,
    StruckOut,
)
from cbi_monitor.model.findings import Finding
from cbi_monitor.model.instants import utc

LATE = timedelta(minutes=30)
"""From this on an entry is a late entry and listed as one (as on the check slip; common practice, no source)."""

E = TypeVar("E", bound=Event)


class Book(Protocol):
    """The part of the ledger that exports use; ``ledger.Ledger`` is one."""

    @property
    def rows(self) -> Sequence[Row]:
        """Closed and questioned rows, at most one open row last."""
        ...

    @property
    def findings(self) -> Sequence[Finding]:
        """Where the chart disagrees or is unlikely."""
        ...

    def of(self, kind: type[E]) -> Sequence[E]:
        """Effective events of a kind."""
        ...

    def at(self, now: datetime) -> Standing:
        """How the bed stands."""
        ...

    def urine(self, hours: float) -> UrineWindow:
        """Urine made over at least so many hours."""
        ...

    def spans(self, borders: Sequence[datetime]) -> list[Row]:
        """Rows between borders, shared out by running time."""
        ...


@dataclass(frozen=True, slots=True)
class ChartEntry:
    """One entry as first written, with everything that was later said about it."""

    event: Event
    corrections: tuple[Corrected, ...] = ()
    struck_corrections: tuple[str, ...] = ()
    struck: StruckOut | None = None

    @property
    def standing_corrections(self) -> tuple[Corrected, ...]:
        """The corrections that were not themselves struck out, in the order in which they are laid over."""
        return tuple(c for c in self.corrections if c.id not in self.struck_corrections)

    @property
    def at(self) -> datetime:
        """When it happened, by the last correction that names it."""
        for correction in reversed(self.standing_corrections):
            at = correction.fields.get("at")
            if isinstance(at, str):
                return datetime.fromisoformat(at)
        return self.event.at

    @property
    def late_by(self) -> timedelta:
        """How long after it happened it was typed; zero where that is not known."""
        return max(utc(self.event.typed_at) - utc(self.at), timedelta(0))

    @property
    def state(self) -> Literal["stands", "corrected", "struck_out"]:
        """How the entry stands now."""
        if self.struck is not None:
            return "struck_out"
        return "corrected" if self.standing_corrections else "stands"


def chart_entries(events: Iterable[Event]) -> list[ChartEntry]:
    """Every entry but corrections and strike-outs, each with those laid by it, in order of when it happened.

    A correction or strike-out whose target is not among ``events`` is an entry of its own, so that nothing is lost.
    """
    known = list(events)
    ids = {event.id for event in known}
    strikes: dict[str, StruckOut] = {}
    corrections: dict[str, list[Corrected]] = {}
    plain: list[Event] = []
    for event in known:
        if isinstance(event, StruckOut) and event.target in ids:
            first = strikes.get(event.target)
            if first is None or (utc(event.typed_at), event.id) < (utc(first.typed_at), first.id):
                strikes[event.target] = event
        elif isinstance(event, Corrected) and event.target in ids:
            corrections.setdefault(event.target, []).append(event)
        else:
            plain.append(event)
    made = []
    for event in plain:
        laid = tuple(sorted(corrections.get(event.id, ()), key=lambda c: (utc(c.typed_at), c.id)))
        struck = tuple(c.id for c in laid if c.id in strikes)
        made.append(ChartEntry(event, laid, struck, strikes.get(event.id)))
    return sorted(made, key=lambda entry: (utc(entry.at), utc(entry.event.typed_at), entry.event.id))


@dataclass(frozen=True, slots=True)
class Answer:
    """Somebody answered an alert: going, or seen; what she did."""

    at: datetime
    by: str | None
    kind: str
    action: str


@dataclass(frozen=True, slots=True)
class AlertLine:
    """One alert from shown to cleared.

    ``basis`` says whether it stood on a screen (``shown``, from the journal) or was only computed afterwards
    (``computed``: nobody saw it). ``text`` is what the screen said, or would have said.
    """

    id: str
    condition: str
    subject: str
    priority: Literal["high", "medium", "low"]
    raised_at: datetime
    cleared_at: datetime | None
    text: str
    cleared_text: str
    answers: tuple[Answer, ...]
    basis: Literal["shown", "computed"]


def alerts_shown(events: Iterable[Event]) -> list[AlertLine]:
    """The alerts that the journal says were shown, by the words they were shown with.

    An alert that was shown again (a step worse) is a line for each time it was shown.
    """
    known = sorted(events, key=lambda event: (utc(event.at), event.id))
    shown = [event for event in known if isinstance(event, AlertShown)]
    cleared = [event for event in known if isinstance(event, AlertCleared)]
    answered = [event for event in known if isinstance(event, AlertAnswered)]
    lines = []
    for place, event in enumerate(shown):
        again = next((s.at for s in shown[place + 1 :] if s.alert == event.alert), None)
        end = next((c for c in cleared if c.alert == event.alert and c.at >= event.at), None)
        if again is not None and (end is None or end.at > again):
            end = None
        until = again or (end.at if end else None)
        answers = tuple(
            Answer(a.at, a.by, a.kind, a.action or "")
            for a in answered
            if a.alert == event.alert and a.at >= event.at and (until is None or a.at <= until)
        )
        lines.append(
            AlertLine(
                event.alert,
                event.condition,
                event.subject,
                event.priority,
                event.at,
                end.at if end else again,
                event.text,
                end.text if end else "",
                answers,
                "shown",
            )
        )
    return lines
