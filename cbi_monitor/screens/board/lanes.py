"""From a bed as it stands to the words and marks of its lane."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from cbi_monitor.alerts.life import AlertState
from cbi_monitor.alerts.readings import Task
from cbi_monitor.screens import charted, says
from cbi_monitor.screens.board.view import Chip, Lane, Mark
from cbi_monitor.ward.bed import Bed
from cbi_monitor.ward.settings_in_force import InForce
from cbi_monitor.ward.telling import Words
from cbi_monitor.wording import say

SOON = timedelta(minutes=15)


def lane_of(bed: Bed, in_force: InForce, now: datetime) -> Lane:
    """One bed's row at an instant. Where the program failed to reckon the bed, no figure of it is shown."""
    zone, words = in_force.zone, Words(in_force.zone, in_force.scale)
    standing = bed.standing
    seen = charted.colour(bed.ledger, in_force.scale)
    comfort = charted.comfort(bed.ledger)
    hold, as_of, low, high = hold_words(standing, zone, now)
    limit = standing.limit_ml
    chip = chip_of(bed, words, zone, now)
    day = bed.operation_day
    return Lane(
        session=bed.session,
        bed=bed.label,
        operation=bed.operation,
        day="" if day is None else say("screens-day-n", n=day),
        swatch=None if seen is None else seen.swatch,
        clots=None if seen is None else seen.clots,
        colour_word=say("screens-colour-unknown") if seen is None else seen.word,
        colour_rate="" if seen is None else says.joined(charted.rate_words(seen.rate), says.clock(seen.at, zone, now)),
        clots_text="" if seen is None else charted.clots_words(seen.clots),
        clots_matter=seen is not None and seen.clots_matter,
        seen=_seen(standing, zone, now),
        seen_how=_seen_how(standing, now),
        seen_late=_seen_late(bed, now),
        comfort=say("screens-comfort-unknown") if comfort is None
        else say("board-comfort", what=comfort.words, at=says.clock(comfort.at, zone, now)),
        comfort_matters=comfort is not None and comfort.matters,
        hold=hold,
        hold_as_of=as_of,
        hold_low=low,
        hold_high=high,
        limit=limit,
        limit_text=say("board-limit-unset") if limit is None else say("board-limit", ml=says.number(limit)),
        over_limit=limit is not None and high is not None and high >= limit,
        marks=marks_of(bed, zone, now),
        chip=chip,
        quiet=() if chip is not None else quiet_lines(bed, zone, now),
        cleared=_cleared(bed, zone, now),
        need=bed.need,
    )  # fmt: skip


def _seen(standing: Any, zone: Any, now: datetime) -> str:
    steady = standing.steady
    if steady is None:
        return say("board-never-seen")
    return say("board-seen", at=says.clock(steady.at, zone, now), by=steady.by or say("screens-no-name"))


def _seen_how(standing: Any, now: datetime) -> str:
    """The age of the steady look, and what a later look saw if it was anything else."""
    if standing.steady is None and standing.seen is None:
        return ""
    later = standing.seen
    if later is not None and (standing.steady is None or later.at > standing.steady.at):
        return say(
            "board-seen-then",
            how=say(f"screens-how-{later.how.replace('_', '-')}"),
            ago=says.ago(later.at, now),
        )
    age = says.ago(standing.steady.at, now)
    if (now - standing.steady.at).total_seconds() >= 3600:
        return age
    return says.joined(age, say("screens-how-steady"))


def _seen_late(bed: Bed, now: datetime) -> bool:
    later = bed.standing.seen
    if later is not None and later.how in ("none", "drops_only", "slow"):
        return True
    return any(
        task.kind == "look" and task.overdue_at is not None and task.overdue_at <= now
        for task in bed.judgement.tasks
    )


def hold_words(standing: Any, zone: Any, now: datetime) -> tuple[str, str, float | None, float | None]:
    """What the bladder may hold: words, as-of, and the ends of its band (None where it cannot be told)."""
    may = standing.may_hold
    as_of = "" if may.as_of is None else say("screens-as-of", at=says.clock(may.as_of, zone, now))
    if may.cannot_tell == "blind":
        since = "" if may.as_of is None else say("screens-since", at=says.clock(may.as_of, zone, now))
        return say("screens-hold-blind"), since, None, None
    if may.cannot_tell == "too_much":
        return say("screens-hold-too-much"), says.joined(say("screens-hold-missing"), as_of), None, None
    known = may.now or may.at_close
    if known is None:
        return say("screens-hold-nothing"), "", None, None
    return says.hold_ml(known), as_of, max(0.0, known.low), max(0.0, known.high)


def marks_of(bed: Bed, zone: Any, now: datetime) -> tuple[Mark, ...]:
    """The marks on the lane: look by, check due, line dry, drainage full. While a high stands its look mark is at now."""
    found: list[Mark] = []
    high = any(state.priority == "high" and state.spoken_by is None for state in bed.raised)
    for task in bed.judgement.tasks:
        mark = _mark(task, bed, zone, now, high)
        if mark is not None:
            found.append(mark)
    return tuple(found)


