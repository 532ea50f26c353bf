"""Conditions of bags and clamps: nearly empty, dry, filling, off, of the wrong fluid."""

from __future__ import annotations

from datetime import datetime, timedelta

from cbi_monitor.alerts.conditions.bed import NOTHING, Bed, Outcome, earliest
from cbi_monitor.alerts.plan import task_from
from cbi_monitor.alerts.readings import Priority, Reading
from cbi_monitor.ledger.account import Line
from cbi_monitor.model.events import BagDown, BagHung, DrainageEmptied, DrainageRead
from cbi_monitor.model.findings import Fact
from cbi_monitor.model.instants import utc


def _last_open(bed: Bed) -> Line | None:
    for line in bed.standing.lines:
        if line.last_open and line.running and line.dry is not None:
            return line
    return None


def bag_running_out(bed: Bed) -> Outcome:
    """The last open bag may run dry soon. A full one beside it makes this a task and no alert."""
    th, line = bed.th.bag_running_out, _last_open(bed)
    if line is None or line.dry is None:
        return NOTHING
    dry = line.dry.likely
    warns_at = dry - timedelta(minutes=th.medium_minutes)
    keeps_from = dry - timedelta(minutes=th.clears_above_minutes)
    if bed.now < keeps_from:
        return Outcome((), keeps_from)
    priority: Priority | None = "medium" if warns_at <= bed.now < dry else None
    facts: dict[str, Fact] = {
        "line": line.name,
        "dry_at": dry,
        "dry_early": line.dry.early,
        "dry_late": line.dry.late,
    }
    reading = Reading(
        "bag_running_out",
        f"line {line.name}",
        priority,
        "alert-bag-running-out-says",
        "first-act-hang-bag",
        facts,
        keeps="medium" if bed.now < dry else None,
        as_of=None if line.level_at is None else utc(line.level_at),
        since=warns_at,
        changes_at=earliest(*(at for at in (warns_at, dry) if at > bed.now)),
    )
    return Outcome((reading,))


def bag_dry(bed: Bed) -> Outcome:
    """Every open bag is dry: found so, or by the sum. Then somebody looks at the drip soon.

    By the sum it is high only once even the latest forecast has passed: a doubtful sum is no bag found dry.
    """
    found = _found_dry(bed)
    if found is not None:
        at, line_name = found
        facts: dict[str, Fact] = {
            "line": line_name,
            "dry_at": at,
            "look_within": bed.th.bag_dry.look_within_minutes,
        }
        reading = Reading(
            "bag_dry",
            "irrigation",
            "high" if bed.coloured else "medium",
            "alert-bag-dry-says-found",
            "first-act-bag-dry",
            facts,
            as_of=at,
            since=at,
        )
        return Outcome((reading,))
    line = _last_open(bed)
    if line is None or line.dry is None or not bed.standing.inflow_on:
        return NOTHING
    dry, late = line.dry.likely, line.dry.late
    if bed.now < dry:
        return Outcome((), dry)
    surely = late is not None and bed.now >= late
    facts = {
        "line": line.name,
        "dry_at": dry,
        "dry_early": line.dry.early,
        "dry_late": late,
        "look_within": bed.th.bag_dry.look_within_minutes,
    }
    reading = Reading(
        "bag_dry",
        "irrigation",
        "high" if bed.coloured and surely else "medium",
        "alert-bag-dry-says-surely" if surely else "alert-bag-dry-says",
        "first-act-bag-dry",
        facts,
        as_of=None if line.level_at is None else utc(line.level_at),
        since=dry,
        changes_at=late if late is not None and not surely else None,
    )
    return Outcome((reading,))


def _found_dry(bed: Bed) -> tuple[datetime, str] | None:
    """The last bag was taken down empty, or charted as empty, and none runs now."""
    down = bed.last(BagDown)
    if any(
        line.running and not (line.level_ml is not None and line.level_ml <= 0) for line in bed.standing.lines
    ):
        return None
    empty = next(
        (
            line
            for line in bed.standing.lines
            if line.running and line.level_ml is not None and line.level_ml <= 0
        ),
        None,
    )
    if empty is not None:
        return utc(empty.level_at or bed.now), empty.name
    if down is None or not down.found_empty or bed.standing.inflow_off_reason in ("trial", "order"):
        return None
    hung = bed.last_at(BagHung)
    if hung is not None and hung >= down.at:
        return None
    return utc(down.at), down.line


