"""When the next check and the next look at the drip are due, and all other marks of a bed's lane.

The check plan is the ward's (ward file): close after arrival, wider later, close again for a while after trouble, and
never longer than a full block, begun just after the last proof of outflow, takes to reach the limit. A look is asked
for so early that somebody can be there before such a block reaches the limit; not more often than the ward's
shortest interval and not less often than its longest, whatever the sum says. A check answers the look too.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from cbi_monitor.alerts.conditions.bed import Bed, earliest, minutes
from cbi_monitor.alerts.readings import Task
from cbi_monitor.alerts.thresholds import Overdue
from cbi_monitor.model.events import (
    BagDown,
    BagRead,
    CatheterPlaced,
    DrainageRead,
    EffluentGraded,
    Event,
    InflowSet,
    InflowStarted,
    InflowStopped,
    IrrigantRunIn,
    OutflowSeen,
    TractionOff,
    TractionOn,
    Washout,
)
from cbi_monitor.model.instants import utc

if TYPE_CHECKING:
    from collections.abc import Iterator

CHECK_MARKS: tuple[type[Event], ...] = (EffluentGraded, BagRead, DrainageRead, IrrigantRunIn)
"""What makes a visit a check rather than a look: a colour, a level or a volume that ran in."""


@dataclass(frozen=True, slots=True)
class Plan:
    """When somebody is asked for. ``every`` is the interval in minutes by which the due time came about.

    ``look_possible_since``: when a full block could have reached the limit, where the ward's shortest interval keeps
    the look later than that.
    """

    check_due: datetime
    check_every: float
    check_from: datetime
    look_due: datetime
    look_every: float
    look_from: datetime
    look_possible_since: datetime | None
    volumes_due: bool
    trouble_at: datetime | None


def plan(bed: Bed) -> Plan | None:
    """The plan of a bed; None where nobody is to be sent: not begun, away, catheter out, or closed."""
    if bed.arrival is None or not bed.begun or bed.closed:
        return None
    if bed.away is not None or not bed.standing.catheter_in:
        return None
    arrival = utc(bed.arrival)
    marks = [
        utc(at) for at in (bed.last_at(kind) for kind in CHECK_MARKS) if at is not None and at >= arrival
    ]
    checked = max(marks, default=arrival)
    trouble = trouble_at(bed, checked)
    check_due, check_every = _check(bed, arrival, checked, trouble)
    look_due, look_every, looked, possible = _look(bed, arrival, checked)
    close = bed.standing.last_close
    volumes = close is None or check_due - close >= minutes(bed.ward.check_plan.volumes_every) - bed.visit
    return Plan(
        check_due=check_due,
        check_every=check_every,
        check_from=checked,
        look_due=look_due,
        look_every=look_every,
        look_from=looked,
        look_possible_since=possible,
        volumes_due=volumes,
        trouble_at=trouble,
    )


def _check(
    bed: Bed, arrival: datetime, checked: datetime, trouble: datetime | None
) -> tuple[datetime, float]:
    rules, looks, s = bed.ward.check_plan, bed.ward.looks, bed.standing
    young = checked - arrival
    if young < minutes(rules.first_for):
        every = rules.first_every
    elif young < minutes(rules.first_for + rules.then_for):
        every = rules.then_every
    else:
        every = rules.later_every
    due = checked + minutes(every)
    if s.block_reaches_limit is not None and s.inflow_on:
        # looks that are answered move this on; then the plan's own interval stands
        due = min(due, max(s.block_reaches_limit, checked + minutes(looks.not_more_often_than)))
    if trouble is not None and checked < trouble + minutes(rules.after_trouble_for):
        sooner = max(checked, trouble) + minutes(rules.after_trouble_every)
        if sooner < due:
            due, every = sooner, rules.after_trouble_every
    return due, every


def _look(
    bed: Bed, arrival: datetime, checked: datetime
) -> tuple[datetime, float, datetime, datetime | None]:
    looks, bladder, s = bed.ward.looks, bed.ward.bladder, bed.standing
    looked = max(checked, utc(s.seen.at)) if s.seen is not None and s.seen.at >= arrival else checked
    troubled = bed.red or bed.clots_now in ("small", "large") or _washed_lately(bed, looked)
    shortest = looks.not_more_often_than_when_troubled if troubled else looks.not_more_often_than
    earliest_due, latest_due = looked + minutes(shortest), looked + minutes(looks.at_least_every)
    if s.block_reaches_limit is not None:
        wanted = s.block_reaches_limit - minutes(bladder.answer_minutes + bladder.block_minutes)
        due = min(max(wanted, earliest_due), latest_due)
    else:
        due = earliest_due if s.limit_ml is None else latest_due
    every = (due - looked).total_seconds() / 60.0
    asked = earliest(*_asked_looks(bed, utc(s.seen.at) if s.seen is not None else None))
    if asked is not None and asked < due:
        due, every = asked, min(every, bed.th.look_due.close_plan_up_to_minutes)
    possible = (
        s.block_reaches_limit if s.block_reaches_limit is not None and s.block_reaches_limit < due else None
    )
    return due, every, looked, possible


def _washed_lately(bed: Bed, looked: datetime) -> bool:
    """The last look was within an hour of a washout, or before it."""
    at = bed.last_at(Washout)
    return at is not None and at > looked - minutes(bed.ward.check_plan.after_trouble_for)


def _asked_looks(bed: Bed, seen: datetime | None) -> Iterator[datetime]:
    """Looks at fixed times after a restart, and after a bag that was found dry."""
    th = bed.th.look_due
    started, stopped = bed.last_at(InflowStarted), bed.last_at(InflowStopped)
    if started is not None and stopped is not None and stopped <= started and bed.standing.inflow_on:
        first = started + minutes(th.after_restart_first_minutes)
        second = started + minutes(th.after_restart_second_minutes)
        if seen is None or seen <= started:
            yield first
        elif seen < second - minutes(th.after_restart_first_minutes):
            yield second
    dry = next((down.at for down in bed.back(BagDown, seen) if down.found_empty), None)
    if dry is not None and (seen is None or seen < dry):
        yield dry + minutes(bed.th.bag_dry.look_within_minutes)


def trouble_at(bed: Bed, checked: datetime) -> datetime | None:
    """The latest trouble that may keep the plan close after the check at ``checked``.

    Not running, washout, restart, new catheter, a bag found dry, rate raised, or colour a step darker.
    """
    since = checked - minutes(bed.ward.check_plan.after_trouble_for)
    found = [event.at for kind in (Washout, CatheterPlaced) for event in _newest(bed, kind, since)]
    found += [seen.at for seen in bed.back(OutflowSeen, since) if not seen.running][:1]
    found += [down.at for down in bed.back(BagDown, since) if down.found_empty][:1]
    if bed.of(InflowStopped):
        found += [event.at for event in _newest(bed, InflowStarted, since)]
    for at in (_rate_raised(bed, since), _darker(bed, since)):
        if at is not None:
            found.append(at)
    return utc(max(found)) if found else None


def _newest(bed: Bed, kind: type[Event], since: datetime) -> list[Event]:
    event = bed.last(kind)
    return [event] if event is not None and event.at >= since else []


def set_rate(event: InflowSet, bed: Bed) -> float | None:
    """The rate in mL/h that a setting means, for comparing one setting with the one before."""
    if event.ml_per_h is not None:
        return event.ml_per_h
    if event.drops_per_min is not None and event.drops_per_ml is not None:
        return event.drops_per_min * 60.0 / event.drops_per_ml
    if event.setting == "off":
        return 0.0
    ends = getattr(bed.ward.rates, event.setting or "unknown")
    return float(ends[0] + ends[1]) / 2.0


def _rate_raised(bed: Bed, since: datetime) -> datetime | None:
    newer: InflowSet | None = None
    for event in bed.back(InflowSet):
        if newer is not None and newer.line == event.line:
            after, before = set_rate(newer, bed), set_rate(event, bed)
            if after is not None and before is not None and after > before:
                return newer.at
        if event.at < since:
            return None
        newer = event
    return None


def _darker(bed: Bed, since: datetime) -> datetime | None:
    newer: EffluentGraded | None = None
    for event in bed.back(EffluentGraded):
        if newer is not None:
            after, before = bed.scale.step(newer.grade), bed.scale.step(event.grade)
            if after is not None and before is not None and after > before:
                return newer.at
        if event.at < since:
            return None
        newer = event
    return None


def medium_from(bed: Bed, th: Overdue, due: datetime, every: float) -> datetime | None:
    """When an overdue look or check weighs more: fast inflow, red, or a young session; else None."""
    arrival = bed.arrival
    fast = bed.standing.inflow_on and bed.standing.inflow.mid >= th.medium_from_inflow_ml_per_h
    young = arrival is not None and due - arrival <= minutes(th.medium_in_first_minutes)
    if not (fast or bed.red or young):
        return None
    return due + minutes(th.medium_after_graces_count * th.grace_minutes(every))


def tasks(bed: Bed) -> tuple[Task, ...]:
    """All marks of the lane: look, check, line dry, drainage full, traction off, back from elsewhere."""
    found: list[Task] = []
    p = bed.plan
    if p is not None:
        th_look, th_check = bed.th.look_due, bed.th.check_due
        found.append(
            Task(
                "look",
                "drip",
                p.look_due,
                p.look_from,
                overdue_at=p.look_due + minutes(th_look.grace_minutes(p.look_every)),
                possible_since=p.look_possible_since,
                facts={"every_minutes": p.look_every, "reaches_limit_at": bed.standing.block_reaches_limit},
            )
        )
        found.append(
            Task(
                "check",
                "check",
                p.check_due,
                p.check_from,
                overdue_at=p.check_due + minutes(th_check.grace_minutes(p.check_every)),
                facts={"every_minutes": p.check_every, "volumes": p.volumes_due},
            )
        )
    if bed.closed:
        return tuple(found)
    found.extend(_supplies(bed))
    found.extend(_appointments(bed))
    return tuple(sorted(found, key=lambda task: (task.due, task.kind, task.subject)))


def _supplies(bed: Bed) -> Iterator[Task]:
    th_bag, th_drain = bed.th.bag_running_out, bed.th.drainage_filling
    for line in bed.standing.lines:
        if line.running and line.dry is not None:
            overdue = line.dry.likely - minutes(th_bag.medium_minutes) if line.last_open else None
            yield Task(
                "line_dry",
                line.name,
                line.dry.likely,
                utc(line.hung_at),
                line.dry.early,
                line.dry.late,
                overdue,
                facts={"last_open": line.last_open},
            )
    drainage = bed.standing.drainage
    if drainage.full is not None:
        due = task_from(bed) or drainage.full.likely
        yield Task(
            "drainage_full",
            "drainage",
            due,
            utc(drainage.read_at or bed.now),
            drainage.full.early,
            drainage.full.late,
            drainage.full.likely - minutes(th_drain.medium_minutes),
            facts={"full_at": drainage.full.likely},
        )


def task_from(bed: Bed) -> datetime | None:
    """When the drainage bag reaches the part of its capacity from which emptying it is a task; None where not known."""
    drainage, part = bed.standing.drainage, bed.th.drainage_filling.task_from_part
    if (
        drainage.full is None
        or drainage.capacity_ml is None
        or drainage.contents_ml is None
        or drainage.read_at is None
    ):
        return None
    room = drainage.capacity_ml - drainage.contents_ml
    if room <= 0:
        return utc(drainage.read_at)
    share = max(0.0, drainage.capacity_ml * part - drainage.contents_ml) / room
    return utc(drainage.read_at) + (drainage.full.likely - drainage.read_at) * share


def traction_until(bed: Bed) -> tuple[datetime, datetime] | None:
    """Until when the traction may stay, and since when it is on; None where none is on or no end was said."""
    on, off = bed.last(TractionOn), bed.last_at(TractionOff)
    if on is None or (off is not None and off >= on.at) or not bed.standing.catheter_in:
        return None
    until = on.until
    if until is None:
        until = bed.ordered("traction_until")
    return None if until is None else (utc(until), utc(on.at))


def _appointments(bed: Bed) -> Iterator[Task]:
    traction = traction_until(bed)
    if traction is not None:
        until, on = traction
        yield Task(
            "traction",
            "traction",
            until,
            on,
            overdue_at=until + minutes(bed.th.traction_overdue.medium_late_minutes),
        )
    away = bed.away
    if away is not None and away.back_by is not None:
        late = minutes(bed.th.away_overdue.low_late_minutes)
        yield Task("back", "patient", utc(away.back_by), utc(away.at), overdue_at=utc(away.back_by) + late)
