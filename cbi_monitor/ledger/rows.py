"""Rows out of points: amounts, net with both ends, running totals."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from cbi_monitor.ledger.account import Row, RowState
from cbi_monitor.ledger.points import Point, ends, spread
from cbi_monitor.model.findings import Remark
from cbi_monitor.model.instants import hours
from cbi_monitor.model.volumes import Range
from cbi_monitor.model.ward import WardRules


def net_of(amounts: tuple[int, ...]) -> int:
    """Net urine: drained + washed back + leaked + otherwise − irrigant in − washed in; kept when negative."""
    irrigant, washed, drained, back, leaked, otherwise = amounts[:6]
    return drained + back + leaked + otherwise - irrigant - washed


def between(start: Point, end: Point) -> tuple[int, ...]:
    """Amounts between two points as differences of rounded cumulative ones, so that they add up exactly."""
    return tuple(b - a for a, b in zip(start.sums.rounded(), end.sums.rounded(), strict=True))


def per_kg_per_h(
    net: float, low: float | None, high: float | None, span_h: float, kg: float | None
) -> Range | None:
    """mL/kg/h as a range; None without a weight, a duration or an end."""
    if kg is None or span_h <= 0 or low is None or high is None:
        return None
    part = span_h * kg
    return Range(min(low, net) / part, net / part, max(high, net) / part)


def closed_row(
    start: Point, end: Point, ward: WardRules, common: tuple[float, ...], *, running_from: Point | None,
    broken_in: bool, broken_out: bool, behind: tuple[float, float], hold: Range | None,
    weight_kg: float | None, remarks: tuple[Remark, ...], start_known: bool = True,
) -> Row:  # fmt: skip
    """The row from one point to the next; questioned where a side broke conservation (it and the net unknown)."""
    amounts = between(start, end)
    irrigant, washed, drained, back, leaked, otherwise, other_in, other_out = amounts
    broken = broken_in or broken_out
    state: RowState = "questioned" if broken else "closed"
    net: int | None = None
    low: float | None = None
    high: float | None = None
    u: float | None = None
    more_out = end.unmeasured_out > start.unmeasured_out
    more_in = end.unmeasured_in > start.unmeasured_in
    if not broken:
        net = net_of(amounts)
        doubt = spread(start, end, ward, common)
        u = doubt.u
        bottom, top = ends(net, doubt)
        low = None if more_in else bottom
        high = None if more_out else top
    running: int | None = None
    running_low: float | None = None
    running_high: float | None = None
    since: datetime | None = None
    if running_from is not None and not broken:
        running = net_of(between(running_from, end))
        bottom, top = ends(running, spread(running_from, end, ward, common))
        running_low = None if end.unmeasured_in > running_from.unmeasured_in else bottom
        running_high = None if end.unmeasured_out > running_from.unmeasured_out else top
        since = running_from.at
    span = hours(end.at - start.at)
    return Row(
        start=start.at, end=end.at, state=state,
        irrigant_in_ml=None if broken_in else irrigant, washed_in_ml=washed,
        drained_ml=None if broken_out else drained, washed_back_ml=back, leaked_ml=leaked, otherwise_ml=otherwise,
        net_ml=net, net_low_ml=low, net_high_ml=high, net_u_ml=u,
        running_ml=running, running_low_ml=running_low, running_high_ml=running_high, running_since=since,
        behind_ml=behind[0], behind_u_ml=behind[1], may_hold=hold, other_in_ml=other_in, other_out_ml=other_out,
        fluid_balance_ml=None if net is None else other_in - other_out - net,
        ml_per_kg_per_h=None if net is None or not start_known else per_kg_per_h(net, low, high, span, weight_kg),
        start_bags=start.bags, end_bags=end.bags, end_drainage_ml=end.drainage_ml,
        at_least=more_out and not more_in, remarks=remarks,
    )  # fmt: skip


def open_row(
    start: Point, at: datetime, sums_now: tuple[int, ...], *, irrigant_known: bool, drainage_known: bool,
    bags: Mapping[str, float | None], drainage_ml: float | None, remarks: tuple[Remark, ...],
) -> Row:  # fmt: skip
    """The last row while a vessel in use is not known: each known side, the rest null, and why."""
    amounts = tuple(b - a for a, b in zip(start.sums.rounded(), sums_now, strict=True))
    irrigant, washed, drained, back, leaked, otherwise, other_in, other_out = amounts
    return Row(
        start=start.at, end=at, state="open",
        irrigant_in_ml=irrigant if irrigant_known else None, washed_in_ml=washed,
        drained_ml=drained if drainage_known else None, washed_back_ml=back, leaked_ml=leaked,
        otherwise_ml=otherwise, net_ml=None, net_low_ml=None, net_high_ml=None, net_u_ml=None, running_ml=None,
        running_low_ml=None, running_high_ml=None, running_since=None, behind_ml=None, behind_u_ml=None,
        may_hold=None, other_in_ml=other_in, other_out_ml=other_out, fluid_balance_ml=None, ml_per_kg_per_h=None,
        start_bags=start.bags, end_bags=bags, end_drainage_ml=drainage_ml, remarks=remarks,
    )  # fmt: skip
