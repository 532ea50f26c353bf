"""Which bed needs someone first.

The order: not draining, or a high alert; bleeding on; an overdue look or check; the last open bag dry soon; the
drainage bag full soon; the rest by what is due next. A bag with a full one beside it raises no alert and so never
outranks blood.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cbi_monitor.alerts.life import AlertState

Need = tuple[int, int, datetime, str]

NOT_DRAINING = frozenset({"no_outflow", "retention", "drainage_clamped_running"})
FIRST = NOT_DRAINING | {"distress"}
"""Of several highs these come first: a bladder that fills waits for nobody."""
BLEEDING = frozenset({"bleeding_on"})
OVERDUE = frozenset({"look_due", "check_due"})
BAG = frozenset({"bag_running_out", "bag_dry"})
DRAINAGE = frozenset({"drainage_filling"})
_PRIORITY = {"high": 0, "medium": 2, "low": 3}
_FAR = datetime.max.replace(tzinfo=UTC)
REST = 5


def _group(condition: str, priority: str) -> int:
    if priority == "high" or condition in NOT_DRAINING:
        return 0
    for place, conditions in enumerate((BLEEDING, OVERDUE, BAG, DRAINAGE), start=1):
        if condition in conditions:
            return place
    return REST


def need_of(standing_alerts: Iterable[AlertState], next_due: datetime | None, label: str) -> Need:
    """The sort key of a bed, smallest first: group, priority within it, since when or due when, bed name.

    ``standing_alerts`` are those that are raised and not cleared.
    """
    best: Need | None = None
    for state in standing_alerts:
        group = _group(state.condition, state.priority)
        if group == REST:
            continue
        rank = _PRIORITY[state.priority]
        if group == 0 and rank == 0 and state.condition not in FIRST:
            rank = 1
        key = (group, rank, state.raised_at, label)
        if best is None or key < best:
            best = key
    return best if best is not None else (REST, 0, next_due or _FAR, label)