def _mark(task: Task, bed: Bed, zone: Any, now: datetime, high: bool) -> Mark | None:
    if task.kind in ("look", "check"):
        due = now if high and task.kind == "look" else task.due
        late = due <= now
        text = says.clock(max(due, now) if high and task.kind == "look" else task.due, zone, now)
        if task.due <= now and (now - task.due).total_seconds() < 60:
            text = say("board-mark-now")
        elif task.due <= now:
            text = say(
                "board-mark-late",
                at=says.clock(task.due, zone, now),
                span=says.span_minutes((now - task.due).total_seconds()),
            )
        elif high and task.kind == "look":
            text = say("board-mark-now")
        if (
            task.possible_since is not None
            and task.possible_since <= now
            and task.kind == "look"
            and not late
        ):
            text = say("board-mark-possible", at=text, since=says.clock(task.possible_since, zone, now))
        name = say(f"board-mark-{task.kind}", at=text)
        return Mark(task.kind, max(due, now), text, name, urgent=late or due - now <= SOON)
    if task.kind == "line_dry":
        text = says.clock(task.due, zone, now) if task.due > now else say("board-mark-now")
        waits = not task.facts.get("last_open", True)
        name = say("board-mark-dry-waits" if waits else "board-mark-dry", line=task.subject, at=text)
        label = say("board-mark-line", line=task.subject, at=text)
        return Mark(
            "dry", max(task.due, now), label, name, urgent=not waits and task.due - now <= SOON, waits=waits
        )
    if task.kind == "drainage_full":
        full = bed.standing.drainage.full
        at = full.likely if full is not None else task.due
        text = says.clock(at, zone, now) if at > now else say("board-mark-now")
        return Mark("full", max(at, now), text, say("board-mark-full", at=text), urgent=at - now <= SOON)
    return None


def spoken_for(bed: Bed) -> list[AlertState]:
    """The alerts that stand for themselves, worst first."""
    return [state for state in bed.raised if state.spoken_by is None]


def chip_of(bed: Bed, words: Words, zone: Any, now: datetime) -> Chip | None:
    """The worst alert that stands, in its few words; then since when, who is going, and how many more."""
    if bed.fault:
        return Chip(
            "high",
            say("board-fault"),
            (say("board-fault-line", reference=bed.fault),),
            spoken=say("board-fault"),
        )
    standing = spoken_for(bed)
    if not standing:
        return None
    state = standing[0]
    more = len(standing) - 1
    since = state.reading.since or state.raised_at
    lines = [says.joined(
        say("screens-since", at=says.clock(since, zone, now)), says.ago(since, now)
    )]  # fmt: skip
    going = answer_words(state, zone, now)
    if going:
        lines.append(going)
    else:
        lines.append(words.first_act(state.reading))
    text = short_words(state, words)
    spoken = f"{say('screens-priority-' + state.priority)}: {text}, {', '.join(lines)}"
    if more:
        spoken = f"{spoken}, {say('board-more', n=more)}"
    return Chip(state.priority, text, tuple(lines), more, spoken)


def answer_words(state: AlertState, zone: Any, now: datetime) -> str:
    """Who is going, since when; or who has seen it; empty where nobody answered since it was last raised."""
    going = state.going
    if going is not None and state.quiet(now):
        return say("board-going", by=going.by or say("screens-no-name"), at=says.clock(going.at, zone, now))
    if state.came_back and (not state.answers or state.came_back[-1] >= state.answers[-1].at):
        return say("board-came-back", at=says.clock(state.came_back[-1], zone, now))
    seen = [answer for answer in state.answers if answer.kind == "seen"]
    if seen and state.quiet(now):
        return say(
            "board-seen-by", by=seen[-1].by or say("screens-no-name"), at=says.clock(seen[-1].at, zone, now)
        )
    return ""


def short_words(state: AlertState, words: Words) -> str:
    """An alert in the few words that a chip has room for."""
    facts = words.facts(state.reading.facts)
    key = f"board-alert-{state.condition.replace('_', '-')}"
    behind = state.reading.facts.get("behind_ml")
    if state.condition == "retention" and isinstance(behind, (int, float)):
        return say(key, ml=says.about_ten(behind))
    if state.condition == "no_outflow":
        return say(f"{key}-seen" if "seen_at" in facts else key)
    if state.condition == "bag_running_out":
        return say(key, what=state.subject)
    return say(key)


def quiet_lines(bed: Bed, zone: Any, now: datetime) -> tuple[str, ...]:
    """What an untroubled bed says: the next check, and net urine only where its range is clear of the limit."""
    task = bed.next_task
    lines = []
    if task is not None:
        when = says.clock(task.due, zone, now)
        lines.append(say(f"board-next-{task.kind}" if task.due > now else f"board-due-{task.kind}", at=when))
    urine = urine_line(bed)
    if urine:
        lines.append(urine)
    if not bed.standing.inflow_on and bed.standing.inflow_off_since is not None:
        lines.append(say("board-inflow-off", at=says.clock(bed.standing.inflow_off_since, zone, now)))
    questions = bed.standing.unanswered
    if questions:
        lines.append(say("board-questions", n=questions))
    return tuple(lines[:3])


OLIGURIA = 0.5
"""mL/kg/h: the limit from which a urine range must be clear to be shown (KDIGO 2012)."""


def urine_line(bed: Bed) -> str:
    """Net urine in mL/kg/h where its whole range lies on one side of 0.5; else nothing."""
    window = bed.ledger.urine(6.0)
    per_kg = window.per_kg
    if per_kg is None or per_kg.low <= OLIGURIA <= per_kg.high:
        return ""
    return say(
        "board-urine",
        range=say("screens-range", low=says.number(per_kg.low, 1), high=says.number(per_kg.high, 1)),
    )


def _cleared(bed: Bed, zone: Any, now: datetime) -> str:
    """A high that cleared and that nobody has seen yet."""
    for state in bed.alerts:
        if state.cleared_at is not None and state.on_lane(now):
            behind = state.raises[-1].figures.behind_ml
            at = says.clock(state.cleared_at, zone, now)
            if state.condition == "retention" and behind:
                return say("board-cleared-behind", ml=says.about_ten(behind), at=at)
            return say("board-cleared", what=say(f"board-cleared-{state.condition.replace('_', '-')}"), at=at)
    return ""
