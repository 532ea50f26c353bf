"""Conditions of urine and of the balance itself. An estimate is judged only where its whole range lies on one side."""

from __future__ import annotations

from datetime import datetime, timedelta

from cbi_monitor.alerts.conditions.bed import NOTHING, Bed, Outcome
from cbi_monitor.alerts.readings import Priority, Reading
from cbi_monitor.model.events import CatheterPlaced, InflowStarted, InflowStopped, Washout
from cbi_monitor.model.findings import Fact
from cbi_monitor.model.instants import utc


def low_urine(bed: Bed) -> Outcome:
    """Urine wholly below the limit over hours with nothing open. Unknown clears nothing; off where none is expected."""
    th = bed.th.low_urine
    if bed.ordered("expected_urine") in ("none", "diverted") or bed.detail("kidney") == "dialysis":
        return NOTHING
    if bed.standing.last_close is None:
        return NOTHING
    long = bed.ledger.urine(th.high_over_hours)
    window = bed.ledger.urine(th.medium_over_hours)
    if window.not_known or window.per_kg is None or window.start is None or window.end is None:
        if window.not_known in ("too_short", "diverted"):
            return NOTHING
        says = "alert-low-urine-says-unknown"
        return Outcome((Reading("low_urine", "urine", None, says, "first-act-low-urine", keeps="high"),))
    priority: Priority | None = None
    keeps: Priority | None = "medium" if window.per_kg.high < th.clears_from_ml_per_kg_per_h else None
    shown = window
    if long.per_kg is not None and not long.not_known:
        if long.per_kg.high < th.high_below_ml_per_kg_per_h:
            priority, shown = "high", long
        slack = th.clears_from_ml_per_kg_per_h - th.medium_below_ml_per_kg_per_h
        if long.per_kg.high < th.high_below_ml_per_kg_per_h + slack:
            keeps = "high"
    if priority is None and window.per_kg.high < th.medium_below_ml_per_kg_per_h:
        priority = "medium"
    if priority is None and keeps is None:
        return NOTHING
    start, end, per_kg = shown.start or window.start, shown.end or window.end, shown.per_kg or window.per_kg
    facts: dict[str, Fact] = {
        "start": utc(start),
        "end": utc(end),
        "per_kg_low": per_kg.low,
        "per_kg": per_kg.mid,
        "per_kg_high": per_kg.high,
        "limit": th.high_below_ml_per_kg_per_h if priority == "high" else th.medium_below_ml_per_kg_per_h,
        "made_ml": None if shown.made_ml is None else shown.made_ml.mid,
    }
    reading = Reading(
        "low_urine",
        "urine",
        priority,
        "alert-low-urine-says",
        "first-act-low-urine",
        facts,
        keeps,
        as_of=utc(end),
        since=utc(start),
    )
    return Outcome((reading,))


def _relief(bed: Bed) -> datetime | None:
    """When a catheter was last placed, or a block cleared."""
    found = [at for at in (bed.last_at(CatheterPlaced),) if at is not None]
    wash = next((w for w in bed.back(Washout) if w.draining_after == "steady" or w.bladder_emptied), None)
    if wash is not None:
        found.append(wash.at)
    started = bed.last_at(InflowStarted)
    if started is not None:
        stop = next((s for s in bed.back(InflowStopped) if s.at <= started), None)
        if stop is not None and stop.reason == "not_draining":
            found.append(started)
    return utc(max(found)) if found else None


def high_urine(bed: Bed) -> Outcome:
    """Much urine for hours, sure to the low end of its range; not in the first hours after relief."""
    th = bed.th.high_urine
    if bed.standing.last_close is None:
        return NOTHING
    window = bed.ledger.urine(th.over_hours)
    if window.not_known or window.rate is None or window.start is None or window.end is None:
        return NOTHING
    relief = _relief(bed)
    free = relief is None or window.start >= relief + timedelta(hours=th.not_after_relief_hours)
    priority: Priority | None = "medium" if window.rate.low >= th.medium_from_ml_per_h and free else None
    keeps: Priority | None = "medium" if window.rate.low >= th.clears_below_ml_per_h else None
    if priority is None and keeps is None:
        return NOTHING
    facts: dict[str, Fact] = {
        "start": utc(window.start),
        "end": utc(window.end),
        "rate_low": window.rate.low,
        "rate": window.rate.mid,
        "rate_high": window.rate.high,
    }
    reading = Reading(
        "high_urine",
        "urine",
        priority,
        "alert-high-urine-says",
        "first-act-high-urine",
        facts,
        keeps,
        as_of=utc(window.end),
        since=utc(window.start),
    )
    return Outcome((reading,))


