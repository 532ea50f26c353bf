"""Which alert speaks for which. The silent ones are listed under the speaker and keep their own life.

A speaker never speaks for an alert of a higher priority than its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol

from cbi_monitor.alerts.readings import RANK, Priority

SPEAKS_FOR: Mapping[str, tuple[str, ...]] = {
    "catheter_out": ("no_outflow", "retention", "bag_dry", "inflow_off"),
    "drainage_clamped_running": ("no_outflow", "retention", "look_due"),
    "no_outflow": ("retention", "look_due"),
    "distress": ("retention", "look_due"),
    "retention": ("unrecorded_volume", "look_due"),
    "unrecorded_volume": ("absorption", "low_urine"),
    "bag_dry": ("bag_running_out",),
    "bleeding_on": ("colour_deepening",),
    "look_due": ("check_due",),
}
"""The one table. It holds onward: who speaks for ``retention`` speaks for whatever ``retention`` speaks for."""


def _onward() -> Mapping[str, frozenset[str]]:
    closed: dict[str, frozenset[str]] = {}

    def reach(name: str, path: tuple[str, ...]) -> frozenset[str]:
        if name in path:
            raise ValueError(f"{name} would speak for itself")
        if name not in closed:
            found: set[str] = set()
            for silent in SPEAKS_FOR.get(name, ()):
                found |= {silent} | reach(silent, (*path, name))
            closed[name] = frozenset(found)
        return closed[name]

    for name in SPEAKS_FOR:
        reach(name, ())
    return closed


SPEAKS_ONWARD: Mapping[str, frozenset[str]] = _onward()


class Standing(Protocol):
    """What the table needs to know of an alert."""

    @property
    def id(self) -> str:
        """Which alert."""

    @property
    def condition(self) -> str:
        """Of which condition."""

    @property
    def priority(self) -> Priority:
        """Its priority now."""


def speaker_of(alert: Standing, standing: Sequence[Standing]) -> str | None:
    """The id of the alert that speaks for this one among those that stand, or None: it speaks for itself.

    Of several the one of the highest priority, then the first of the table.
    """
    best: Standing | None = None
    order = list(SPEAKS_FOR)
    for other in standing:
        if other is alert or alert.condition not in SPEAKS_ONWARD.get(other.condition, ()):
            continue
        if RANK[other.priority] < RANK[alert.priority]:
            continue
        if best is None or (-RANK[other.priority], order.index(other.condition)) < (
            -RANK[best.priority],
            order.index(best.condition),
        ):
            best = other
    return None if best is None else best.id
