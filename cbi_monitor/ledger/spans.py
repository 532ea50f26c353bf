"""Totals between borders (clock hours, shifts, days): rows inside are summed, a row across a border is prorated.

A share is a difference of cumulative amounts rounded half to even, so shares add up exactly to their row; its range is
never narrower than its row's. Irrigant and drainage are spread over the time the inflow ran.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from cbi_monitor.ledger.account import Row, RowState
from cbi_monitor.ledger.facts import SessionFacts
from cbi_monitor.ledger.measure import Measures
from cbi_monitor.ledger.points import Point, spread
from cbi_monitor.ledger.rows import net_of, per_kg_per_h
from cbi_monitor.model.findings import Remark
from cbi_monitor.model.instants import hours, utc
from cbi_monitor.model.ward import WardRules

Toggles = Sequence[tuple[datetime, bool]]


def running_hours(toggles: Toggles, start: datetime, end: datetime) -> float:
    """Hours between two instants during which the inflow ran, as charted."""
    total = 0.0
    at, on = start, False
    for when, now_on in toggles:
        if when <= start:
            on = now_on
            continue
        if when >= end:
            break
        if on:
            total += hours(when - at)
        at, on = when, now_on
    if on:
        total += hours(end - at)
    return total


@dataclass(frozen=True, slots=True)
class _Cut:
    """The cumulative amounts at a border, and the row it lies within (None: exactly at a close)."""

    at: datetime
    amounts: tuple[int, ...]
    row: int | None


def _cut(at: datetime, points: Sequence[Point], times: list[datetime], toggles: Toggles) -> _Cut:
    place = bisect_right(times, at) - 1
    start = points[place]
    if start.at == at or place + 1 >= len(points):
        return _Cut(at, start.sums.rounded(), None)
    end = points[place + 1]
    ran = running_hours(toggles, start.at, end.at)
    if ran > 0:
        share = running_hours(toggles, start.at, at) / ran
    else:
        share = hours(at - start.at) / hours(end.at - start.at)
    amounts = tuple(
        a + round(share * (b - a)) for a, b in zip(start.sums.rounded(), end.sums.rounded(), strict=True)
    )
    return _Cut(at, amounts, place)


def spans(
    ward: WardRules, measures: Measures, points: Sequence[Point], rows: Sequence[Row], toggles: Toggles,
    borders: Sequence[datetime], facts: SessionFacts,
) -> list[Row]:  # fmt: skip
    """One row between each two borders. Raises ValueError where borders do not ascend.

    A span that begins before the chart or ends after its last close is cut there and is ``open``; one without any close
    in it has no figures.
    """
    marks = [utc(border) for border in borders]
    if any(later <= earlier for earlier, later in pairwise(marks)):
        raise ValueError("borders must ascend")
    times = [point.at for point in points]
    running = 0
    running_since: datetime | None = points[0].at if points else None
    found: list[Row] = []
    for start, end in pairwise(marks):
        row = _span(ward, measures, points, times, rows, toggles, start, end, facts, running, running_since)
        if row.net_ml is not None:
            running += row.net_ml
        elif row.state == "questioned":
            running, running_since = 0, end
        found.append(row)
    return found


def _empty(start: datetime, end: datetime, kind: str) -> Row:
    return Row(
        start, end, "open", None, None, None, None, None, None, None, None, None, None, None, None, None, None, None,
        None, None, 0, 0, None, None, {}, {}, None, remarks=(Remark(kind),),
    )  # fmt: skip


def _span(
    ward: WardRules, measures: Measures, points: Sequence[Point], times: list[datetime], rows: Sequence[Row],
    toggles: Toggles, start: datetime, end: datetime, facts: SessionFacts, running: int,
    running_since: datetime | None,
) -> Row:  # fmt: skip
    if len(points) < 2 or end <= times[0]:
        return _empty(start, end, "nothing_charted")
    if start >= times[-1]:
        return _empty(start, end, "not_closed_yet")
    first, last = max(start, times[0]), min(end, times[-1])
    a, b = _cut(first, points, times, toggles), _cut(last, points, times, toggles)
    amounts = tuple(y - x for x, y in zip(a.amounts, b.amounts, strict=True))
    low_place = a.row if a.row is not None else times.index(first)
    high_place = b.row if b.row is not None else times.index(last) - 1
    inside = rows[low_place : high_place + 1]
    broken = [row for row in inside if row.state == "questioned"]
    # The doubt of the whole rows that the span touches: never narrower than theirs.
    doubt = spread(points[low_place], points[high_place + 1], ward, measures.common)
    net: int | None = None
    low: float | None = None
    high: float | None = None
    if not broken:
        net = net_of(amounts)
        more_in = any(row.net_low_ml is None for row in inside)
        more_out = any(row.net_high_ml is None for row in inside)
        low = None if more_in else net - 2 * doubt.u - doubt.below
        high = None if more_out else net + 2 * doubt.u - doubt.above
    prorated = a.row is not None or b.row is not None
    state: RowState = "questioned" if broken else "closed"
    remarks: list[Remark] = [remark for row in inside for remark in row.remarks]
    if last < end:
        state = "open" if not broken else state
        remarks.append(Remark("counted_until", (), {"at": last}))
    if first > start:
        remarks.append(Remark("counted_from", (), {"at": first}))
    weight = facts.weight_at(last)
    tail = rows[high_place]
    exact_end = b.row is None
    return Row(
        start=first, end=last, state=state,
        irrigant_in_ml=None if any(row.irrigant_in_ml is None for row in inside) else amounts[0],
        washed_in_ml=amounts[1],
        drained_ml=None if any(row.drained_ml is None for row in inside) else amounts[2],
        washed_back_ml=amounts[3], leaked_ml=amounts[4], otherwise_ml=amounts[5],
        net_ml=net, net_low_ml=low, net_high_ml=high, net_u_ml=None if net is None else doubt.u,
        running_ml=None if net is None else running + net, running_low_ml=None, running_high_ml=None,
        running_since=None if net is None else running_since,
        behind_ml=tail.behind_ml if exact_end else None, behind_u_ml=tail.behind_u_ml if exact_end else None,
        may_hold=tail.may_hold if exact_end else None, other_in_ml=amounts[6], other_out_ml=amounts[7],
        fluid_balance_ml=None if net is None else amounts[6] - amounts[7] - net,
        ml_per_kg_per_h=None if net is None else per_kg_per_h(net, low, high, hours(last - first), weight),
        start_bags=inside[0].start_bags, end_bags=tail.end_bags, end_drainage_ml=tail.end_drainage_ml,
        prorated=prorated, at_least=low is not None and high is None and net is not None,
        remarks=tuple(remarks),
    )  # fmt: skip
