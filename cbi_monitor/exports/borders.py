"""Shift, hour and day borders by the ward's own zone, the days on which the clock changes included."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from cbi_monitor.model.instants import utc
from cbi_monitor.model.ward import WardRules


@dataclass(frozen=True, slots=True)
class ShiftSpan:
    """One shift on one day; instants in UTC. On a clock change it is an hour shorter or longer."""

    name: str
    start: datetime
    end: datetime


def _first_instant(day: date, hour: int, minute: int, zone: ZoneInfo) -> datetime:
    local = datetime(day.year, day.month, day.day, hour, minute, tzinfo=zone)
    return local.astimezone(UTC)


def shifts_between(ward: WardRules, start: datetime, end: datetime) -> list[ShiftSpan]:
    """Every shift that touches ``[start, end)``, in order; each ends where the next one starts."""
    zone = ZoneInfo(ward.zone)
    start, end = utc(start), utc(end)
    first = start.astimezone(zone).date() - timedelta(days=2)
    last = end.astimezone(zone).date() + timedelta(days=2)
    starts: list[tuple[datetime, str]] = []
    day = first
    while day <= last:
        starts += [
            (_first_instant(day, shift.starts.hour, shift.starts.minute, zone), shift.name)
            for shift in ward.shifts
        ]
        day += timedelta(days=1)
    starts.sort()
    spans = [ShiftSpan(name, begins, starts[n + 1][0]) for n, (begins, name) in enumerate(starts[:-1])]
    return [span for span in spans if span.start < end and span.end > start]


def shift_at(ward: WardRules, at: datetime) -> ShiftSpan:
    """The shift in which ``at`` lies; a border belongs to the shift that starts there."""
    return shifts_between(ward, at, utc(at) + timedelta(microseconds=1))[0]


def hour_borders(ward: WardRules, start: datetime, end: datetime) -> list[datetime]:
    """``start``, every full clock hour between by the ward's clock, ``end``; instants in UTC.

    The hour that the clock repeats is there twice, the one that it skips not at all.
    """
    zone = ZoneInfo(ward.zone)
    start, end = utc(start), utc(end)
    local = start.astimezone(zone)
    gone = timedelta(minutes=local.minute, seconds=local.second, microseconds=local.microsecond)
    border = start - gone + timedelta(hours=1)
    borders = [start]
    while border < end:
        borders.append(border)
        border += timedelta(hours=1)
    if end > start:
        borders.append(end)
    return borders


def day_borders(ward: WardRules, start: datetime, end: datetime) -> list[datetime]:
    """``start``, each start of the ward's day (where its first shift begins) between, ``end``."""
    zone = ZoneInfo(ward.zone)
    first = min(shift.starts for shift in ward.shifts)
    start, end = utc(start), utc(end)
    borders = [start]
    day = start.astimezone(zone).date() - timedelta(days=1)
    while True:
        border = _first_instant(day, first.hour, first.minute, zone)
        if border >= end:
            break
        if border > start:
            borders.append(border)
        day += timedelta(days=1)
    if end > start:
        borders.append(end)
    return borders
