"""The head line of the board: alerts by priority, checks due soon, bags that the shift still needs.

Each bed's share is reckoned with its lane, so that the head line is a sum over small values.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from cbi_monitor.exports.borders import shift_at
from cbi_monitor.screens import says
from cbi_monitor.screens.board.lanes import spoken_for
from cbi_monitor.ward.bed import Bed
from cbi_monitor.ward.settings_in_force import InForce
from cbi_monitor.wording import say

AHEAD = timedelta(minutes=30)


@dataclass(frozen=True, slots=True)
class Share:
    """What one bed adds to the head line. ``size`` is the label of its bag in mL, None where nothing runs.

    ``low`` and ``high`` are the mL that it lacks until the end of the shift; None: its rate is not known.
    """

    alerts: tuple[str, ...]
    next_due: datetime | None
    size: float | None
    low: float | None
    high: float | None


def share_of(bed: Bed, in_force: InForce, now: datetime) -> Share:
    """One bed's share: inflow × time left of the shift, less what hangs, lowest and highest."""
    alerts = tuple(state.priority for state in spoken_for(bed))
    standing = bed.standing
    running = [line for line in standing.lines if line.running]
    if not standing.inflow_on or not running:
        return Share(alerts, bed.next_due, None, 0.0, 0.0)
    size = max(line.label_ml for line in running)
    if standing.inflow_basis == "not_known":
        return Share(alerts, bed.next_due, size, None, None)
    hours = (shift_at(in_force.ward, now).end - now).total_seconds() / 3600
    hangs = [line.level_now for line in standing.lines if line.level_now is not None]
    low = max(0.0, standing.inflow.low * hours - sum(level.high for level in hangs))
    high = max(0.0, standing.inflow.high * hours - sum(level.low for level in hangs))
    return Share(alerts, bed.next_due, size, low, high)


def alerts_by_priority(shares: Iterable[Share]) -> dict[str, int]:
    """How many alerts stand for themselves, by priority."""
    return dict(Counter(priority for share in shares for priority in share.alerts))


def checks_due(shares: Iterable[Share], in_force: InForce, now: datetime) -> tuple[str, int]:
    """Until when (half an hour ahead), and at how many beds a look or check is due by then."""
    until = now + AHEAD
    due = sum(1 for share in shares if share.next_due is not None and share.next_due <= until)
    return says.clock(until, in_force.zone), due


def bags_until_shift_end(shares: Iterable[Share], in_force: InForce, now: datetime) -> str:
    """Bags of the usual size that the ward still hangs in this shift; empty where a rate is not known. Whole bags."""
    low = high = 0
    sizes: Counter[float] = Counter()
    for share in shares:
        if share.size is None:
            continue
        if share.low is None or share.high is None:
            return ""
        low += math.ceil(share.low / share.size)
        high += math.ceil(share.high / share.size)
        sizes[share.size] += 1
    if not sizes:
        return ""
    usual = sizes.most_common(1)[0][0]
    spread = (
        says.number(low)
        if low == high
        else say("screens-range", low=says.number(low), high=says.number(high))
    )
    end = says.clock(shift_at(in_force.ward, now).end, in_force.zone)
    return say("board-bags", size=f"{usual / 1000:g}", until=end, range=spread)