def drainage_filling(bed: Bed) -> Outcome:
    """The drainage bag may be full soon, or is: a full bag lets nothing more out."""
    th, drainage = bed.th.drainage_filling, bed.standing.drainage
    if drainage.capacity_ml is None and drainage.full is None:
        return NOTHING
    read = None if drainage.read_at is None else utc(drainage.read_at)
    part = None
    if drainage.contents_ml is not None and drainage.capacity_ml is not None:
        part = drainage.contents_ml / drainage.capacity_ml
    facts: dict[str, Fact] = {
        "contents_ml": drainage.contents_ml,
        "capacity_ml": drainage.capacity_ml,
        "read_at": read,
    }
    full = drainage.full
    charted = (part is not None and part >= th.full_from_part) or _found_full(bed)
    hardly_emptied = part is not None and part >= th.clears_below_part
    if charted:
        facts["full_at"] = read
        reading = Reading(
            "drainage_filling",
            "drainage",
            "high",
            "alert-drainage-filling-says-found",
            "first-act-empty-now",
            facts,
            as_of=read,
            since=read,
        )
        return Outcome((reading,))
    if full is None:
        if not hardly_emptied:
            return NOTHING
        says = "alert-drainage-filling-says-still"
        return Outcome(
            (
                Reading(
                    "drainage_filling", "drainage", None, says, "first-act-empty", facts, "high", as_of=read
                ),
            )
        )
    task_at = task_from(bed)
    warns_at = full.likely - timedelta(minutes=th.medium_minutes)
    keeps_from = full.likely - timedelta(minutes=th.clears_above_minutes)
    later = [at for at in (task_at, keeps_from, warns_at, full.likely) if at is not None and at > bed.now]
    changes_at = min(later) if later else None
    if bed.now < keeps_from and not hardly_emptied:
        return Outcome((), changes_at)
    facts |= {"full_at": full.likely, "full_early": full.early, "full_late": full.late}
    priority: Priority | None = None
    if bed.now >= full.likely:
        priority = "high"
    elif bed.now >= warns_at:
        priority = "medium"
    says = "alert-drainage-filling-says-full" if priority == "high" else "alert-drainage-filling-says"
    act = "first-act-empty-now" if priority == "high" else "first-act-empty"
    reading = Reading(
        "drainage_filling",
        "drainage",
        priority,
        says,
        act,
        facts,
        keeps="high" if hardly_emptied else "medium",
        as_of=read,
        since=warns_at,
        changes_at=changes_at,
    )
    return Outcome((reading,))


def _found_full(bed: Bed) -> bool:
    read, emptied = bed.last(DrainageRead), bed.last_at(DrainageEmptied)
    return read is not None and bool(read.found_full) and (emptied is None or emptied < read.at)


def inflow_off(bed: Bed) -> Outcome:
    """The irrigation stands still outside an ordered trial, for longer than the colour allows."""
    s, th = bed.standing, bed.th.inflow_off
    if s.inflow_on or s.inflow_off_since is None or not s.catheter_in or bed.away is not None:
        return NOTHING
    since = utc(s.inflow_off_since)
    if s.inflow_off_reason == "trial":
        until = bed.ordered("until")
        if until is None or bed.now < until:
            return Outcome((), None if until is None else utc(until))
    if s.inflow_off_reason == "order" and not bed.coloured:
        return NOTHING
    steps: tuple[tuple[float, Priority], ...]
    if bed.red:
        steps, colour = ((th.red_medium_minutes, "medium"), (th.red_high_minutes, "high")), "red"
    elif bed.coloured:
        steps, colour = ((th.pink_medium_minutes, "medium"), (th.pink_high_minutes, "high")), "pink"
    else:
        steps, colour = ((th.clear_low_minutes, "low"),), "clear"
    priority: Priority | None = None
    changes_at = None
    for after, level in steps:
        at = since + timedelta(minutes=after)
        if bed.now >= at:
            priority = level
        else:
            changes_at = at
            break
    if priority is None:
        return Outcome((), changes_at)
    grade = bed.grade
    facts: dict[str, Fact] = {
        "off_since": since,
        "grade": grade.grade if grade is not None else "",
        "reason": s.inflow_off_reason or "",
        "graded_at": None if grade is None else utc(grade.at),
    }
    says = "alert-inflow-off-says" if grade is not None else "alert-inflow-off-says-no-colour"
    act = "first-act-inflow-off-coloured" if colour != "clear" else "first-act-inflow-off"
    reading = Reading(
        "inflow_off",
        "irrigation",
        priority,
        says,
        act,
        facts,
        as_of=since,
        since=since,
        changes_at=changes_at,
    )
    return Outcome((reading,))


def wrong_fluid(bed: Bed) -> Outcome:
    """A bag hangs of another fluid than ordered; without an order, of one that is not on the ward's list."""
    ordered = bed.ordered("fluid")
    found = []
    for line in bed.standing.lines:
        if ordered is not None:
            right = line.fluid == ordered
        else:
            right = line.fluid in bed.th.wrong_fluid.right_without_order
        if right:
            continue
        facts: dict[str, Fact] = {
            "line": line.name,
            "fluid": _words(bed, line.fluid),
            "ordered": _words(bed, ordered or ""),
            "hung_at": utc(line.hung_at),
        }
        says = "alert-wrong-fluid-says" if ordered is not None else "alert-wrong-fluid-says-no-order"
        found.append(
            Reading(
                "wrong_fluid",
                f"line {line.name}",
                "high",
                says,
                "first-act-wrong-fluid",
                facts,
                as_of=utc(line.hung_at),
                since=utc(line.hung_at),
            )
        )
    return Outcome(tuple(found))


def _words(bed: Bed, key: str) -> str:
    fluid = bed.ward.fluids.get(key)
    return key if fluid is None else fluid.words
