"""The vessels: irrigant bags on their lines, the drainage bag, and the rate that a bag's own levels tell."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from cbi_monitor.ledger.measure import Measured
from cbi_monitor.model.instants import hours
from cbi_monitor.model.volumes import Range
from cbi_monitor.model.ward import Rates

LevelReading = tuple[datetime, float, float]
"""When, mL, variance."""


@dataclass(frozen=True, slots=True)
class Bag:
    """One hanging bag. ``start_ml`` is what counts as hung; ``level`` what it was last known to hold.

    ``known`` : the level still stands, nothing ran since it was read. ``visit`` numbers the visit that read it last.
    ``before_ml`` is the level that an earlier visit left, against which conservation is tested. ``fresh``: hung
    and not read since, so that what was hung and what hangs are one and the same unknown.
    """

    label_ml: float
    fluid: str
    hung_at: datetime
    start_ml: float
    level: Measured
    level_at: datetime
    key: int
    visit: int
    known: bool
    before_ml: float
    before_variance: float
    fresh: bool
    by_label: bool
    start_variance: float = 0.0
    estimated: bool = False


@dataclass(frozen=True, slots=True)
class LineState:
    """One line: its bag, its clamp, whether it was stopped, what was set, the levels since the last change.

    ``ran_from``: when it last began to run with a level that was known just then.
    """

    name: str
    bag: Bag | None = None
    open: bool = True
    stopped: bool = False
    set_off: bool = False
    set_rate: Range | None = None
    readings: tuple[LevelReading, ...] = ()
    last_rate: Range | None = None
    turnover: Range | None = None
    ran_from: datetime | None = None

    @property
    def running(self) -> bool:
        """A bag hangs, its clamp is open, and nobody stopped it."""
        return self.bag is not None and self.open and not self.stopped and not self.set_off

    def measured_rate(self, rates: Rates) -> Range | None:
        """mL/h by the bag's own levels, at most ``look_back_minutes`` back; None with too little to tell it."""
        if len(self.readings) < 2:
            return None
        last_at, last_ml, last_variance = self.readings[-1]
        border = last_at - timedelta(minutes=rates.look_back_minutes)
        for at, ml, variance in self.readings[:-1]:
            if at < border:
                continue
            span = hours(last_at - at)
            if ml - last_ml < rates.needs_ml and span * 60 < rates.needs_minutes:
                return None
            if span <= 0:
                return None
            rate = (ml - last_ml) / span
            doubt = 2 * (variance + last_variance) ** 0.5 / span
            mid = max(0.0, rate)
            return Range(max(0.0, mid - doubt), mid, mid + doubt)
        return None

    def changed(self, at: datetime, rates: Rates) -> LineState:
        """The flow was touched at that instant: the rate is told anew from here on."""
        kept = tuple(reading for reading in self.readings[-1:] if reading[0] == at)
        return replace(self, readings=kept, last_rate=self.measured_rate(rates) or self.last_rate)

    def with_reading(self, at: datetime, ml: float, variance: float) -> LineState:
        """One more level; a second one of the same instant replaces the first."""
        kept = self.readings
        if kept and kept[-1][0] == at:
            kept = kept[:-1]
        return replace(self, readings=(*kept, (at, ml, variance))[-200:])


@dataclass(frozen=True, slots=True)
class DrainageState:
    """The drainage side. ``by_levels`` from the first bag placed or read on; before that it is charted directly."""

    by_levels: bool = False
    capacity_ml: float | None = None
    level: Measured | None = None
    level_at: datetime | None = None
    key: int = 0
    visit: int = -1
    known: bool = False
    before_ml: float = 0.0
    before_variance: float = 0.0
    clamped: bool = False
    ever_emptied: bool = False
