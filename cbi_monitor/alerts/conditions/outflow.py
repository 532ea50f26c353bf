"""Conditions of outflow: what stays behind, what was seen at the drip, what by-passes, scans, washouts."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from cbi_monitor.alerts.conditions.bed import NOTHING, Bed, Outcome
from cbi_monitor.alerts.readings import Priority, Reading, worse
from cbi_monitor.ledger.account import Row
from cbi_monitor.model.events import (
    BladderScanned,
    CatheterPlaced,
    DrainageClamped,
    Leaked,
    OutflowSeen,
    Washout,
)
from cbi_monitor.model.findings import Fact
from cbi_monitor.model.instants import utc

GO_NOW = "first-act-go-now"
STOP = "first-act-stop-inflow"


def may_hold_facts(bed: Bed) -> dict[str, Fact]:
    """What the bladder may hold by the last close, for sentences; None where it cannot be told."""
    known = bed.standing.may_hold.at_close
    return {
        "may_ml": None if known is None else known.mid,
        "may_low_ml": None if known is None else known.low,
        "may_high_ml": None if known is None else known.high,
        "limit_ml": bed.standing.limit_ml,
    }


def retention(bed: Bed) -> Outcome:
    """More in than out since the balance stood highest: it stayed, leaked, was absorbed or was not written down.

    Clears only below the lower limit and with a steady look in the visit that showed it, or later. Unknown clears
    nothing.
    """
    th, behind = bed.th.retention, bed.standing.behind
    if behind is None:
        says = "alert-retention-says-unknown"
        return Outcome((Reading("retention", "bladder", None, says, GO_NOW, keeps="high"),))
    signs = bed.signs(th.pain_from_points, th.signs_count_for_minutes)
    set_for = bed.order_sets_limit
    high_from = th.high_behind_ml
    if set_for is not None and bed.standing.limit_ml is not None:
        high_from = min(high_from, bed.standing.limit_ml)
    sure = behind.ml >= th.needs_u * behind.u_ml
    priority: Priority | None = None
    changes_at = None
    if sure and behind.ml >= high_from:
        priority = "high"
    elif sure and signs and behind.ml >= th.high_with_signs_behind_ml:
        priority, changes_at = "high", max(signs.values())
    elif sure and behind.ml >= th.medium_behind_ml:
        priority = "medium"
    gap = th.medium_behind_ml - th.clears_below_behind_ml
    keeps: Priority | None = None
    if behind.ml >= high_from - gap:
        keeps = "high"
    elif behind.ml >= th.clears_below_behind_ml or not _caught_up_and_seen(bed, th.clears_below_behind_ml):
        keeps = "medium"
    if priority is None and keeps is None:
        return NOTHING
    facts: dict[str, Fact] = {
        "behind_ml": behind.ml,
        "behind_u_ml": behind.u_ml,
        "since": utc(behind.since),
        "as_of": utc(behind.as_of),
        "signs": len(signs),
        "limit_from_order": set_for is not None,
        **may_hold_facts(bed),
    }
    for sign in ("pain", "spasm", "restless", "abdomen", "outflow"):
        facts[f"sign_{sign}"] = sign in signs
    says = "alert-retention-says" if facts["may_ml"] is not None else "alert-retention-says-no-volume"
    if set_for is not None and high_from < th.high_behind_ml:
        facts |= {"ordered_by": set_for.by_whom, "ordered_at": utc(set_for.at)}
    else:
        set_for = None
    reading = Reading(
        "retention",
        "bladder",
        priority,
        says,
        GO_NOW,
        facts,
        keeps,
        as_of=utc(behind.as_of),
        since=utc(behind.since),
        changes_at=changes_at,
        set_for_patient=set_for,
    )
    return Outcome((reading,))


def _caught_up_and_seen(bed: Bed, below_ml: float) -> bool:
    """A steady look belongs to the first row of those at the end that are all below the limit, or came later."""
    steady = bed.standing.steady
    if steady is None:
        return False
    for row in bed.rows_back():
        if row.behind_ml is None or row.behind_ml >= below_ml:
            return False
        if steady.at >= row.end - bed.visit:
            return True
    return True


def no_outflow(bed: Bed) -> Outcome:
    """Seen not running; or so little drained in the last row that the rest must have stayed: a suspicion."""
    if not bed.standing.catheter_in:
        return NOTHING
    seen = bed.standing.seen
    if seen is not None and seen.how == "none":
        priority: Priority = "high" if bed.standing.inflow_on else "medium"
        first = _not_running_since(bed, seen.at)
        facts: dict[str, Fact] = {"seen_at": utc(seen.at), "by": seen.by, **may_hold_facts(bed)}
        act = STOP if bed.standing.inflow_on else "first-act-keep-off"
        says = "alert-no-outflow-says-seen" if bed.standing.inflow_on else "alert-no-outflow-says-seen-off"
        reading = Reading("no_outflow", "drip", priority, says, act, facts, as_of=utc(seen.at), since=first)
        return Outcome((reading,))
    found: list[Reading] = []
    computed = _short_row(bed)
    still_behind = _still_behind(bed)
    if computed is not None:
        found.append(replace(computed, keeps="high") if still_behind else computed)
    elif still_behind:
        behind = bed.standing.behind
        assert behind is not None
        facts = {"behind_ml": behind.ml, "since": utc(behind.since), **may_hold_facts(bed)}
        says = "alert-no-outflow-says-behind"
        found.append(
            Reading("no_outflow", "drip", None, says, GO_NOW, facts, keeps="high", as_of=utc(behind.as_of))
        )
    elif seen is not None and seen.how != "steady":
        # running again, but not steadily: nothing new to raise, and no proof that would clear what was raised
        facts = {"seen_at": utc(seen.at), "by": seen.by, **may_hold_facts(bed)}
        says = "alert-no-outflow-says-not-steady"
        found.append(
            Reading("no_outflow", "drip", None, says, GO_NOW, facts, keeps="medium", as_of=utc(seen.at))
        )
    return Outcome(tuple(found))


def _not_running_since(bed: Bed, at: datetime) -> datetime:
    first = at
    for look in bed.back(OutflowSeen, bed.ago(hours=12)):
        if look.running:
            break
        first = look.at
    return utc(first)


def _short_by(bed: Bed, row: Row) -> tuple[float, bool] | None:
    """How much less a row drained than ran in and the least urine, mL, and whether by more than its doubt.

    None: the row is too short for that, or its net or an end of it is not known.
    """
    if row.net_ml is None or row.net_u_ml is None or row.net_high_ml is None:
        return None
    th = bed.th.no_outflow
    span = row.end - row.start
    if span < timedelta(minutes=th.volume_needs_minutes):
        return None
    least = min(th.least_urine_ml_per_h, bed.standing.expected_urine.low)
    short = least * span.total_seconds() / 3600.0 - row.net_ml
    common = row.net_high_ml - row.net_ml - 2 * row.net_u_ml
    return short, short > th.volume_needs_u * row.net_u_ml + max(common, 0.0)


def _still_behind(bed: Bed) -> bool:
    """Volumes that spoke of a block have not caught up: a look alone never clears what they say.

    True while the balance is behind by the clearing limit or more and a row since its highest point was surely short.
    """
    behind = bed.standing.behind
    if behind is None or behind.ml < bed.th.retention.clears_below_behind_ml:
        return False
    for row in bed.rows_back():
        if row.end <= behind.since or row.end < bed.ago(hours=12):
            return False
        told = _short_by(bed, row)
        if told is not None and told[1]:
            return True
    return False


def _short_row(bed: Bed) -> Reading | None:
    """The last row drained less than ran in and the least urine, by more than its doubt.

    The least urine is the ward's, but never more than the low end of what this patient is expected to make. Its own
    doubt alone makes it medium: of an hour's row it tells a block sooner than the amount that ``retention`` waits for.
    """
    row = bed.last_row
    if row is None or row.net_ml is None or row.net_u_ml is None or row.net_high_ml is None:
        return None
    steady = bed.standing.steady
    if steady is not None and steady.at >= row.end - bed.visit:
        return None
    limits = bed.th.retention
    told = _short_by(bed, row)
    if told is None:
        return None
    short, sure = told
    signs = bed.signs(limits.pain_from_points, limits.signs_count_for_minutes)
    priority: Priority | None = None
    changes_at = None
    if sure and short >= limits.high_behind_ml:
        priority = "high"
    elif sure and signs and short >= limits.high_with_signs_behind_ml:
        priority, changes_at = "high", max(signs.values())
    elif sure:
        priority = "medium"
    keeps: Priority | None = "medium" if short >= limits.clears_below_behind_ml else None
    if priority is None and keeps is None:
        return None
    facts: dict[str, Fact] = {
        "start": utc(row.start),
        "end": utc(row.end),
        "in_ml": _came_in(row),
        "out_ml": row.net_ml + _came_in(row),
        "short_ml": short,
        **may_hold_facts(bed),
    }
    return Reading(
        "no_outflow",
        "drip",
        priority,
        "alert-no-outflow-says-short",
        GO_NOW,
        facts,
        keeps,
        as_of=utc(row.end),
        since=utc(row.start),
        changes_at=changes_at,
    )


def _came_in(row: Row) -> int:
    return (row.irrigant_in_ml or 0) + (row.washed_in_ml or 0)


def drainage_clamped_running(bed: Bed) -> Outcome:
    """The drainage side is clamped while the inflow is open: everything that runs in stays in."""
    s, clamped = bed.standing, bed.last_at(DrainageClamped)
    if not (s.drainage.clamped and s.inflow_on and s.catheter_in) or clamped is None:
        return NOTHING
    since = max(utc(clamped), bed.inflow_on_since or utc(clamped))
    raises_at = since + timedelta(minutes=bed.th.drainage_clamped_running.high_after_minutes)
    pending = raises_at > bed.now
    reading = Reading(
        "drainage_clamped_running",
        "drainage",
        None if pending else "high",
        "alert-drainage-clamped-running-says",
        "first-act-clamped",
        {"since": since},
        as_of=since,
        since=since,
        changes_at=raises_at if pending else None,
    )
    return Outcome((reading,))


def leakage(bed: Bed) -> Outcome:
    """Fluid beside the catheter. Clears when a later visit saw steady outflow and none was charted for a while."""
    th = bed.th.leakage
    leaks = list(bed.back(Leaked, bed.ago(hours=12)))
    if not leaks:
        return NOTHING
    last = leaks[0]
    quiet_from = utc(last.at) + timedelta(minutes=th.clears_after_minutes)
    steady = bed.standing.steady
    contradicted = steady is not None and steady.at > last.at + bed.visit
    changes_at = None
    if contradicted:
        if bed.now >= quiet_from:
            return NOTHING
        changes_at = quiet_from
    window = last.at - timedelta(minutes=th.high_again_within_minutes)
    again = sum(leak.at >= window for leak in leaks) >= th.high_again_count
    falling = bed.outflow_fell(th.falling_outflow_part)
    high = (again or falling) and not contradicted
    says = (
        "alert-leakage-says-again"
        if again
        else "alert-leakage-says-falling"
        if falling
        else "alert-leakage-says"
    )
    facts: dict[str, Fact] = {"last_at": utc(last.at), "times": len(leaks), **may_hold_facts(bed)}
    act = "first-act-treat-as-blocked" if high else "first-act-look-by-passing"
    reading = Reading(
        "leakage",
        "catheter",
        "high" if high else "medium",
        says,
        act,
        facts,
        keeps="high" if not contradicted else None,
        as_of=utc(last.at),
        since=utc(leaks[-1].at),
        changes_at=changes_at,
    )
    return Outcome((reading,))


def bladder_scan(bed: Bed) -> Outcome:
    """The newest scan shows volume. A later scan, an emptying washout, or a new catheter sets it aside."""
    th, scan = bed.th.bladder_scan, bed.last(BladderScanned)
    if scan is None:
        return NOTHING
    for wash in bed.back(Washout, scan.at):
        if wash.bladder_emptied:
            return NOTHING
    placed = bed.last_at(CatheterPlaced)
    if placed is not None and placed > scan.at:
        return NOTHING
    set_for = bed.order_sets_limit
    limit = bed.standing.limit_ml
    high_from = th.high_ml if limit is None else min(th.high_ml, limit)
    priority: Priority | None = None
    if scan.volume_ml >= high_from:
        priority = "high"
    elif scan.volume_ml >= th.medium_ml and bed.standing.inflow_on:
        priority = "medium"
    keeps: Priority | None = None
    if scan.volume_ml >= high_from - (th.medium_ml - th.clears_below_ml):
        keeps = "high"
    elif scan.volume_ml >= th.clears_below_ml:
        keeps = "medium"
    if priority is None and keeps is None:
        return NOTHING
    facts: dict[str, Fact] = {"scan_ml": scan.volume_ml, "at": utc(scan.at), "limit_ml": high_from}
    reading = Reading(
        "bladder_scan",
        "bladder",
        priority,
        "alert-bladder-scan-says",
        GO_NOW,
        facts,
        keeps,
        as_of=utc(scan.at),
        since=utc(scan.at),
        set_for_patient=set_for if high_from < th.high_ml else None,
    )
    return Outcome((reading,))


def washout_failed(wash: Washout, part: float) -> bool:
    """Nothing drains after it, it went in but not back, or less than ``part`` came back."""
    if wash.draining_after == "none" or wash.resistance == "in_but_not_back":
        return True
    instilled = wash.instilled
    if instilled is None or wash.returned_ml is None or wash.draining_after == "steady":
        return False
    return wash.returned_ml < part * instilled


def repeated_washouts(bed: Bed) -> Outcome:
    """Washouts close together, or failing: time to call."""
    th = bed.th.repeated_washouts
    hours = timedelta(hours=th.medium_within_hours), timedelta(hours=th.high_within_hours)
    washes = list(bed.back(Washout, bed.younger(max(hours))))
    if len(washes) < min(th.medium_count, th.high_failed_count):
        return NOTHING
    priority: Priority | None = None
    ends: list[datetime] = []

    def holds(matching: list[Washout], count: int, within: timedelta, level: Priority) -> None:
        nonlocal priority
        inside = [wash for wash in matching if wash.at > bed.now - within]
        if len(inside) >= count:
            priority = worse(priority, level)
            ends.append(utc(inside[count - 1].at) + within)

    failed = [wash for wash in washes if washout_failed(wash, th.failed_below_returned_part)]
    holds(washes, th.medium_count, hours[0], "medium")
    holds(washes, th.high_count, hours[1], "high")
    holds(failed, th.high_failed_count, hours[1], "high")
    if priority is None:
        return NOTHING
    facts: dict[str, Fact] = {
        "times": len(washes),
        "failed": len(failed),
        "since": utc(washes[-1].at),
        "last_at": utc(washes[0].at),
    }
    act = "first-act-call-urology" if priority == "high" else "first-act-look-again"
    reading = Reading(
        "repeated_washouts",
        "catheter",
        priority,
        "alert-repeated-washouts-says",
        act,
        facts,
        as_of=utc(washes[0].at),
        since=utc(washes[-1].at),
        changes_at=min(ends),
    )
    return Outcome((reading,))
