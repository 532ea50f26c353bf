"""Conditions of urine and of the balance itself. An estimate is judged only where its whole range lies on one side."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from cbi_monitor.alerts.conditions.bed import NOTHING, Bed, Outcome
from cbi_monitor.alerts.readings import Priority, Reading
from cbi_monitor.model.events import CatheterPlaced, InflowStarted, InflowStopped, Washout
from cbi_monitor.model.findings import Fact, Finding
from cbi_monitor.model.instants import utc


def _asked_since(bed: Bed, start: datetime) -> bool:
    """A question about the volumes of a window is still open."""
    return any(found.asks and found.answer is None and found.at >= start for found in bed.findings)


def low_urine(bed: Bed) -> Outcome:
    """Urine wholly below the limit over hours with nothing open. Unknown clears nothing; off where none is expected."""
    th = bed.th.low_urine
    if bed.ordered("expected_urine") in ("none", "diverted") or bed.detail("kidney") == "dialysis":
        return NOTHING
    if bed.standing.last_close is None:
        return NOTHING
    long = bed.ledger.urine(th.high_over_hours)
    window = bed.ledger.urine(th.medium_over_hours)
    asked = window.start is not None and _asked_since(bed, window.start)
    if window.not_known or asked or window.per_kg is None or window.start is None or window.end is None:
        if window.not_known in ("too_short", "diverted"):
            return NOTHING
        says = "alert-low-urine-says-unknown"
        return Outcome((Reading("low_urine", "urine", None, says, "first-act-low-urine", keeps="high"),))
    priority: Priority | None = None
    keeps: Priority | None = "medium" if window.per_kg.high < th.clears_from_ml_per_kg_per_h else None
    shown = window
    if (
        long.per_kg is not None
        and long.start is not None
        and not long.not_known
        and not _asked_since(bed, long.start)
    ):
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
    if _asked_since(bed, window.start):
        says = "alert-high-urine-says-asked"
        return Outcome((Reading("high_urine", "urine", None, says, "first-act-high-urine", keeps="medium"),))
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


QUESTION_STANDS = timedelta(hours=4)
"""How long an unanswered question about a volume that is extra stays an alert; on the chart it stays until answered.
Common practice, no source."""

BREAKS_THE_BALANCE = frozenset({"level_rose", "contents_fell"})
"""Questions without whose answer no balance can be told."""


def unrecorded_volume(bed: Bed) -> Outcome:
    """A volume seems to be missing or extra: a question with time and size. It never explains a block away."""
    open_questions = [found for found in bed.findings if found.asks and found.answer is None]
    missing = _missing(bed, open_questions)
    found = [] if missing is None else [missing]
    changes_at = None
    for question in reversed(open_questions):
        if question.kind == "volume_extra" and not any(r.subject == "volume extra" for r in found):
            until = utc(question.at) + QUESTION_STANDS
            if until > bed.now:
                found.append(_extra(bed, question, until))
                changes_at = until
        elif question.kind in BREAKS_THE_BALANCE:
            facts: dict[str, Fact] = {"at": utc(question.at), "finding": question.id}
            found.append(
                Reading(
                    "unrecorded_volume",
                    f"question {question.id}",
                    "low",
                    "alert-unrecorded-volume-says-finding",
                    "first-act-ask-volume",
                    facts,
                    as_of=utc(question.at),
                    since=utc(question.at),
                )
            )
    return Outcome(tuple(found), changes_at)


def _missing(bed: Bed, questions: Sequence[Finding]) -> Reading | None:
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
    asked = next(
        (q.id for q in reversed(questions) if q.kind == "volume_missing" and q.at > behind.since), ""
    )
    facts: dict[str, Fact] = {
        "ml": behind.ml,
        "u_ml": behind.u_ml,
        "start": utc(start),
        "end": utc(end),
        "since": utc(behind.since),
        "finding": asked,
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


def _extra(bed: Bed, question: Finding, until: datetime) -> Reading:
    """More came out than ran in, than urine at its most, and than was behind before."""
    th = bed.th.unrecorded_volume
    size, u = question.facts.get("ml"), question.facts.get("u_ml")
    since = question.facts.get("since")
    ml = float(size) if isinstance(size, (int, float)) else 0.0
    doubt = float(u) if isinstance(u, (int, float)) else 0.0
    start = utc(since) if isinstance(since, datetime) else utc(question.at)
    facts: dict[str, Fact] = {
        "ml": ml,
        "u_ml": doubt,
        "start": start,
        "end": utc(question.at),
        "since": start,
        "finding": question.id,
    }
    return Reading(
        "unrecorded_volume",
        "volume extra",
        "low" if ml >= th.low_from_ml and ml >= th.needs_u * doubt else None,
        "alert-unrecorded-volume-says-extra",
        "first-act-ask-volume",
        facts,
        keeps="low",
        as_of=utc(question.at),
        since=start,
        changes_at=until,
    )
