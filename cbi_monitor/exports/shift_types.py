"""What an end-of-shift report consists of, and what its builder needs. Values only."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from cbi_monitor.exports.chart import AlertLine, Book, ChartEntry
from cbi_monitor.exports.curves import Curves
from cbi_monitor.exports.told import Teller
from cbi_monitor.ledger.account import Row
from cbi_monitor.model import events as e
from cbi_monitor.model.ward import EffluentScale, WardRules


@dataclass(frozen=True, slots=True)
class Figure:
    """One large figure: what it is, how much, between what, as of when."""

    label: str
    figure: str
    range: str
    note: str


@dataclass(frozen=True, slots=True)
class Grid:
    """A printed table. ``weights`` share out the width, ``right`` are columns set right, ``strong`` rows in bold."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    weights: tuple[float, ...]
    right: frozenset[int] = frozenset()
    strong: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Section:
    """A titled part of the report: a table, lines, or both. ``run_on``: the lines are sentences of one paragraph."""

    title: str
    grid: Grid | None = None
    lines: tuple[str, ...] = ()
    run_on: bool = False


@dataclass(frozen=True, slots=True)
class ShiftReport:
    """All of the report, in order of reading."""

    title: str
    bed: str
    when: str
    head: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    figures: tuple[Figure, ...]
    notes: tuple[str, ...]
    curves: Curves | None
    hours: Section
    sections: tuple[Section, ...]
    signatures: tuple[str, ...]
    foot: str
    demo: bool


@dataclass(frozen=True, slots=True)
class Told:
    """What the builder needs.

    ``book`` knows all that is charted, ``as_stood`` only what happened up to ``end``. ``correction_strikes``:
    strike-outs of corrections, kept for session files.
    """

    book: Book
    as_stood: Book
    entries: Sequence[ChartEntry]
    alerts: Sequence[AlertLine]
    ward: WardRules
    scale: EffluentScale
    teller: Teller
    start: datetime
    end: datetime
    shift: str
    staff: Mapping[str, str]
    thresholds_hash: str
    version: str
    printed_at: datetime
    demo: bool = False
    nameless: bool = False
    correction_strikes: Sequence[e.StruckOut] = ()

    @property
    def opened_at(self) -> datetime | None:
        """When charting began."""
        opened = self.book.of(e.SessionOpened)
        return opened[0].at if opened else (self.entries[0].at if self.entries else None)

    def inside(self, at: datetime) -> bool:
        """In this span: after its start, up to its end.

        What is charted at a border belongs to the shift that ends there, as volumes do; only the first entries of a
        session belong to the shift that they open.
        """
        if self.start < at <= self.end:
            return True
        opened = self.opened_at
        return at == self.start and opened is not None and opened >= self.start

    @property
    def from_(self) -> datetime:
        """The start of what is charted in this span."""
        opened = self.opened_at
        return max(self.start, opened) if opened else self.start

    @property
    def as_of(self) -> datetime | None:
        """Up to when the balance is closed within the span; None where nothing closed in it."""
        closed = [
            row
            for row in self.book.rows
            if row.state != "open" and row.end > self.from_ and row.start < self.end
        ]
        return min(max(row.end for row in closed), self.end) if closed else None

    def sum(self) -> Row | None:
        """The balance of the span up to ``as_of``."""
        as_of = self.as_of
        return self.book.spans([self.from_, as_of])[0] if as_of else None
