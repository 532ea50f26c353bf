"""What a live entry may not be. Few things: what cannot be read, or names what is not there.

An unlikely value is no matter for refusal; the ledger makes a question of it. Symptoms, looks, stops and calls are
refused only for a time ahead of the clock or a session that is not there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from pydantic import ValidationError

from cbi_monitor.journal.checks import laid_over
from cbi_monitor.journal.words import refusals_of as words_of
from cbi_monitor.model.canonical import payload_of
from cbi_monitor.model.events import (
    Answered,
    BagDown,
    BagHung,
    BagRead,
    Corrected,
    EffluentGraded,
    Event,
    IrrigantRunIn,
    LineClamped,
    LineOpened,
    Ordered,
    SessionOpened,
    StruckOut,
    Voided,
)
from cbi_monitor.model.findings import Refusal
from cbi_monitor.model.ward import EffluentScale
from cbi_monitor.wording import say

if TYPE_CHECKING:
    from cbi_monitor.ward.watch import Watch

AHEAD = timedelta(minutes=2)
"""A live entry further ahead of the clock than this is refused."""

_NEEDS_LINE = (BagRead, BagDown, LineOpened, LineClamped)


def refuse(field: str, what: str, write: str, *, place: str = "place-entry", **facts: Any) -> Refusal:
    """A refusal in the ward's words; ``what`` and ``write`` are keys of sentences."""
    return Refusal(say(place), 0, 0, field, say(what, **facts), say(write, **facts))


def refusals_of(
    events: Sequence[Event], watch: Watch | None, scale: EffluentScale, zone: ZoneInfo, now: datetime
) -> list[Refusal]:
    """Everything for which these live entries of one session cannot be taken, all at once.

    ``watch`` holds what is on the chart; None where the session is not there yet.
    """
    found: list[Refusal] = []
    opening = [event for event in events if isinstance(event, SessionOpened)]
    if watch is None and not opening:
        return [refuse("session", "refuse-unknown-session", "write-open-session", place="place-session")]
    if opening and (watch is not None or len(opening) > 1):
        found.append(refuse("session", "refuse-second-opening", "write-details", place="place-session"))
    if (
        watch is not None
        and watch.closed
        and not all(isinstance(event, (Corrected, StruckOut)) for event in events)
    ):
        found.append(refuse("session", "refuse-session-closed", "write-new-session", place="place-session"))
    seen: set[str] = set()
    for event in events:
        found.extend(_of_one(event, events, watch, scale, zone, now))
        if event.id and (event.id in seen or (watch is not None and event.id in watch.by_id)):
            found.append(refuse("id", "refuse-same-id", "write-once"))
        seen.add(event.id)
    return found


def _of_one(
    event: Event,
    together: Sequence[Event],
    watch: Watch | None,
    scale: EffluentScale,
    zone: ZoneInfo,
    now: datetime,
) -> Iterable[Refusal]:
    if event.at > now + AHEAD:
        yield refuse(
            "at",
            "refuse-future",
            "write-past",
            at=f"{event.at.astimezone(zone):%d.%m. %H:%M}",
            minutes=int(AHEAD.total_seconds() // 60),
            now=f"{now.astimezone(zone):%H:%M}",
        )
    yield from _unknown_grade(event, scale)
    lines = {hung.line for hung in together if isinstance(hung, BagHung)} | (
        set() if watch is None else watch.lines
    )
    if isinstance(event, _NEEDS_LINE) and event.line not in lines:
        names = ", ".join(sorted(lines))
        yield refuse(
            "line",
            "refuse-unknown-line",
            "write-known-line",
            line=event.line,
            names=names or "-",
            lines="some" if names else "none",
        )
    if isinstance(event, IrrigantRunIn) and watch is not None:
        hanging = watch.hanging(now)
        line = event.line or (next(iter(sorted(hanging))) if hanging else "")
        if line in hanging:
            yield refuse("line", "refuse-bag-hangs", "write-level-instead", line=line)
    if isinstance(event, (Corrected, StruckOut, Answered)):
        yield from _of_change(event, watch, scale)


def _unknown_grade(event: Event, scale: EffluentScale) -> Iterable[Refusal]:
    key: str | None = None
    name = "grade"
    if isinstance(event, (EffluentGraded, Voided)):
        key = event.grade
    elif isinstance(event, Ordered):
        key, name = event.target_grade, "target_grade"
    if key is not None and scale.grade(key) is None:
        names = ", ".join(grade.key for grade in scale.grades)
        yield refuse(name, "refuse-unknown-grade", "write-known-grade", grade=key, names=names)


def _of_change(event: Event, watch: Watch | None, scale: EffluentScale) -> Iterable[Refusal]:
    if isinstance(event, Answered):
        known = watch is not None and watch.knows_finding(event.finding)
        if not known and event.check is None:
            yield refuse("finding", "refuse-unknown-finding", "write-finding")
        if event.answer == "not_recorded" and event.volume_ml is None:
            yield refuse("volume_ml", "refuse-volume-missing", "write-number")
        return
    assert isinstance(event, (Corrected, StruckOut))
    target = None if watch is None else watch.by_id.get(event.target)
    if target is None:
        yield refuse("target", "refuse-unknown-target", "write-target", target=event.target)
        return
    assert watch is not None
    if isinstance(event, StruckOut):
        return
    if isinstance(target, (Corrected, StruckOut)):
        yield refuse("target", "refuse-correction-of-correction", "write-correct-the-entry")
    elif target.id in watch.struck:
        yield refuse("target", "refuse-struck-target", "write-new-entry")
    else:
        changed = corrected_entry(target, (*watch.corrections_of(target.id), event))
        if isinstance(changed, Event):
            yield from _unknown_grade(changed, scale)
        else:
            yield from changed


def corrected_entry(target: Event, corrections: Sequence[Corrected]) -> Event | tuple[Refusal, ...]:
    """The entry with its corrections laid over; or what is wrong with it then, by field."""
    try:
        return laid_over(target, corrections)
    except ValidationError as wrong:
        return said_wrong(wrong, type(target), payload_of(target))


def said_wrong(
    wrong: ValidationError, kind: type[Event], payload: Mapping[str, Any], *, place: str = "place-entry"
) -> tuple[Refusal, ...]:
    """What a class of entries has against these fields, in words, by field."""
    return tuple(words_of(wrong, kind, payload, where=say(place), line=0, text=""))
