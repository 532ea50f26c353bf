"""Levels that fit another bed better than this one: a question whether the check belongs there."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from cbi_monitor.ledger.account import Standing
from cbi_monitor.model.events import BagRead, DrainageEmptied, DrainageRead, Event
from cbi_monitor.model.volumes import Range
from cbi_monitor.ward.bed import Bed
from cbi_monitor.ward.outcomes import WrongBed

MISFIT_ML = 300.0
"""A level this far outside what was expected here, mL, starts the question (common practice, no source)."""
FITS_ML = 100.0
"""Every level within this of what is expected there, mL, makes it a better fit (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Level:
    field: str
    where: str
    ml: float


def suspicion(
    here: Standing, events: Iterable[Event], others: Iterable[Bed], now: datetime
) -> WrongBed | None:
    """The bed that the levels of one check fit, where they do not fit this one. None: no suspicion."""
    levels = list(_levels(events))
    if not levels:
        return None
    misfits = _misfits(levels, expected(here))
    odd = tuple(level.field for level in levels if misfits.get(level.where, 0.0) > MISFIT_ML)
    if not odd:
        return None
    best: tuple[float, Bed] | None = None
    for bed in others:
        there = _misfits(levels, expected(bed.standing_at(now)))
        if len(there) == len(levels) and max(there.values()) <= FITS_ML:
            score = sum(there.values())
            if best is None or score < best[0]:
                best = (score, bed)
    return None if best is None else WrongBed(best[1].session, best[1].label, odd)


def expected(standing: Standing) -> Mapping[str, Range]:
    """What each vessel is expected to hold now: lines by name, the drainage bag under an empty name."""
    known = {line.name: line.level_now for line in standing.lines if line.level_now is not None}
    if standing.drainage.contents_now is not None:
        known[""] = standing.drainage.contents_now
    return known


def _levels(events: Iterable[Event]) -> Iterable[_Level]:
    for event in events:
        if isinstance(event, BagRead) and event.left_ml is not None and event.of is None:
            yield _Level(f"left.{event.line}", event.line, event.left_ml)
        elif isinstance(event, DrainageRead) and event.contents_ml is not None:
            yield _Level("drainage", "", event.contents_ml)
        elif isinstance(event, DrainageEmptied) and event.volume is not None:
            yield _Level("drainage", "", event.volume + (event.left_ml or 0.0))


def _misfits(levels: Iterable[_Level], known: Mapping[str, Range]) -> dict[str, float]:
    """How far each level lies outside its expected range, mL; only vessels of which something is expected."""
    found: dict[str, float] = {}
    for level in levels:
        at = known.get(level.where)
        if at is not None:
            found[level.where] = max(at.low - level.ml, level.ml - at.high, 0.0)
    return found
