"""Instants: always aware; the offset that was written is kept, comparisons are made in UTC."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta


def parse_instant(text: str) -> datetime:
    """The instant that an ISO 8601 text names.

    Accepts a date and a time with an offset, ``2026-03-01T07:00+00:00`` or with a final ``Z``.
    Raises ValueError, in words for the writer of the file, where the text is no time or has no offset.
    """
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        raise ValueError(
            f"{text!r} is not a date and time; write it like 2026-03-01T07:00:00+00:00"
        ) from None
    if at.tzinfo is None or at.utcoffset() is None:
        like = f"{text}+00:00" if len(text) > 10 else f"{text}T07:00:00+00:00"
        raise NaiveTime(text, like)
    return at


class NaiveTime(ValueError):
    """A time that does not say its offset from UTC; ``like`` is how it could be written."""

    def __init__(self, text: str, like: str) -> None:
        super().__init__(f"{text!r} does not say its offset from UTC; write it like {like}")
        self.like = like


def speakable(at: datetime) -> bool:
    """Whether an aware time lies in the years 1000 to 8999, so that hours can be added and it can be turned into UTC.

    Records whose dates were shifted by centuries lie within.
    """
    return 1000 <= at.year <= 8999


def utc(at: datetime) -> datetime:
    """The same instant in UTC (one tzinfo object, so that comparing is cheap). Raises ValueError when naive."""
    if at.tzinfo is UTC:
        return at
    if at.tzinfo is None:
        raise ValueError("a time without an offset is no instant")
    return at.astimezone(UTC)


def format_instant(at: datetime) -> str:
    """The canonical text: ISO 8601 with seconds, microseconds only where there are any, and the offset as written."""
    return at.isoformat()


def hours(span: timedelta) -> float:
    """A span in hours."""
    return span.total_seconds() / 3600.0


def minutes(span: timedelta) -> float:
    """A span in minutes."""
    return span.total_seconds() / 60.0
