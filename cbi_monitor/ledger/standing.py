"""How a bed stands at an instant: what is known, how old it is, and how far it may have moved since."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Literal

from cbi_monitor.ledger.account import Behind, Drainage, Line, MayHold, Proof, Sight, Standing
from cbi_monitor.ledger.carry import Carry
from cbi_monitor.ledger.closing import expected_per_kg, weight_or_assumed
from cbi_monitor.ledger.inflow import line_rate, total_rate
from cbi_monitor.ledger.points import Point
from cbi_monitor.ledger.sights import is_comfortable_steady
from cbi_monitor.ledger.vessels import LineState
from cbi_monitor.model import events as ev
from cbi_monitor.model.events import Event
from cbi_monitor.model.instants import hours, utc
from cbi_monitor.model.volumes import Range, TimeRange
from cbi_monitor.model.ward import WardRules

if TYPE_CHECKING:
    from cbi_monitor.ledger.ledger import Ledger

_FAR = timedelta(days=30)


def _after(at: datetime, ml: float, rate: float) -> datetime | None:
    """When ``ml`` will have run at ``rate`` mL/h; None where it never will within 30 days."""
    if rate <= 0:
        return None
    span = max(0.0, ml) / rate
    return None if span > _FAR.total_seconds() / 3600 else at + timedelta(hours=span)


def _time_range(
    at: datetime, ml: float, doubt: float, rate: Range, extra_high: float = 0.0
) -> TimeRange | None:
    likely = _after(at, ml, rate.mid)
    if likely is None:
        return None
    early = _after(at, ml - doubt, rate.high) or likely
    late = _after(at, ml + doubt + extra_high, rate.low) if rate.low > 0 else None
    return TimeRange(min(early, likely), likely, None if late is None else max(late, likely))


def _line(line: LineState, ward: WardRules, now: datetime) -> Line:
    bag = line.bag
    assert bag is not None
    rate, _ = line_rate(line, ward.rates)
    since = bag.level_at if line.ran_from is None else max(bag.level_at, line.ran_from)
    gap = max(0.0, hours(now - since))
    sd = bag.level.variance**0.5
    overfill = ward.overfill.high * bag.label_ml if bag.fresh and bag.by_label else 0.0
    level_now: Range | None
    if line.running:
        low = max(0.0, bag.level.ml - rate.high * gap - 2 * sd)
        mid = max(0.0, bag.level.ml - rate.mid * gap)
        high = max(0.0, bag.level.ml + overfill - rate.low * gap + 2 * sd)
        level_now = Range(min(low, mid), mid, max(mid, high))
    elif bag.known:
        level_now = Range(max(0.0, bag.level.ml - 2 * sd), bag.level.ml, bag.level.ml + 2 * sd + overfill)
    else:
        level_now = Range(0.0, bag.level.ml / 2, bag.level.ml + 2 * sd + overfill)
    dry = _time_range(since, bag.level.ml, 2 * sd, rate, overfill) if line.running else None
    return Line(
        name=line.name, fluid=bag.fluid, label_ml=bag.label_ml, hung_at=bag.hung_at, running=line.running,
        level_ml=bag.level.ml, level_at=bag.level_at, level_now=level_now, dry=dry, last_open=False,
    )  # fmt: skip


def _lines(carry: Carry, ward: WardRules, now: datetime) -> tuple[Line, ...]:
    lines = [_line(line, ward, now) for line in carry.stock.occupied]
    running = [line for line in lines if line.running]
    last = max(
        running, key=lambda line: (line.dry is None, line.dry.likely if line.dry else now), default=None
    )
    return tuple(
        line
        if line is not last
        else Line(line.name, line.fluid, line.label_ml, line.hung_at, line.running, line.level_ml, line.level_at,
                  line.level_now, line.dry, True)
        for line in lines
    )  # fmt: skip


def _drainage(carry: Carry, outflow: Range | None, now: datetime) -> Drainage:
    d = carry.stock.drainage
    level = d.level if d.by_levels else None
    if level is None or d.level_at is None:
        return Drainage(d.capacity_ml, None, None, None, None, None, d.clamped)
    gap = max(0.0, hours(now - d.level_at))
    sd = level.variance**0.5
    contents: Range | None = None
    two_thirds = full = None
    if d.clamped:
        contents = Range(max(0.0, level.ml - 2 * sd), level.ml, level.ml + 2 * sd)
    elif outflow is not None:
        mid = level.ml + outflow.mid * gap
        contents = Range(max(0.0, level.ml - 2 * sd), mid, max(mid, level.ml + 2 * sd + outflow.high * gap))
        if d.capacity_ml is not None:
            two_thirds = _time_range(d.level_at, d.capacity_ml * 2 / 3 - level.ml, 2 * sd, outflow)
            full = _time_range(d.level_at, d.capacity_ml - level.ml, 2 * sd, outflow)
    return Drainage(d.capacity_ml, level.ml, d.level_at, contents, two_thirds, full, d.clamped)


def _sight(event: ev.OutflowSeen | ev.Washout) -> Sight:
    how: Literal["steady", "slow", "drops_only", "none", "running"]
    if isinstance(event, ev.OutflowSeen):
        how = event.how or ("running" if event.running else "none")
    else:
        how = event.draining_after or "none"
    return Sight(event.at, event.by, how, event.id)


def _sights(
    histories: Mapping[type[Event], Sequence[Event]], pain: int
) -> tuple[Sight | None, Sight | None, Sight | None]:
    """The last look, the last steady one, the last steady one at a comfortable patient."""
    looks: list[Event] = [*histories.get(ev.OutflowSeen, ())[-60:]]
    looks += [wash for wash in histories.get(ev.Washout, ())[-10:] if getattr(wash, "draining_after", None)]
    looks.sort(key=lambda event: event.at)
    seen = steady = comfortable = None
    for event in reversed(looks):
        assert isinstance(event, (ev.OutflowSeen, ev.Washout))
        sight = _sight(event)
        seen = seen or sight
        if sight.how == "steady":
            steady = steady or sight
            if is_comfortable_steady(event, histories, pain):
                comfortable = sight
                break
    return seen, steady, comfortable


def _limit(carry: Carry, ward: WardRules) -> tuple[float | None, Literal["ward", "order", "must_be_typed"]]:
    ordered = carry.facts.order.get("bladder_limit_ml")
    if ordered is not None:
        return float(ordered), "order"
    age = carry.facts.details.get("age_years")
    if age is not None and age < ward.bladder.limit_from_age_years:
        return None, "must_be_typed"
    return ward.bladder.limit_ml, "ward"


def stand(
    ledger: Ledger, carry: Carry, points: Sequence[Point], histories: Mapping[type[Event], Sequence[Event]],
    now: datetime,
) -> Standing:  # fmt: skip
    """Everything that a screen or a condition reads off a session at ``now``."""
    ward, stock, track = ledger.ward, carry.stock, carry.track
    urine, urine_basis = track.expected(expected_per_kg(carry, ward), weight_or_assumed(carry, ward))
    inflow, basis = total_rate(stock)
    outflow = None
    if not stock.drainage.clamped:
        outflow = Range(inflow.low + urine.low, inflow.mid + urine.mid, inflow.high + urine.high)
    seen, steady, comfortable = _sights(histories, ward.bladder.discomfort_pain)
    point = track.point
    limit, limit_from = _limit(carry, ward)
    hold: Range | None = track.hold
    as_of = point.at if point is not None else None
    if (
        carry.base_pending is not None
        and carry.base_at is not None
        and (as_of is None or carry.base_at > as_of)
    ):
        hold, as_of = carry.base_pending, carry.base_at
    elif hold is not None and carry.scan is not None and as_of is not None and carry.scan.at > as_of:
        track.scan = carry.scan
        low, mid, high = track.with_scan(now, urine, hold.low, hold.mid, hold.high)
        hold = Range(min(low, mid), mid, max(mid, high))
        as_of = carry.scan.at
    proved = comfortable.at if comfortable is not None else None
    if hold is not None and track.extra_ml and proved and track.extra_at and proved >= track.extra_at:
        hold = Range(hold.low, hold.mid, max(hold.mid, hold.high - track.extra_ml))
    anchor = as_of
    if anchor is not None and proved is not None and proved > anchor:
        anchor = proved
    reaches: datetime | None = None
    now_range: Range | None = None
    if hold is not None and anchor is not None:
        fill = inflow.high + urine.high
        grown = hold.high + fill * max(0.0, hours(now - anchor))
        now_range = Range(hold.low, hold.mid, max(hold.mid, grown))
        if limit is not None and fill > 0:
            reaches = anchor + timedelta(hours=max(-48.0, min((limit - hold.high) / fill, 24 * 30)))
    blind_at = None if as_of is None else as_of + timedelta(minutes=ward.bladder.blind_minutes)
    cannot: Literal["", "blind", "too_much", "nothing_known"] = ""
    if hold is None:
        cannot = "nothing_known"
    elif blind_at is not None and now > blind_at:
        cannot = "blind"
    elif hold.mid > ward.bladder.most_ml:
        cannot = "too_much"
    proof: Proof | None = None
    if track.proof_at is not None and hold is not None:
        kind: Literal["look", "volume", "start"] = "volume" if track.proof_kind == "volume" else "start"
        proof = Proof(track.proof_at, kind, track.proof_high)
        if proved is not None and proved >= track.proof_at:
            proof = Proof(proved, "look", hold.high)
    behind = None
    if point is not None and track.peak is not None:
        behind = Behind(track.behind_ml, track.behind_u, track.peak.at, point.at)
    visit = carry.visit
    is_open = (
        visit is not None
        and visit.counted
        and not visit.closed
        and bool(points)
        and visit.last_at > points[-1].at
    )
    later = [at for at in (blind_at, carry.relief_until, _order_until(carry)) if at is not None and at > now]
    return Standing(
        now=now, last_close=None if point is None else point.at, behind=behind,
        may_hold=MayHold(hold, None if cannot in ("blind", "nothing_known") else now_range, as_of, cannot),
        seen=seen, steady=steady, proof=proof, limit_ml=limit, limit_from=limit_from, block_reaches_limit=reaches,
        inflow_on=stock.inflow_on, inflow_off_since=stock.off_since, inflow_off_reason=stock.off_reason,
        inflow=inflow, inflow_basis=basis,  # type: ignore[arg-type]
        outflow=outflow, expected_urine=urine, expected_urine_basis=urine_basis, lines=_lines(carry, ward, now),
        drainage=_drainage(carry, outflow, now), catheter_in=carry.facts.catheter_in, open_row=is_open,
        unanswered=sum(1 for found in ledger.findings if found.asks),
        next_change=min(later, default=None),
        facts={"learned_spans": track.learned_spans, "extra_ml": track.extra_ml},
    )  # fmt: skip


def _order_until(carry: Carry) -> datetime | None:
    until = carry.facts.order.get("until")
    return utc(until) if isinstance(until, datetime) else None
