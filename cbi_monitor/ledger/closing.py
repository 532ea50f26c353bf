"""A visit closes a row when every vessel in use is known; until then the row stays open."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from cbi_monitor.ledger.account import Row
from cbi_monitor.ledger.carry import Carry, Visit
from cbi_monitor.ledger.inflow import line_rate, total_rate
from cbi_monitor.ledger.measure import Measures
from cbi_monitor.ledger.points import OpenTerm, Point, Sums, spread
from cbi_monitor.ledger.rows import closed_row, open_row
from cbi_monitor.ledger.stock import Stock
from cbi_monitor.ledger.vessels import Bag, LineState
from cbi_monitor.model.findings import Finding, Remark
from cbi_monitor.model.instants import hours
from cbi_monitor.model.ward import WardRules


def expected_per_kg(carry: Carry, ward: WardRules) -> float:
    """Expected urine before anything is learned, mL/kg/h, by the order in force."""
    said = carry.facts.order.get("expected_urine", "usual")
    if said in ("none", "diverted"):
        return 0.0
    return ward.urine.low if said == "low" else ward.urine.usual


def weight_or_assumed(carry: Carry, ward: WardRules) -> float:
    """The newest weight, kg; where none is charted, what the ward file assumes."""
    return carry.facts.weight_kg or ward.urine.assumed_weight_kg


def _estimated(stock: Stock, line: LineState, bag: Bag, visit: Visit) -> tuple[float, float]:
    """Where the other bag of a whole-bag chart stands, by its own rate between full and empty: mL and variance."""
    rate, ground = line_rate(line, stock.measures.ward.rates)
    gap = hours(visit.last_at - bag.level_at)
    flat = bag.level.ml / 2, bag.level.ml**2 / 12
    if ground == "not_known":
        return flat
    level = min(max(bag.level.ml - rate.mid * gap, 0.0), bag.level.ml)
    variance = ((rate.high - rate.low) / 4 * gap) ** 2
    return (level, variance) if variance < flat[1] else (level, flat[1])


def _irrigant(
    stock: Stock, visit: Visit
) -> tuple[bool, float, list[OpenTerm], dict[str, float | None], list[float], bool]:
    """Irrigant side at the end of the visit: known, mL used of hanging bags, open terms, levels, marks, estimated."""
    known, estimated = True, False
    used = 0.0
    terms: list[OpenTerm] = []
    levels: dict[str, float | None] = {}
    marks = [0.0] * 5
    for line in stock.occupied:
        bag = line.bag
        assert bag is not None
        level, variance = bag.level.ml, bag.level.variance
        gap = hours(visit.last_at - bag.level_at)
        read_here = bag.visit == visit.number
        if not read_here and not bag.known:
            if not stock.any_bag_read and visit.changed_line and visit.changed_line != line.name:
                level, variance = _estimated(stock, line, bag, visit)
                estimated = True
                terms.append((-(bag.key * 1000 + visit.number), 1.0, variance))
                used += bag.start_ml - level
                levels[line.name] = level
                continue
            known = False
            levels[line.name] = None
            used += bag.start_ml - bag.level.ml
            continue
        terms.append((bag.key, 1.0, variance))
        if gap > 0 and line.running:
            rate, _ = line_rate(line, stock.measures.ward.rates)
            moved = min(level, rate.mid * gap)
            level -= moved
            terms.append((-(bag.key * 1000 + visit.number), 1.0, (rate.mid * gap) ** 2 / 3))
        if not bag.fresh or not bag.by_label:
            marks[bag.level.instrument] += bag.level.ml
        used += bag.start_ml - level
        levels[line.name] = level
    return known, used, terms, levels, marks, estimated


def _drainage(stock: Stock, visit: Visit) -> tuple[bool, float, list[OpenTerm], list[float]]:
    """Drainage side at the end of the visit: known?, what drained on since its last level, open terms, marks."""
    d = stock.drainage
    marks = [0.0] * 5
    if not d.by_levels or d.level is None:
        return not d.by_levels, 0.0, [], marks
    read_here = d.visit == visit.number
    if not read_here and not d.known:
        return False, 0.0, [], marks
    terms: list[OpenTerm] = [(d.key, 1.0, d.level.variance)]
    moved = 0.0
    gap = hours(visit.last_at - d.level_at) if d.level_at is not None else 0.0
    if gap > 0 and not d.clamped:
        rate, ground = total_rate(stock)
        if ground in ("bags", "set", "charted"):
            moved = rate.mid * gap
        terms.append((-(d.key * 1000 + visit.number), 1.0, (rate.mid * gap) ** 2 / 3))
    marks[d.level.instrument] += d.level.ml
    return True, moved, terms, marks


def _sums(stock: Stock, used: float, moved: float) -> Sums:
    return replace(stock.sums, irrigant_in=stock.sums.irrigant_in + used, drained=stock.sums.drained + moved)


def _first_point(carry: Carry, at: Point) -> tuple[Point, bool]:
    """Where a chart by volumes begins: the opening of the session, or a minute before where that is not earlier."""
    opened = carry.facts.opened_at
    known = opened is not None and opened < at.at
    start = opened if known and opened is not None else at.at - timedelta(minutes=1)
    zero = Point(start, 0, Sums(), (), 0.0, 0.0, (0.0,) * 5, 0, 0, 0.0, {}, None)
    return zero, known


def close_visit(
    ward: WardRules, measures: Measures, carry: Carry, visit: Visit, points: list[Point], rows: list[Row],
    findings: list[Finding],
) -> None:  # fmt: skip
    """Make the point and the row of a visit, where every vessel in use is known; else leave the row open."""
    stock, track = carry.stock, carry.track
    known_in, used, terms_in, bags, marks_in, estimated = _irrigant(stock, visit)
    known_out, moved, terms_out, marks_out = _drainage(stock, visit)
    visit.closed = known_in and known_out
    if not visit.closed:
        return
    level = stock.drainage.level
    fresh_bags = [line.bag for line in stock.occupied if line.bag is not None and line.bag.fresh]
    by_instrument = tuple(s + i + o for s, i, o in zip(stock.by_instrument, marks_in, marks_out, strict=True))
    point = Point(
        at=visit.last_at, number=visit.number, sums=_sums(stock, used, moved), open_terms=(*terms_in, *terms_out),
        settled=stock.settled - sum(bag.start_variance for bag in fresh_bags),
        labels_ml=stock.labels_ml - sum(bag.label_ml for bag in fresh_bags if bag.by_label),
        by_instrument=by_instrument,
        unmeasured_out=stock.unmeasured_out, unmeasured_in=stock.unmeasured_in, loose_ml=stock.loose_ml, bags=bags,
        drainage_ml=None if level is None or not stock.drainage.by_levels else level.ml + moved,
    )  # fmt: skip
    per_kg, weight = expected_per_kg(carry, ward), weight_or_assumed(carry, ward)
    inflow, _ = total_rate(stock)
    start_known = True
    if not points:
        if not stock.direct:
            _begin(carry, point, per_kg, weight)
            points.append(point)
            _consume(visit, stock)
            return
        zero, start_known = _first_point(carry, point)
        _begin(carry, zero, per_kg, weight)
        points.append(zero)
    last = points[-1]
    if point.at <= last.at:
        visit.closed = False
        return
    broken_in, broken_out = bool(stock.broken_in), bool(stock.broken_out)
    if track.extra_at is not None and carry.steady_at is not None and carry.steady_at >= track.extra_at:
        track.extra_ml, track.extra_at = 0.0, None
    if (
        carry.disturbed_at is not None
        and track.quiet_since is not None
        and carry.disturbed_at > track.quiet_since.at
    ):
        track.disturb()
    track.scan = carry.scan
    before = track.behind_ml
    track.advance(
        point, broken_ml=_may_have_stayed(last, point, carry, ward, broken_in, broken_out), loose_ml=stock.loose_ml,
        per_kg=per_kg, weight_kg=weight, inflow=inflow, settled_questions=not _asks(stock, findings),
    )  # fmt: skip
    fresh = carry.running_pending and carry.base_at is not None and carry.base_at <= point.at
    if broken_in or broken_out or fresh:
        track.running_from = point
    if carry.base_pending is not None and carry.base_at is not None and carry.base_at <= point.at:
        track.restart(point, carry.base_given)
    row = closed_row(
        last, point, ward, measures.common, running_from=None if fresh else track.running_from,
        broken_in=broken_in, broken_out=broken_out, behind=(track.behind_ml, track.behind_u), hold=track.hold,
        weight_kg=carry.facts.weight_at(point.at), remarks=_remarks(stock, estimated, start_known),
        start_known=start_known,
    )  # fmt: skip
    _ask_about(row, last, point, stock, carry, visit, ward, measures, before, per_kg, weight, findings)
    points.append(point)
    rows.append(row)
    _consume(visit, stock)


def _begin(carry: Carry, point: Point, per_kg: float, weight: float) -> None:
    inflow, _ = total_rate(carry.stock)
    carry.track.advance(
        point,
        broken_ml=None,
        loose_ml=0.0,
        per_kg=per_kg,
        weight_kg=weight,
        inflow=inflow,
        settled_questions=True,
    )
    carry.track.running_from = point
    if carry.track.hold is not None:
        carry.track.proof_high = carry.track.hold.high


def _consume(visit: Visit, stock: Stock) -> None:
    visit.used_remarks, visit.used_in, visit.used_out = (
        len(stock.remarks),
        len(stock.broken_in),
        len(stock.broken_out),
    )


def _asks(stock: Stock, findings: list[Finding]) -> bool:
    return any(found.asks for found in findings[-5:]) or any(found.asks for found in stock.findings[-5:])


def _may_have_stayed(
    last: Point, point: Point, carry: Carry, ward: WardRules, broken_in: bool, broken_out: bool
) -> float | None:
    """Over a broken row: the most that may have stayed in the bladder, mL, since the broken side tells nothing."""
    if not broken_in and not broken_out:
        return None
    span = hours(point.at - last.at)
    urine, _ = carry.track.expected(expected_per_kg(carry, ward), weight_or_assumed(carry, ward))
    ran = point.sums.irrigant_in - last.sums.irrigant_in
    out = 0.0 if broken_out else point.sums.drained - last.sums.drained
    if broken_in:
        inflow, _ = total_rate(carry.stock)
        ran = inflow.high * span
    return max(0.0, ran + urine.high * span - out)


def _remarks(stock: Stock, estimated: bool, start_known: bool) -> tuple[Remark, ...]:
    remarks = list(stock.remarks)
    if estimated:
        remarks.append(Remark("estimated"))
    if not start_known:
        remarks.append(Remark("start_not_known"))
    for name in (*stock.broken_in, *stock.broken_out):
        kind, _, event_id = name.partition(":")
        remarks.append(Remark("questioned", (event_id,), {"finding": kind}))
    return tuple(remarks)


def _ask_about(
    row: Row, last: Point, point: Point, stock: Stock, carry: Carry, visit: Visit, ward: WardRules,
    measures: Measures, behind_before: float, per_kg: float, weight: float, findings: list[Finding],
) -> None:  # fmt: skip
    """A row that lost or gained more than its doubt allows: an emptying, or a bag, may never have been written down."""
    if row.net_ml is None or stock.irrigant_direct or row.net_low_ml is None or row.net_high_ml is None:
        return
    doubt = spread(last, point, ward, measures.common).all_u
    least = max(ward.balance.unexplained_ml, ward.balance.unexplained_u * doubt)
    urine, _ = carry.track.expected(per_kg, weight)
    extra = row.net_ml - behind_before - urine.high * hours(row.end - row.start)
    facts = {"since": row.start, "u_ml": round(doubt)}
    if -row.net_ml >= least:
        _ask(
            "volume_missing",
            visit.drainage_event or visit.bag_event,
            point,
            findings,
            stock,
            ml=-row.net_ml,
            **facts,
        )
    elif extra >= least:
        _ask(
            "volume_extra",
            visit.bag_event or visit.drainage_event,
            point,
            findings,
            stock,
            ml=round(extra),
            **facts,
        )


def _ask(
    kind: str, event_id: str, point: Point, findings: list[Finding], stock: Stock, **facts: object
) -> None:
    name = f"{kind}:{event_id}"
    if any(found.id == name for found in reversed(stock.findings)):
        return  # answered already
    findings.append(Finding(name, kind, point.at, (event_id,), facts, True))  # type: ignore[arg-type]


def pending_row(carry: Carry, points: list[Point]) -> Row | None:
    """The open row after the last close: what is known of each side at the end of the last visit; else None."""
    visit, stock = carry.visit, carry.stock
    if visit is None or visit.closed or not visit.counted or not points or visit.last_at <= points[-1].at:
        return None
    known_in, used, _, bags, _, _ = _irrigant(stock, visit)
    known_out, moved, _, _ = _drainage(stock, visit)
    remarks = list(stock.remarks)
    if not known_in:
        for line, level in bags.items():
            if level is None:
                remarks.append(Remark("open_bag_not_read", (), {"line": line}))
    if not known_out:
        remarks.append(Remark("open_drainage_not_read"))
    level_now = stock.drainage.level.ml + moved if known_out and stock.drainage.level is not None else None
    return open_row(
        points[-1], visit.last_at, _sums(stock, used, moved).rounded(),
        irrigant_known=known_in and not stock.broken_in, drainage_known=known_out and not stock.broken_out,
        bags=bags, drainage_ml=level_now, remarks=tuple(remarks),
    )  # fmt: skip
