"""Figures that carry their doubt."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Range:
    """A figure and the ends between which the truth is held to lie (about 95 %), in the unit of its field."""

    low: float
    mid: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.mid <= self.high:
            raise ValueError(f"range out of order: {self.low}, {self.mid}, {self.high}")


@dataclass(frozen=True, slots=True)
class TimeRange:
    """An instant forecast, with the earliest and the latest; ``late`` is None where no end can be given."""

    early: datetime
    likely: datetime
    late: datetime | None


def whole(amount: float) -> int:
    """Whole millilitres, half to even."""
    return round(amount)
