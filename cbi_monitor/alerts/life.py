"""The life of an alert: raised, answered, cleared. Pure: ``advance(states, judgement, …) -> states``.

- An alert keeps its priority by the lower clearing limit of its condition; a step worse raises it again.
- An alert that comes again soon after it cleared clears the second time only when it has stayed clear for a while (the
  off-delay of ISA-18.2), so that readings to and fro around a limit do not chatter. Nothing delays the raising.
- *going*: quiet for some minutes; it comes back if nothing was charted at that bed. *seen*: needs a look or an act, and
  comes back after some minutes if nothing changed. Neither clears it; only an observation does.
- A cleared high stays on the lane for a while, or until it is seen.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Literal

from cbi_monitor.alerts.conditions.course import comes_and_goes
from cbi_monitor.alerts.readings import RANK, Figures, Judgement, Priority, Reading, milder, worse
from cbi_monitor.alerts.speaks_for import speaker_of
from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.model.events import AlertAnswered
from cbi_monitor.model.instants import utc

AGAIN_WITHIN = timedelta(minutes=20)
"""An alert that is raised so soon after it cleared has come again: a little more than the closest plan of checks.
Common practice, no source."""
STAYS_CLEAR = timedelta(minutes=20)
"""... and clears only after so long without a reading that keeps it. Common practice, no source."""
CLEARS_AT_ONCE = frozenset({"look_due", "check_due", "comes_and_goes"})
"""A look or a check that was done is done, however soon the next one is late."""
NEVER = datetime(9000, 1, 1, tzinfo=UTC)
"""Later than any instant of a chart: an alert that is said once and was seen does not come back."""
SEEN_NEEDS_WITHIN = timedelta(minutes=10)
"""A *seen* without an act counts when something was charted there so shortly before. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer to an alert. ``counts``: it keeps the alert quiet (a *seen* needs a look or an act)."""

    event: str
    at: datetime
    by: str | None
    kind: Literal["going", "seen"]
    action: str | None
    counts: bool


@dataclass(frozen=True, slots=True)
class Raised:
    """An alert was raised, or raised again a step worse, with the evidence and the bed's figures of that instant."""

    at: datetime
    priority: Priority
    reading: Reading
    figures: Figures


@dataclass(frozen=True, slots=True)
class AlertState:
    """One alert from its raising on. ``id`` is the same on every machine: condition, subject, raised at, session.

    ``priority`` as it stands (of a cleared one: as it last stood), ``worst`` the highest it had. ``spoken_by``: the id
    of the alert that speaks for it now (of a cleared one: at last); ``spoke_at``: when it first stood for itself (None:
    never). ``quiet_until``: an answer keeps it quiet until then. ``came_back``: when it came back after an answer.
    ``stays_until``: a cleared high stays on the lane until then. ``came_again``: it was raised soon after it had
    cleared; ``clear_since``: nothing keeps it since then, but it must stay so before it clears.
    """

    id: str
    session: str
    condition: str
    subject: str
    priority: Priority
    worst: Priority
    raised_at: datetime
    raises: tuple[Raised, ...]
    reading: Reading
    figures: Figures
    cleared_at: datetime | None = None
    cleared_figures: Figures | None = None
    answers: tuple[Answer, ...] = ()
    quiet_until: datetime | None = None
    came_back: tuple[datetime, ...] = ()
    spoken_by: str | None = None
    spoke_at: datetime | None = None
    stays_until: datetime | None = None
    came_again: bool = False
    clear_since: datetime | None = None

    @property
    def stands(self) -> bool:
        """Raised and not cleared."""
        return self.cleared_at is None

    def quiet(self, now: datetime) -> bool:
        """An answer keeps it quiet at ``now``."""
        return self.stands and self.quiet_until is not None and now < self.quiet_until

    def on_lane(self, now: datetime) -> bool:
        """It stands, or is a cleared high that nobody has seen yet."""
        return self.stands or (self.stays_until is not None and now < self.stays_until)

    @property
    def going(self) -> Answer | None:
        """Who said last that she is going, since it was last raised."""
        last = self.raises[-1].at
        return next((a for a in reversed(self.answers) if a.kind == "going" and a.at >= last), None)


States = tuple[AlertState, ...]


def alert_id(session: str, condition: str, subject: str, raised_at: datetime) -> str:
    """The same id on every machine; at most 200 characters."""
    at = utc(raised_at)
    stamp = f"{at:%Y%m%dT%H%M%S}" + (f".{at.microsecond:06d}" if at.microsecond else "") + "Z"
    head = f"{condition}/{subject.replace('/', '-')[:40]}/{stamp}/"
    return head + session[: 200 - len(head)]


