"""The head line of the board: alerts by priority, checks due soon, bags that the shift still needs."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from datetime import datetime, timedelta

from cbi_monitor.exports.borders import shift_at
from cbi_monitor.screens import says
from cbi_monitor.screens.board.lanes import spoken_for
from cbi_monitor.ward.bed import Bed
from cbi_monitor.ward.settings_in_force import InForce
from cbi_monitor.wording import say

AHEAD = timedelta(minutes=30)


def alerts_by_priority(beds: Sequence[Bed]) -> dict[str, int]:
    """How many alerts stand for themselves, by priority."""
    counted = Counter(state.priority for bed in beds for state in spoken_for(bed))
    return dict(counted)


def checks_due(beds: Sequence[Bed], in_force: InForce, now: datetime) -> tuple[str, int]:
    """Until when (half an hour ahead), and at how many beds a look or check is due by then."""
    until = now + AHEAD
    due = sum(1 for bed in beds if bed.next_due is not None and bed.next_due <= until)
    return says.clock(until, in_force.zone), due


def bags_until_shift_end(beds: Sequence[Bed], in_force: InForce, now: datetime) -> str:
    """Bags of the usual size that the ward still hangs in this shift, low to high; empty where a rate is not known.

    Per bed: inflow × time left, less what hangs, over the label of its bag; whole bags, rounded up.
    """
    end = shift_at(in_force.ward, now).end
    hours = (end - now).total_seconds() / 3600
    low = high = 0
    sizes: Counter[float] = Counter()
    for bed in beds:
        standing = bed.standing
        running = [line for line in standing.lines if line.running]
        if not standing.inflow_on or not running:
            continue
        if standing.inflow_basis == "not_known":
            return ""
        size = max(line.label_ml for line in running)
        left_low = sum(line.level_now.low for line in standing.lines if line.level_now is not None)
        left_high = sum(line.level_now.high for line in standing.lines if line.level_now is not None)
        low += math.ceil(max(0.0, standing.inflow.low * hours - left_high) / size)
        high += math.ceil(max(0.0, standing.inflow.high * hours - left_low) / size)
        sizes[size] += 1
    if not sizes:
        return ""
    usual = sizes.most_common(1)[0][0]
    spread = says.number(low) if low == high else say("screens-range", low=says.number(low), high=says.number(high))
    return say("board-bags", size=f"{usual / 1000:g}", until=says.clock(end, in_force.zone), range=spread)
