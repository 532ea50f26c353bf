"""What the course of the alerts themselves says."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from cbi_monitor.alerts.readings import Reading
from cbi_monitor.alerts.thresholds import ComesAndGoes

if TYPE_CHECKING:
    from cbi_monitor.alerts.life import AlertState

OF_OUTFLOW = frozenset({"retention", "no_outflow", "distress", "leakage", "bladder_scan"})
"""Highs that tell of outflow; the others say nothing of a clot at the catheter."""


def comes_and_goes(
    states: Iterable[AlertState], th: ComesAndGoes, now: datetime
) -> tuple[Reading | None, datetime | None]:
    """Highs of outflow that cleared and came again: a clot at the catheter? And when that would end by itself.

    Alerts that stood at the same time count as one.
    """
    within = timedelta(hours=th.within_hours)
    cleared = sorted(
        (
            (state.raised_at, state.cleared_at)
            for state in states
            if state.cleared_at is not None
            and state.worst == "high"
            and state.condition in OF_OUTFLOW
            and state.cleared_at > now - within
        ),
        key=lambda span: span[1],
    )
    episodes: list[tuple[datetime, datetime]] = []
    for raised, ended in cleared:
        if episodes and raised <= episodes[-1][1]:
            episodes[-1] = (min(raised, episodes[-1][0]), ended)
        else:
            episodes.append((raised, ended))
    if len(episodes) < th.cleared_highs_count:
        return None, None
    first_that_counts = episodes[-th.cleared_highs_count]
    ends = first_that_counts[1] + within
    reading = Reading(
        "comes_and_goes",
        "catheter",
        "medium",
        "alert-comes-and-goes-says",
        "first-act-clot-at-catheter",
        {"times": len(episodes), "since": episodes[0][0], "last_at": episodes[-1][1]},
        as_of=episodes[-1][1],
        since=episodes[0][0],
        changes_at=ends,
    )
    return reading, ends