def names_alert(alert: str) -> tuple[str, str] | None:
    """Condition and subject that an alert's id names; None where it is no such id."""
    parts = alert.split("/", 3)
    return (parts[0], parts[1]) if len(parts) == 4 else None


def advance(
    states: States,
    judgement: Judgement,
    thresholds: Thresholds,
    *,
    session: str,
    answers: Sequence[AlertAnswered] = (),
    charted_at: datetime | None = None,
) -> States:
    """The states after a judgement.

    ``answers``: all answers in force that are known by now. ``charted_at``: when something was last charted at this bed
    (when it became known). Cleared alerts stay in the result as long as the lane or ``comes_and_goes`` needs them, and
    for a while in case they come again; ``on_lane`` says what is to be shown.
    """
    now = judgement.now
    readings = {(r.condition, r.subject): r for r in judgement.readings}
    moved = _apply(states, readings, judgement, now, session, thresholds, skip=("comes_and_goes",))
    course, _ = (
        comes_and_goes(moved, thresholds.comes_and_goes, now) if not judgement.closed else (None, None)
    )
    own = {} if course is None else {(course.condition, course.subject): course}
    moved = _apply(moved, own, judgement, now, session, thresholds, only=("comes_and_goes",))
    if answers or any(s.answers for s in moved):
        moved = tuple(_answered(s, answers, charted_at, now, thresholds) for s in moved)
    standing = [s for s in moved if s.stands]
    spoken = []
    for s in moved:
        speaker = speaker_of(s, standing) if s.stands and len(standing) > 1 else None
        if s.stands and (speaker != s.spoken_by or (speaker is None and s.spoke_at is None)):
            first = s.spoke_at or (now if speaker is None else None)
            spoken.append(replace(s, spoken_by=speaker, spoke_at=first))
        else:
            spoken.append(s)
    keep = timedelta(hours=thresholds.comes_and_goes.within_hours)
    return tuple(s for s in spoken if s.on_lane(now) or _kept(s, keep, now))


def _kept(state: AlertState, keep: timedelta, now: datetime) -> bool:
    """Off the lane, but cleared so lately that it may come again, or a high that ``comes_and_goes`` must know of."""
    if state.cleared_at is None:
        return True
    return now - state.cleared_at <= AGAIN_WITHIN or (state.worst == "high" and now < state.cleared_at + keep)


def _apply(
    states: States,
    readings: Mapping[tuple[str, str], Reading],
    judgement: Judgement,
    now: datetime,
    session: str,
    thresholds: Thresholds,
    *,
    skip: tuple[str, ...] = (),
    only: tuple[str, ...] = (),
) -> States:
    result: list[AlertState] = []
    met: set[tuple[str, str]] = set()
    for state in states:
        key = (state.condition, state.subject)
        if not state.stands or state.condition in skip or (only and state.condition not in only):
            result.append(state)
            continue
        met.add(key)
        result.append(_carry(state, readings.get(key), judgement, now, thresholds))
    for key, reading in readings.items():
        if key in met or reading.priority is None:
            continue
        raised = Raised(now, reading.priority, reading, judgement.figures)
        again = reading.condition not in CLEARS_AT_ONCE and any(
            (s.condition, s.subject) == key
            and s.cleared_at is not None
            and now - s.cleared_at <= AGAIN_WITHIN
            for s in states
        )
        result.append(
            AlertState(
                id=alert_id(session, *key, now),
                session=session,
                condition=reading.condition,
                subject=reading.subject,
                priority=reading.priority,
                worst=reading.priority,
                raised_at=now,
                raises=(raised,),
                reading=reading,
                figures=judgement.figures,
                came_again=again,
            )
        )
    return tuple(result)


