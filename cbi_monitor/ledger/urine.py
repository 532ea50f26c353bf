"""Urine made over a window: net plus what the bladder may hold more at its end than at its start."""

from __future__ import annotations

from collections.abc import Sequence

from cbi_monitor.ledger.account import Row, UrineWindow
from cbi_monitor.ledger.carry import Carry
from cbi_monitor.ledger.measure import Measures
from cbi_monitor.ledger.points import Point, spread
from cbi_monitor.model.instants import hours as in_hours
from cbi_monitor.model.volumes import Range
from cbi_monitor.model.ward import WardRules

_NONE = UrineWindow(None, None, None, None, None, "too_short")


def window(
    ward: WardRules,
    measures: Measures,
    carry: Carry,
    points: Sequence[Point],
    rows: Sequence[Row],
    least: float,
) -> UrineWindow:
    """The shortest run of closed rows that ends at the last close and lasts at least ``least`` hours.

    The part of the residue that is the same at both ends cancels; half of its range is kept as doubt of the change.
    """
    if carry.facts.order.get("expected_urine") == "diverted":
        return UrineWindow(None, None, None, None, None, "diverted")
    if not rows:
        return _NONE
    first = None
    for place in range(len(rows) - 1, -1, -1):
        if rows[place].state != "closed":
            break
        if carry.relief_until is not None and rows[place].start < carry.relief_until <= rows[-1].end:
            break
        if in_hours(rows[-1].end - rows[place].start) >= least:
            first = place
            break
    if first is None:
        behind = rows[-1].behind_ml or 0.0
        if behind > ward.bladder.residue_high_ml and behind > 3 * (rows[-1].behind_u_ml or 0.0):
            return UrineWindow(None, None, None, None, None, "see_behind")
        questioned = any(row.state == "questioned" for row in rows[-3:])
        return UrineWindow(None, None, None, None, None, "open_row" if questioned else "too_short")
    end_row = rows[-1]
    start, end = points[first + len(points) - len(rows) - 1], points[-1]
    behind, behind_u = end_row.behind_ml or 0.0, end_row.behind_u_ml or 0.0
    if behind > ward.bladder.residue_high_ml and behind > 3 * behind_u:
        return UrineWindow(start.at, end.at, None, None, None, "see_behind")
    if end.unmeasured_out > start.unmeasured_out or end.unmeasured_in > start.unmeasured_in:
        return UrineWindow(start.at, end.at, None, None, None, "unmeasured")
    span = in_hours(end.at - start.at)
    net = sum(row.net_ml or 0 for row in rows[first:])
    before = rows[first - 1].behind_ml or 0.0 if first > 0 else 0.0
    change = behind - before
    doubt = spread(start, end, ward, measures.common)
    residue = ward.bladder.residue_high_ml / 2
    half = ((2 * doubt.u) ** 2 + residue**2) ** 0.5
    made = net + change
    low, high = made - half - doubt.below, made + half - doubt.above
    made_range = Range(low, min(max(made, low), high), high)
    rate = Range(low / span, made_range.mid / span, high / span)
    weight = carry.facts.weight_at(end.at)
    per_kg = None if weight is None else Range(rate.low / weight, rate.mid / weight, rate.high / weight)
    return UrineWindow(start.at, end.at, made_range, rate, per_kg, "")
