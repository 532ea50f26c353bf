"""Conditions of colour and clots. A colour means little without the rate it was seen at."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta

from cbi_monitor.alerts.conditions.bed import NOTHING, Bed, Outcome
from cbi_monitor.alerts.readings import Priority, Reading
from cbi_monitor.model.events import EffluentGraded, Washout
from cbi_monitor.model.findings import Fact
from cbi_monitor.model.instants import utc

SETTLED_MINUTES = 60.0
"""A colour back at its old step must have stayed there for so long before an alert about it clears (no chatter at the
border of two steps). Common practice, no source."""


TO_AND_FRO_MINUTES = 120.0
"""One step darker is no deepening when as dark a colour was seen so shortly before. Common practice, no source."""


def colour_deepening(bed: Bed) -> Outcome:
    """Darker than the palest colour of the last hours, at a like rate; or darker because the inflow has slowed.

    Darker although more runs in is worse than it looks: the same colour at twice the rate is twice the loss.
    """
    th, newest = bed.th.colour_deepening, bed.grade
    if newest is None:
        return NOTHING
    step = bed.scale.step(newest.grade)
    if step is None:
        return NOTHING
    look_back = timedelta(hours=th.look_back_hours)
    grades = list(bed.back(EffluentGraded, bed.younger(look_back)))
    known = [(g, place) for g in grades if (place := bed.scale.step(g.grade)) is not None]
    if len(known) < 2:
        return NOTHING
    palest = (
        min(known[1:], key=lambda pair: (pair[1], -pair[0].at.timestamp())) if grades[0] is newest else None
    )
    if palest is None:
        return NOTHING
    base, base_step = palest
    darker = step - base_step
    if darker < th.high_steps and newest.grade != bed.scale.darkest and _was_as_dark(bed, step):
        darker = 0
    leaves = utc(base.at) + look_back
    settled = _still_unsettled(bed, known, base_step)
    if darker < th.medium_steps and settled is None:
        return NOTHING
    rate, before = bed.rate_at(newest.at), bed.rate_at(base.at)
    slowed = (
        rate is not None and before is not None and before > 0 and rate <= before * (1 - th.inflow_fell_part)
    )
    diluted = rate is not None and before is not None and before < rate * (1 - th.like_rate_part)
    priority: Priority | None = None
    if darker >= th.medium_steps:
        worse = darker >= th.high_steps or newest.grade == bed.scale.darkest or diluted
        priority = "high" if worse and not slowed else "medium"
    facts: dict[str, Fact] = {
        "grade": newest.grade,
        "from_grade": base.grade,
        "steps": darker,
        "at": utc(newest.at),
        "from_at": utc(base.at),
        "rate": rate,
        "rate_before": before,
        "slowed": slowed,
    }
    says = "alert-colour-deepening-says-slowed" if slowed else "alert-colour-deepening-says"
    if diluted:
        says = "alert-colour-deepening-says-more"
    if rate is None or before is None:
        says = "alert-colour-deepening-says-no-rate"
    act = "first-act-check-bag-and-clamp" if slowed else "first-act-darker"
    changes = [at for at in (leaves, settled) if at is not None and at > bed.now]
    reading = Reading(
        "colour_deepening",
        "colour",
        priority,
        says,
        act,
        facts,
        keeps="medium" if settled is not None else None,
        as_of=utc(newest.at),
        since=utc(base.at),
        changes_at=min(changes) if changes else None,
    )
    return Outcome((reading,))


def _was_as_dark(bed: Bed, step: int) -> bool:
    """As dark a colour was seen shortly before this spell of it: to and fro between two steps is no deepening."""
    begun: datetime | None = None
    paler = False
    for grade in bed.back(EffluentGraded):
        place = bed.scale.step(grade.grade)
        if place is None:
            continue
        if not paler and place >= step:
            begun = grade.at
            continue
        paler = True
        if begun is None or grade.at < begun - timedelta(minutes=TO_AND_FRO_MINUTES):
            return False
        if place >= step:
            return True
    return False


def _still_unsettled(bed: Bed, known: list[tuple[EffluentGraded, int]], base_step: int) -> datetime | None:
    """Until when a darker colour seen a short while ago keeps the alert; None where none was."""
    for grade, place in known:
        until = utc(grade.at) + timedelta(minutes=SETTLED_MINUTES)
        if until <= bed.now:
            return None
        if place > base_step:
            return until
    return None


def _run(bed: Bed, holds: Callable[[str], bool]) -> tuple[datetime, datetime] | None:
    """The spell of colours at the end for which ``holds``: when its first and its last were seen."""
    first = last = None
    for grade in bed.back(EffluentGraded):
        if not holds(grade.grade):
            break
        first, last = grade.at, last or grade.at
    return None if first is None or last is None else (utc(first), utc(last))


def bleeding_on(bed: Bed) -> Outcome:
    """Red that does not lighten, or red with a low pressure or a fast pulse."""
    th, scale = bed.th.bleeding_on, bed.scale
    newest = bed.grade
    red = _run(bed, scale.is_red) if bed.red else None
    recent = bed.younger(timedelta(minutes=SETTLED_MINUTES))
    if red is None or newest is None:
        last_red = next((g for g in bed.back(EffluentGraded, recent) if scale.is_red(g.grade)), None)
        if last_red is None:
            return NOTHING
        reading = _bleeding(None, "medium", "alert-bleeding-on-says-lighter", last_red, utc(last_red.at), {})
        until = utc(last_red.at) + timedelta(minutes=SETTLED_MINUTES)
        return Outcome((_with_change(reading, until),))
    darkest = _run(bed, lambda key: key == scale.darkest)
    dark_recently = any(g.grade == scale.darkest for g in bed.back(EffluentGraded, recent))
    changes: list[datetime] = []
    facts: dict[str, Fact] = {"red_since": red[0], "rate": bed.standing.inflow.mid}
    priority: Priority | None = None
    keeps: Priority | None = "high" if dark_recently else "medium"
    if dark_recently:
        changes.append(_keeps_until(bed, recent, scale.darkest))
    systolic = bed.vital("systolic", th.vitals_count_for_minutes)
    if systolic is not None and systolic.value < th.systolic_clears_from_mmhg:
        keeps = "high"
    says = "alert-bleeding-on-says"
    since = red[0]
    if darkest is not None:
        at = darkest[0] + timedelta(minutes=th.high_darkest_minutes)
        if bed.now >= at:
            priority, says, since = "high", "alert-bleeding-on-says-darkest", darkest[0]
        else:
            changes.append(at)
    vitals = _shocked(bed)
    if vitals and priority is None:
        priority, says = "high", "alert-bleeding-on-says-vitals"
    facts |= {"systolic": None, "pulse": None, "vitals_at": None} | vitals
    changes.extend(_vitals_end(bed))
    below = bed.ordered("rate_low_ml_per_h") is not None and bed.standing.inflow.mid < bed.ordered(
        "rate_low_ml_per_h"
    )
    if priority is None:
        at = red[0] + timedelta(minutes=th.medium_red_minutes)
        if bed.now >= at:
            priority = "medium"
            if below:
                says = "alert-bleeding-on-says-below-order"
                facts["rate_low"] = bed.ordered("rate_low_ml_per_h")
        else:
            changes.append(at)
    act = "first-act-bleeding" if not below else "first-act-bleeding-rate"
    reading = _bleeding(priority, keeps, says, newest, since, facts, act)
    return Outcome((_with_change(reading, min((at for at in changes if at > bed.now), default=None)),))


def _keeps_until(bed: Bed, recent: datetime, key: str) -> datetime:
    newest = next(g.at for g in bed.back(EffluentGraded, recent) if g.grade == key)
    return utc(newest) + timedelta(minutes=SETTLED_MINUTES)


def _bleeding(
    priority: Priority | None,
    keeps: Priority | None,
    says: str,
    grade: EffluentGraded,
    since: datetime,
    facts: dict[str, Fact],
    act: str = "first-act-bleeding",
) -> Reading:
    facts = {"grade": grade.grade, "at": utc(grade.at), "since": since, **facts}
    return Reading(
        "bleeding_on", "colour", priority, says, act, facts, keeps, as_of=utc(grade.at), since=since
    )


def _with_change(reading: Reading, at: datetime | None) -> Reading:
    return replace(reading, changes_at=at)


def _shocked(bed: Bed) -> dict[str, Fact]:
    th = bed.th.bleeding_on
    systolic = bed.vital("systolic", th.vitals_count_for_minutes)
    pulse = bed.vital("pulse", th.vitals_count_for_minutes)
    found: dict[str, Fact] = {}
    if systolic is not None and systolic.value < th.systolic_below_mmhg:
        found |= {"systolic": systolic.value, "vitals_at": utc(systolic.at)}
    if pulse is not None and pulse.value > th.pulse_above_per_min:
        found |= {"pulse": pulse.value, "vitals_at": utc(pulse.at)}
    return found


def _vitals_end(bed: Bed) -> list[datetime]:
    span = bed.th.bleeding_on.vitals_count_for_minutes
    found = [bed.vital(name, span) for name in ("systolic", "pulse")]
    return [utc(v.at) + timedelta(minutes=span) for v in found if v is not None]


def clots(bed: Bed) -> Outcome:
    """Clots in the tubing, apart from colour. Clears when none were charted for a while."""
    th = bed.th.clots
    span = timedelta(
        hours=max(th.high_large_within_hours, th.new_after_none_hours, th.medium_after_washout_hours)
    )
    said = [g for g in bed.back(EffluentGraded, bed.now - 2 * span) if g.clots is not None]
    seen = next((g for g in said if g.clots in ("small", "large")), None)
    if seen is None:
        return NOTHING
    settled = utc(seen.at) + timedelta(minutes=th.clears_after_none_minutes)
    still = said[0] is seen
    if not still and bed.now >= settled:
        return NOTHING
    changes: list[datetime] = [] if still else [settled]
    window = utc(seen.at) - timedelta(hours=th.high_large_within_hours)
    large = [g for g in said if g.clots == "large" and g.at >= window]
    slower = bed.outflow_fell(th.slower_outflow_part)
    priority: Priority | None = None
    says = "alert-clots-says"
    if still and slower:
        priority, says = "high", "alert-clots-says-slower"
    elif still and seen.clots == "large":
        priority = "high" if len(large) >= th.high_large_count else "medium"
        says = "alert-clots-says-again" if priority == "high" else says
    elif still:
        washed = bed.last(Washout)
        ran = timedelta(hours=th.medium_after_washout_hours)
        if washed is not None and washed.at < seen.at <= washed.at + ran:
            priority, says = "medium", "alert-clots-says-after-washout"
        elif _new(said, seen, timedelta(hours=th.new_after_none_hours)):
            priority = "low"
    keeps: Priority | None = "high" if len(large) >= th.high_large_count else "medium"
    facts: dict[str, Fact] = {"size": seen.clots, "at": utc(seen.at), "times": len(large), "slower": slower}
    act = "first-act-clots-slower" if priority == "high" else "first-act-clots"
    reading = Reading(
        "clots",
        "clots",
        priority,
        says,
        act,
        facts,
        keeps,
        as_of=utc(said[0].at),
        since=utc(seen.at),
        changes_at=min((at for at in changes if at > bed.now), default=None),
    )
    return Outcome((reading,))


def _new(said: list[EffluentGraded], seen: EffluentGraded, span: timedelta) -> bool:
    """The present spell of clots began after hours in which clots were looked for and none found."""
    first = seen
    before = [g for g in said if g.at < seen.at]
    while before and before[0].clots in ("small", "large"):
        first = before.pop(0)
    earlier = [g for g in before if g.at >= first.at - span]
    return bool(earlier) and all(g.clots in ("none", "specks") for g in earlier)