def _carry(
    state: AlertState, reading: Reading | None, judgement: Judgement, now: datetime, thresholds: Thresholds
) -> AlertState:
    held = None if reading is None else worse(reading.priority, milder(state.priority, reading.keeps))
    if reading is None or held is None:
        if state.came_again and not judgement.closed:
            if state.clear_since is None:
                return replace(state, clear_since=now, figures=judgement.figures)
            if now < state.clear_since + STAYS_CLEAR:
                return state
        stays = None
        if state.worst == "high" and not judgement.closed:
            stays = now + timedelta(minutes=thresholds.life.cleared_high_stays_minutes)
        return replace(
            state, cleared_at=now, cleared_figures=judgement.figures, stays_until=stays, quiet_until=None
        )
    if state.clear_since is not None:
        state = replace(state, clear_since=None)
    if RANK[held] > RANK[state.priority]:
        raised = Raised(now, held, reading, judgement.figures)
        return replace(
            state,
            priority=held,
            worst=worse(state.worst, held) or held,
            raises=(*state.raises, raised),
            reading=reading,
            figures=judgement.figures,
            quiet_until=None,
        )
    if state.priority == held and state.reading == reading and state.figures == judgement.figures:
        return state
    shown = (
        reading
        if reading.facts or reading.priority is not None
        else replace(state.reading, keeps=reading.keeps)
    )
    return replace(state, priority=held, reading=shown, figures=judgement.figures)


def _answered(
    state: AlertState,
    answers: Sequence[AlertAnswered],
    charted_at: datetime | None,
    now: datetime,
    thresholds: Thresholds,
) -> AlertState:
    mine = [a for a in answers if _names(a, state)]
    if not mine and not state.answers:
        return state
    old = {a.event: a for a in state.answers}
    taken = tuple(sorted((_take(a, old.get(a.id), charted_at) for a in mine), key=lambda a: (a.at, a.event)))
    if not state.stands:
        stays = state.stays_until
        cleared = state.cleared_at
        if cleared is not None and any(a.kind == "seen" and a.at >= cleared for a in taken):
            stays = None
        return (
            state
            if taken == state.answers and stays == state.stays_until
            else replace(state, answers=taken, stays_until=stays)
        )
    came_back = state.came_back
    quiet = _quiet_until(state, taken, came_back, charted_at, thresholds)
    if quiet is not None and quiet <= now:
        came_back, quiet = (*came_back, quiet), None
    if taken == state.answers and quiet == state.quiet_until and came_back == state.came_back:
        return state
    return replace(state, answers=taken, quiet_until=quiet, came_back=came_back)


def _take(answer: AlertAnswered, known: Answer | None, charted_at: datetime | None) -> Answer:
    at = utc(max(answer.at, answer.typed_at))
    counts = True
    if answer.kind == "seen" and not answer.action:
        counts = (known is not None and known.counts) or (
            charted_at is not None and charted_at >= at - SEEN_NEEDS_WITHIN
        )
    return Answer(answer.id, at, answer.by, answer.kind, answer.action, counts)


def _names(answer: AlertAnswered, state: AlertState) -> bool:
    """By id, or as the alert of that condition and subject that stood when the answer was given.

    Ids made under other thresholds, or in another order of knowledge, differ in their time.
    """
    if answer.alert == state.id:
        return True
    named = names_alert(answer.alert)
    if named != (state.condition, state.subject.replace("/", "-")[:40]):
        return False
    at = utc(answer.at)
    return state.raised_at <= at and (state.cleared_at is None or at <= state.cleared_at)


def _quiet_until(
    state: AlertState,
    answers: Sequence[Answer],
    came_back: Sequence[datetime],
    charted_at: datetime | None,
    thresholds: Thresholds,
) -> datetime | None:
    since = state.raises[-1].at
    last = next((a for a in reversed(answers) if a.counts and a.at >= since), None)
    if last is None or (came_back and came_back[-1] > last.at):
        return None
    if state.reading.once and last.kind == "seen":
        return NEVER
    seen = timedelta(minutes=thresholds.life.seen_quiet_minutes)
    charted_after = charted_at is not None and charted_at > last.at
    if charted_after and charted_at is not None:
        return max(charted_at, last.at) + seen
    return last.at + (seen if last.kind == "seen" else timedelta(minutes=thresholds.life.going_quiet_minutes))


def next_change_of(states: Iterable[AlertState], thresholds: Thresholds, now: datetime) -> datetime | None:
    """The earliest later instant at which the states would differ without a new entry or judgement."""
    states = tuple(states)
    found: list[datetime] = []
    for state in states:
        quiet = state.quiet_until
        if quiet is not None and now < quiet < NEVER:
            found.append(quiet)
        if state.stays_until is not None and now < state.stays_until:
            found.append(state.stays_until)
        if state.stands and state.clear_since is not None and now < state.clear_since + STAYS_CLEAR:
            found.append(state.clear_since + STAYS_CLEAR)
    _, ends = comes_and_goes(states, thresholds.comes_and_goes, now)
    if ends is not None and ends > now:
        found.append(ends)
    return min(found) if found else None
