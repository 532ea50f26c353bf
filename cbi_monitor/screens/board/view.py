"""What one bed's lane shows, as values in words: no Qt here, and nothing reckoned that the ledger did not tell."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

Priority = Literal["high", "medium", "low"]
MARKS: dict[str, str] = {"high": "!!!", "medium": "!!", "low": "!"}
"""The marks of IEC 60601-1-8, so that no priority is told by colour alone."""

HOLD_SCALE = 600.0
"""The right end of the may-hold band in mL; what lies beyond is drawn to the edge with an arrow."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark on the lane. ``urgent``: due soon or overdue; ``waits``: a full second bag stands behind this one."""

    kind: Literal["dry", "full", "look", "check"]
    at: datetime
    text: str
    name: str
    urgent: bool = False
    waits: bool = False


@dataclass(frozen=True, slots=True)
class Chip:
    """The worst alert: its priority and first words, then what else is to say about it."""

    priority: Priority
    text: str
    lines: tuple[str, ...] = ()
    more: int = 0
    spoken: str = ""


@dataclass(frozen=True, slots=True)
class Lane:
    """Everything that stands in one bed's row of the board."""

    session: str
    bed: str
    operation: str
    day: str
    swatch: str | None
    clots: str | None
    colour_word: str
    colour_rate: str
    clots_text: str
    clots_matter: bool
    seen: str
    seen_how: str
    seen_late: bool
    comfort: str
    comfort_matters: bool
    hold: str
    hold_as_of: str
    hold_low: float | None
    hold_high: float | None
    limit: float | None
    limit_text: str
    over_limit: bool
    marks: tuple[Mark, ...]
    chip: Chip | None
    quiet: tuple[str, ...]
    cleared: str
    need: tuple[object, ...]

    @property
    def spoken(self) -> str:
        """The whole row as one sentence for a screen reader, the worst first."""
        alert = "" if self.chip is None else self.chip.spoken
        parts = (
            self.bed, self.operation, self.day, alert, self.colour_word, self.colour_rate, self.clots_text,
            self.seen, self.seen_how, self.comfort, self.hold, self.hold_as_of, self.limit_text,
            *(mark.name for mark in self.marks), *self.quiet, self.cleared,
        )  # fmt: skip
        return ", ".join(part for part in parts if part)
