"""Clamps, stops, starts and settings of the inflow, laid on the stock; and how fast it runs."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from cbi_monitor.ledger.stock import Stock
from cbi_monitor.ledger.vessels import LineState
from cbi_monitor.model import events as ev
from cbi_monitor.model.events import Event
from cbi_monitor.model.instants import hours
from cbi_monitor.model.volumes import Range
from cbi_monitor.model.ward import Rates


def set_rate(event: ev.InflowSet, rates: Rates) -> Range:
    """The rate that was set, mL/h, with how far it may be off; drops/min × 60 / drops per mL (drip-rate arithmetic)."""
    if event.setting is not None:
        if event.setting == "off":
            return Range(0.0, 0.0, 0.0)
        low, high = getattr(rates, event.setting)
        return Range(low, (low + high) / 2, high)
    if event.ml_per_h is not None:
        rate = event.ml_per_h
    else:
        rate = (event.drops_per_min or 0.0) * 60 / (event.drops_per_ml or 1.0)
    return Range(rate * (1 - rates.set_relative), rate, rate * (1 + rates.set_relative))


def lay_on(stock: Stock, event: Event) -> None:
    """One event that opens, clamps, stops, starts or sets the inflow or clamps the drainage."""
    was_on = stock.inflow_on
    stood = {name: line for name, line in stock.lines.items() if not line.running}
    reason = ""
    at = event.at
    if isinstance(event, ev.LineOpened):
        stock.lines[event.line] = replace(stock.touch(event.line, at), open=True, stopped=False)
    elif isinstance(event, ev.LineClamped):
        stock.lines[event.line] = replace(stock.touch(event.line, at), open=False)
    elif isinstance(event, ev.InflowStopped):
        reason = event.reason or "other"
        _stop(stock, at, event.line)
    elif isinstance(event, ev.InflowStarted):
        names = [event.line] if event.line else list(stock.reopen)
        for name in names:
            stock.lines[name] = replace(stock.touch(name, at), stopped=False, set_off=False)
        if event.line is None:
            stock.reopen = ()
        stock.direct_on = True
    elif isinstance(event, ev.InflowSet):
        _set(stock, event)
    elif isinstance(event, ev.Away) and event.inflow == "off":
        reason = "transport"
        _stop(stock, at, None)
    elif isinstance(event, ev.CatheterRemoved):
        reason = "other"
        _stop(stock, at, None)
    elif isinstance(event, ev.DrainageClamped):
        stock.drainage = replace(stock.drainage, clamped=True)
    elif isinstance(event, ev.DrainageOpened):
        stock.drainage = replace(stock.drainage, clamped=False)
    _begin_to_run(stock, stood, at)
    note_change(stock, was_on, at, reason)


def _begin_to_run(stock: Stock, stood: dict[str, LineState], at: datetime) -> None:
    """A line that stood begins to run: what its bag held while it stood is its level of this instant."""
    for name in stood:
        line = stock.lines[name]
        if line.running and line.bag is not None and line.bag.known:
            level = line.bag.level
            line = line.with_reading(at, level.ml, max(level.variance, line.bag.before_variance))
            stock.lines[name] = replace(line, ran_from=at)


def note_change(stock: Stock, was_on: bool, at: datetime, reason: str = "") -> None:
    """Keeps since when and why the inflow is off."""
    if was_on and not stock.inflow_on:
        stock.off_since, stock.off_reason = at, reason or "other"
    elif stock.inflow_on:
        stock.off_since, stock.off_reason = None, ""
    elif reason and stock.off_since is not None:
        stock.off_reason = reason


def _stop(stock: Stock, at: datetime, line: str | None) -> None:
    names = [line] if line else [name for name, state in stock.lines.items() if state.running]
    for name in names:
        stock.lines[name] = replace(stock.touch(name, at), stopped=True)
    if line is None:
        if names:
            stock.reopen = tuple(names)
        stock.direct_on = False


def _set(stock: Stock, event: ev.InflowSet) -> None:
    rate = set_rate(event, stock.measures.ward.rates)
    off = rate.mid == 0
    if event.line is None and stock.irrigant_direct:
        stock.direct_set, stock.direct_on = rate, not off
        return
    if event.line is None:
        named = [line.name for line in stock.occupied if line.running or (line.open and line.bag is not None)]
    else:
        named = [event.line]
    share = max(1, len(named))
    part = Range(rate.low / share, rate.mid / share, rate.high / share)
    for name in named:
        state = replace(stock.touch(name, event.at), set_rate=part, set_off=off, last_rate=None)
        stock.lines[name] = state if off else replace(state, stopped=False)


def line_rate(line: LineState, rates: Rates) -> tuple[Range, str]:
    """How fast one line runs, mL/h, and what that rests on: its bags, what was set, or nothing known."""
    if not line.running:
        return Range(0.0, 0.0, 0.0), "off"
    measured = line.measured_rate(rates) or line.last_rate
    if measured is not None and measured.mid > 0:
        high = measured.high
        if line.set_rate is not None:
            high = max(high, line.set_rate.mid)
        return Range(measured.low, measured.mid, high), "bags"
    if line.set_rate is not None:
        return line.set_rate, "set"
    if line.turnover is not None:
        return line.turnover, "bags"
    low, high = rates.unknown
    return Range(low, (low * high) ** 0.5, high), "not_known"


def total_rate(stock: Stock) -> tuple[Range, str]:
    """The whole inflow, mL/h, and the weakest ground that it rests on."""
    rates = stock.measures.ward.rates
    if not stock.inflow_on:
        return Range(0.0, 0.0, 0.0), "off"
    if stock.irrigant_direct:
        return _charted_rate(stock)
    parts = [line_rate(line, rates) for line in stock.occupied if line.running]
    grounds = {ground for _, ground in parts}
    ground = next(word for word in ("not_known", "set", "bags") if word in grounds)
    return (
        Range(
            sum(part.low for part, _ in parts),
            sum(part.mid for part, _ in parts),
            sum(part.high for part, _ in parts),
        ),
        ground,
    )


def _charted_rate(stock: Stock) -> tuple[Range, str]:
    rates = stock.measures.ward.rates
    if stock.direct_set is not None:
        return stock.direct_set, "set"
    if len(stock.charted) >= 2:
        first = stock.charted[-min(5, len(stock.charted))]
        span = hours(stock.charted[-1][0] - first[0])
        if span > 0:
            kept = [volume for at, volume in stock.charted if at > first[0]]
            mid = sum(kept) / span
            return Range(0.5 * mid, mid, 1.5 * mid), "charted"
    low, high = rates.unknown
    return Range(low, (low * high) ** 0.5, high), "not_known"
