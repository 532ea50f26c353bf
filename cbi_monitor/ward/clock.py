"""The clock: the only place from which the rest of the program learns what time it is."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Protocol

from cbi_monitor.model.instants import utc


class Clock(Protocol):
    """Whoever can say what time it is."""

    def now(self) -> datetime:
        """The instant, aware, in UTC."""
        ...


class SystemClock:
    """The workstation's own clock."""

    def now(self) -> datetime:
        """The instant, aware, in UTC."""
        return datetime.now(UTC)


class FixedClock:
    """A clock that stands until it is moved: for tests, and for pictures of an instant that is past."""

    def __init__(self, at: datetime) -> None:
        """``at`` must be aware. Raises ValueError when naive."""
        self._at = utc(at)

    def now(self) -> datetime:
        """The instant it was set to, in UTC."""
        return self._at

    def move_to(self, at: datetime) -> None:
        """Set it to another instant. Raises ValueError when naive."""
        self._at = utc(at)

    def move(self, **span: float) -> datetime:
        """Move it by a span (``minutes=15``); returns the new instant."""
        self._at += timedelta(**span)
        return self._at


class ShiftedClock:
    """Another clock, moved by a fixed span."""

    def __init__(self, by: timedelta, of: Clock | None = None) -> None:
        """``by`` is added to what ``of`` (the workstation's clock) says."""
        self._by = by
        self._of = of or SystemClock()

    def now(self) -> datetime:
        """The shifted instant, in UTC."""
        return self._of.now() + self._by
