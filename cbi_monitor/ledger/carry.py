"""What is carried from event to event while a chart is folded; small, and copied at every checkpoint."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime

from cbi_monitor.ledger.facts import SessionFacts
from cbi_monitor.ledger.stock import Stock
from cbi_monitor.ledger.track import Scan, Track
from cbi_monitor.model.volumes import Range


@dataclass(slots=True)
class Visit:
    """A visit that may still be added to: the track as it was before it, so that its row can be made again."""

    number: int
    start: datetime
    check: str | None
    last_at: datetime
    direct: bool
    track_before: Track
    lengths: tuple[int, ...]
    counted: bool = False
    closed: bool = False
    ended: bool = False
    bag_event: str = ""
    drainage_event: str = ""
    changed_line: str = ""
    used_remarks: int = 0
    used_in: int = 0
    used_out: int = 0


@dataclass(slots=True)
class Carry:
    """See the module."""

    stock: Stock
    track: Track
    facts: SessionFacts = field(default_factory=SessionFacts)
    visit: Visit | None = None
    relief_until: datetime | None = None
    disturbed_at: datetime | None = None
    steady_at: datetime | None = None
    base_pending: Range | None = None
    base_given: Range | None = None
    base_at: datetime | None = None
    running_pending: bool = False
    scan: Scan | None = None

    def copy(self) -> Carry:
        """An independent copy."""
        visit = None if self.visit is None else replace(self.visit)
        return replace(self, stock=self.stock.copy(), track=self.track.copy(), visit=visit)
