"""What is overdue: looks, checks, traction, the patient's return."""

from __future__ import annotations

from datetime import datetime, timedelta

from cbi_monitor.alerts.conditions.bed import NOTHING, Bed, Outcome, earliest, minutes
from cbi_monitor.alerts.plan import medium_from, traction_until
from cbi_monitor.alerts.readings import Priority, Reading
from cbi_monitor.alerts.thresholds import Overdue
from cbi_monitor.model.findings import Fact
from cbi_monitor.model.instants import utc


def _overdue(
    bed: Bed,
    condition: str,
    th: Overdue,
    due: datetime,
    every: float,
    seen: datetime,
    act: str,
    says: str,
    facts: dict[str, Fact],
) -> Outcome:
    low_at = due + minutes(th.grace_minutes(every))
    medium_at = medium_from(bed, th, due, every)
    priority: Priority | None = None
    if medium_at is not None and bed.now >= medium_at:
        priority = "medium"
    elif bed.now >= low_at:
        priority = "low"
    later = [at for at in (low_at, medium_at) if at is not None and at > bed.now]
    changes_at = min(later) if later else None
    if priority is None:
        return Outcome((), changes_at)
    subject = {"look_due": "drip", "check_due": "check"}[condition]
    reading = Reading(
        condition,
        subject,
        priority,
        says,
        act,
        {"due": due, "last_at": seen, "every_minutes": every, **facts},
        as_of=seen,
        since=due,
        changes_at=changes_at,
    )
    return Outcome((reading,))


def look_due(bed: Bed) -> Outcome:
    """Nobody has looked at the drip by the time a look was asked for, and its grace."""
    p = bed.plan
    if p is None:
        return NOTHING
    reaches = bed.standing.block_reaches_limit
    says = "alert-look-due-says" if reaches is not None else "alert-look-due-says-no-time"
    facts: dict[str, Fact] = {
        "reaches_limit_at": None if reaches is None else utc(reaches),
        "limit_ml": bed.standing.limit_ml,
    }
    outcome = _overdue(
        bed, "look_due", bed.th.look_due, p.look_due, p.look_every, p.look_from, "first-act-look", says, facts
    )
    return Outcome(
        outcome.readings, earliest(outcome.changes_at, p.look_due if p.look_due > bed.now else None)
    )


def check_due(bed: Bed) -> Outcome:
    """The check has not been done by its due time and its grace."""
    p = bed.plan
    if p is None:
        return NOTHING
    says = "alert-check-due-says-volumes" if p.volumes_due else "alert-check-due-says"
    outcome = _overdue(
        bed,
        "check_due",
        bed.th.check_due,
        p.check_due,
        p.check_every,
        p.check_from,
        "first-act-check",
        says,
        {},
    )
    return Outcome(
        outcome.readings, earliest(outcome.changes_at, p.check_due if p.check_due > bed.now else None)
    )


def _late(
    bed: Bed,
    condition: str,
    subject: str,
    priority: Priority,
    due: datetime,
    grace: float,
    since: datetime,
    says: str,
    act: str,
    facts: dict[str, Fact],
) -> Outcome:
    raises_at = due + timedelta(minutes=grace)
    if bed.now < raises_at:
        return Outcome((), due if bed.now < due else raises_at)
    return Outcome(
        (Reading(condition, subject, priority, says, act, {"due": due, **facts}, as_of=since, since=due),)
    )


def traction_overdue(bed: Bed) -> Outcome:
    """Traction is still charted as on after its time."""
    traction = traction_until(bed)
    if traction is None:
        return NOTHING
    until, on = traction
    return _late(
        bed,
        "traction_overdue",
        "traction",
        "medium",
        until,
        bed.th.traction_overdue.medium_late_minutes,
        on,
        "alert-traction-overdue-says",
        "first-act-traction",
        {"on_since": on},
    )


def away_overdue(bed: Bed) -> Outcome:
    """The patient is not back when expected."""
    away = bed.away
    if away is None or away.back_by is None:
        return NOTHING
    says = "alert-away-overdue-says-running" if away.inflow == "running" else "alert-away-overdue-says"
    return _late(
        bed,
        "away_overdue",
        "patient",
        "low",
        utc(away.back_by),
        bed.th.away_overdue.low_late_minutes,
        utc(away.at),
        says,
        "first-act-ring-where",
        {"where": away.where, "left_at": utc(away.at)},
    )
