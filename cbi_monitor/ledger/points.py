"""A point: an instant at which every vessel in use is known, with all sums up to it and their doubt.

Doubt between two points costs the same however far they lie apart: settled readings are a prefix sum of variance, open
ones (the levels that stand in the vessels) keep their signed coefficients, so that a level read in between cancels.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from cbi_monitor.model.ward import WardRules


@dataclass(frozen=True, slots=True)
class Sums:
    """Cumulative millilitres since the chart began. ``elsewhere`` is urine by another way than the bladder."""

    irrigant_in: float = 0.0
    washed_in: float = 0.0
    drained: float = 0.0
    washed_back: float = 0.0
    leaked: float = 0.0
    voided: float = 0.0
    elsewhere: float = 0.0
    other_in: float = 0.0
    other_out: float = 0.0

    @property
    def bladder_net(self) -> float:
        """Out of the bladder minus into it."""
        return self.drained + self.washed_back + self.leaked + self.voided - self.irrigant_in - self.washed_in

    def rounded(self) -> tuple[int, ...]:
        """Irrigant in, washed in, drained, washed back, leaked, otherwise, other in and out: whole mL, half to even."""
        return (
            round(self.irrigant_in),
            round(self.washed_in),
            round(self.drained),
            round(self.washed_back),
            round(self.leaked),
            round(self.voided + self.elsewhere),
            round(self.other_in),
            round(self.other_out),
        )


OpenTerm = tuple[int, float, float]
"""Which reading, its signed coefficient in the net, its variance in mL²."""


@dataclass(frozen=True, slots=True)
class Point:
    """See the module. ``unmeasured_out`` and ``unmeasured_in`` count volumes that were not measured."""

    at: datetime
    number: int
    sums: Sums
    open_terms: tuple[OpenTerm, ...]
    settled: float
    labels_ml: float
    by_instrument: tuple[float, ...]
    unmeasured_out: int
    unmeasured_in: int
    loose_ml: float
    bags: Mapping[str, float | None]
    drainage_ml: float | None


@dataclass(frozen=True, slots=True)
class Spread:
    """The doubt of the net between two points: ``u`` inside the root, what adds below and above outside it; mL."""

    u: float
    below: float
    above: float
    overfill_u: float
    common_u: float

    @property
    def all_u(self) -> float:
        """One standard uncertainty with overfill (as a rectangular one) and common errors in it."""
        return float((self.u**2 + self.overfill_u**2 + self.common_u**2) ** 0.5)


def spread(start: Point, end: Point, ward: WardRules, common: tuple[float, ...]) -> Spread:
    """Doubt of the net over (start, end]; JCGM 100:2008, 5.1.2 with signed coefficients, common errors linearly."""
    variance = max(0.0, end.settled - start.settled)
    first = {key: (coefficient, var) for key, coefficient, var in start.open_terms}
    for key, coefficient, var in end.open_terms:
        before = first.pop(key, None)
        share = coefficient - (before[0] if before else 0.0)
        variance += share * share * var
    for coefficient, var in first.values():
        variance += coefficient * coefficient * var
    labels = max(0.0, end.labels_ml - start.labels_ml)
    shared = 0.0
    shared_squares = 0.0
    for factor, now, then in zip(common, end.by_instrument, start.by_instrument, strict=True):
        part = factor * abs(now - then)
        shared += part
        shared_squares += part * part
    fill = ward.overfill
    return Spread(
        u=variance**0.5,
        below=fill.high * labels + shared,
        above=fill.low * labels - shared,
        overfill_u=(fill.high - fill.low) / 12**0.5 * labels,
        common_u=shared_squares**0.5,
    )


def ends(net: float, doubt: Spread) -> tuple[float, float]:
    """Low and high end of a net in mL: ``net − 2u − ε_high·L − common`` and ``net + 2u − ε_low·L + common``."""
    return net - 2 * doubt.u - doubt.below, net + 2 * doubt.u - doubt.above