def unrecorded_volume(bed: Bed) -> Outcome:
    """A volume seems to be missing or extra: a question with time and size. It never explains a block away."""
    found = [reading for reading in (_missing(bed), _extra(bed)) if reading is not None]
    return Outcome(tuple(found))


def _missing(bed: Bed) -> Reading | None:
    th, behind = bed.th.unrecorded_volume, bed.standing.behind
    if behind is None:
        says = "alert-unrecorded-volume-says-unknown"
        return Reading("unrecorded_volume", "volume missing", None, says, "first-act-ask-volume", keeps="low")
    if behind.ml < th.clears_below_ml:
        return None
    sure = behind.ml >= th.low_from_ml and behind.ml >= th.needs_u * behind.u_ml
    start, end, size = behind.since, behind.as_of, 0.0
    rows = bed.rows_back()
    row = next(rows, None)
    while row is not None and row.end > behind.since:
        before = next(rows, None)
        grew = (row.behind_ml or 0.0) - ((before.behind_ml or 0.0) if before is not None else 0.0)
        if grew > size:
            start, end, size = row.start, row.end, grew
        row = before
    facts: dict[str, Fact] = {
        "ml": behind.ml,
        "u_ml": behind.u_ml,
        "start": utc(start),
        "end": utc(end),
        "since": utc(behind.since),
    }
    return Reading(
        "unrecorded_volume",
        "volume missing",
        "low" if sure else None,
        "alert-unrecorded-volume-says-missing",
        "first-act-ask-volume",
        facts,
        keeps="low",
        as_of=utc(behind.as_of),
        since=utc(behind.since),
    )


EXTRA_LOOKS_BACK = timedelta(hours=4)
"""How far back a row that drained too much is still asked about. Common practice, no source."""


def _extra(bed: Bed) -> Reading | None:
    """More came out than ran in, than urine at its most, and than the bladder may have held before."""
    th = bed.th.unrecorded_volume
    best: tuple[float, float, datetime, datetime] | None = None
    most = max(bed.standing.expected_urine.high, 0.0)
    rows = bed.rows_back()
    row = next(rows, None)
    while row is not None and row.end > bed.now - EXTRA_LOOKS_BACK:
        before = next(rows, None)
        if row.net_ml is not None and row.net_u_ml is not None and not row.prorated:
            held = bed.ward.bladder.residue_high_ml
            if before is not None and before.may_hold is not None:
                held = max(held, before.may_hold.high)
            hours = (row.end - row.start).total_seconds() / 3600.0
            low = row.net_ml if row.net_low_ml is None else min(row.net_ml, row.net_low_ml + 2 * row.net_u_ml)
            over = low - most * hours - held
            if over >= th.clears_below_ml and (best is None or over > best[0]):
                best = (over, row.net_u_ml, row.start, row.end)
        row = before
    if best is None:
        return None
    over, u, start, end = best
    sure = over >= th.low_from_ml and over >= th.needs_u * u
    facts: dict[str, Fact] = {
        "ml": over,
        "u_ml": u,
        "start": utc(start),
        "end": utc(end),
        "since": utc(start),
    }
    return Reading(
        "unrecorded_volume",
        "volume extra",
        "low" if sure else None,
        "alert-unrecorded-volume-says-extra",
        "first-act-ask-volume",
        facts,
        keeps="low",
        as_of=utc(end),
        since=utc(start),
        changes_at=utc(end) + EXTRA_LOOKS_BACK,
    )
