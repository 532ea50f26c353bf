"""Irrigant bags that a bed and a ward will need, low to high, by size."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta

from cbi_monitor.ledger.account import Standing
from cbi_monitor.model.instants import hours


@dataclass(frozen=True, slots=True)
class BagsNeeded:
    """Whole bags of ``size_ml`` still to be hung. ``low`` and ``high`` are None where the rate is not known."""

    size_ml: float
    low: int | None
    high: int | None


def bags_needed(standing: Standing, ahead: timedelta) -> BagsNeeded | None:
    """What one bed needs within ``ahead`` at the rate as it stands; None where nothing is to run.

    Inflow × time, less what hangs (both by the ends of their ranges), over the label of the largest bag hanging;
    rounded up to whole bags. A standing bag counts as there to be used.
    """
    lines = standing.lines
    if not lines or not standing.inflow_on:
        return None
    size = max(line.label_ml for line in lines)
    levels = [line.level_now for line in lines]
    if standing.inflow_basis == "not_known" or any(level is None for level in levels):
        return BagsNeeded(size, None, None)
    least = sum(level.low for level in levels if level is not None)
    most = sum(level.high for level in levels if level is not None)
    length = hours(ahead)
    return BagsNeeded(
        size,
        _bags(standing.inflow.low * length - most, size),
        _bags(standing.inflow.high * length - least, size),
    )


def _bags(missing: float, size: float) -> int:
    return max(0, math.ceil(missing / size))


def by_size(needed: Iterable[BagsNeeded | None]) -> list[BagsNeeded]:
    """The ward's sum, largest size first. Where one bed's rate is not known, that size has no ends."""
    sums: dict[float, BagsNeeded] = {}
    for bags in needed:
        if bags is None:
            continue
        before = sums.get(bags.size_ml, BagsNeeded(bags.size_ml, 0, 0))
        known = None not in (bags.low, bags.high, before.low, before.high)
        sums[bags.size_ml] = BagsNeeded(
            bags.size_ml,
            (before.low or 0) + (bags.low or 0) if known else None,
            (before.high or 0) + (bags.high or 0) if known else None,
        )
    return [sums[size] for size in sorted(sums, reverse=True)]
