"""Stepping through a session in order of knowledge: the same steps for the live watch and for a replay.

An entry exists from ``max(at, recorded)``, a correction from its own ``recorded``. Between entries the watch steps only
to ``next_change``, the earliest instant at which a judgement can differ by itself; so the live watch, a replay in one
go and a replay in many small steps give the same alerts at the same times.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from cbi_monitor.alerts.conditions import judge
from cbi_monitor.alerts.life import AlertState, States, advance, next_change_of
from cbi_monitor.alerts.readings import Judgement, Task, TaskKind
from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.model.canonical import OrderKey, order_key
from cbi_monitor.model.events import (
    KINDS,
    AlertAnswered,
    AlertCleared,
    AlertShown,
    Answered,
    Corrected,
    Event,
    HandedOver,
    Note,
    Ordered,
    SessionDetails,
    SessionOpened,
    StruckOut,
    ThresholdsInForce,
    WatchStarted,
    WatchStopped,
)
from cbi_monitor.model.instants import utc
from cbi_monitor.model.ward import EffluentScale, WardRules

NOT_OF_THE_WATCH: tuple[type[Event], ...] = (
    AlertShown,
    AlertCleared,
    ThresholdsInForce,
    WatchStarted,
    WatchStopped,
)
"""Entries that the program writes about itself: they say nothing of the bed and are not judged."""

NOT_AT_THE_BED: tuple[type[Event], ...] = (
    *NOT_OF_THE_WATCH,
    AlertAnswered,
    Answered,
    Corrected,
    StruckOut,
    HandedOver,
    Note,
    Ordered,
    SessionDetails,
    SessionOpened,
)
"""Entries that are no look, reading or act at the bed: an answered alert is not kept quiet by them."""

STEPS_WITHOUT_ENTRY = 20_000
"""More steps than this between two entries: a forecast never comes to rest, and the replay stops with an error."""


def known_from(event: Event) -> datetime:
    """From when an entry is known: when it happened or was typed, if later; a correction when it was typed."""
    at = utc(event.at)
    if event.recorded is None:
        return at
    recorded = utc(event.recorded)
    if isinstance(event, (Corrected, StruckOut)):
        return recorded
    return max(at, recorded)


def _happened(event: Event) -> datetime:
    return utc(event.at)


@dataclass(frozen=True, slots=True)
class Change:
    """What a step did to one alert."""

    kind: Literal["raised", "worse", "eased", "came_back", "cleared"]
    at: datetime
    state: AlertState


@dataclass(frozen=True, slots=True)
class Asked:
    """A task that came due: when it was asked for, when it was done (None: not by the end), when it was overdue."""

    kind: TaskKind
    subject: str
    due: datetime
    anchor: datetime
    overdue_at: datetime | None
    done_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Replay:
    """The alerts of a session, in the order in which they were raised, and the tasks that came due."""

    session: str
    start: datetime | None
    end: datetime | None
    alerts: tuple[AlertState, ...]
    tasks: tuple[Asked, ...]
    changes: tuple[Change, ...]
    known: bool


class Watch:
    """One session watched: entries go in, changes of alerts come out. Holds the ledger; knows no clock.

    ``known``: in order of knowledge; False: by when things happened (then ``add`` must be given effective entries).
    ``add`` takes entries in any order; ``until(now)`` steps to ``now``. An entry that was known before an instant
    already stepped to (it came late from another workstation) makes the watch step through the session anew.
    """

    def __init__(
        self, session: str, ward: WardRules, scale: EffluentScale, thresholds: Thresholds, known: bool = True
    ) -> None:
        self.session = session
        self.ward = ward
        self.scale = scale
        self.thresholds = thresholds
        self._events: list[Event] = []
        self._known: Callable[[Event], datetime] = known_from if known else _happened
        self._reset()

    def _reset(self) -> None:
        self.ledger = Ledger(self.session, self.ward, self.scale)
        self.states: States = ()
        self.judgement: Judgement | None = None
        self.now: datetime | None = None
        self.start: datetime | None = None
        self._records: dict[str, AlertState] = {}
        self._open_tasks: dict[tuple[str, str], Asked] = {}
        self._asked: list[Asked] = []
        self._answers: tuple[AlertAnswered, ...] = ()
        self._charted_at: datetime | None = None
        self._queue: list[tuple[datetime, OrderKey, int, Event]] = []
        self._count = 0

    def _enqueue(self, event: Event) -> None:
        self._count += 1
        heapq.heappush(self._queue, (self._known(event), order_key(event), self._count, event))

    @property
    def records(self) -> tuple[AlertState, ...]:
        """All alerts so far, cleared ones included, in the order in which they were raised."""
        return tuple(self._records.values())

    @property
    def tasks_asked(self) -> tuple[Asked, ...]:
        """All tasks that came due so far."""
        return tuple(
            sorted((*self._asked, *self._open_tasks.values()), key=lambda t: (t.due, t.kind, t.subject))
        )

    @property
    def last_known(self) -> datetime | None:
        """When the last of all entries given became or becomes known."""
        return max((self._known(event) for event in self._events), default=None)

    @property
    def next_change(self) -> datetime | None:
        """The earliest later instant at which this watch has something to do without a new entry."""
        found = []
        if self._queue:
            found.append(self._queue[0][0])
        if self.judgement is not None:
            if self.judgement.next_change is not None:
                found.append(self.judgement.next_change)
            life = next_change_of(self.states, self.thresholds, self.judgement.now)
            if life is not None:
                found.append(life)
        return min(found) if found else None

    def add(self, events: Iterable[Event]) -> None:
        """Take entries in; they count from when they are known, at the next ``until``."""
        late = False
        for event in events:
            if event.session != self.session or isinstance(event, NOT_OF_THE_WATCH):
                continue
            self._events.append(event)
            if self.now is not None and self._known(event) <= self.now:
                late = late or self._known(event) < self.now
            self._enqueue(event)
        if late:
            self._anew()

    def _anew(self) -> None:
        was = self.now
        self._reset()
        for event in self._events:
            self._enqueue(event)
        if was is not None:
            # stop just short of the latest instant, so that entries of that instant are judged together by ``until``
            for _ in self._steps(was, inclusive=False):
                pass

    def step(self, events: Iterable[Event], now: datetime) -> list[Change]:
        """``add`` and ``until`` in one."""
        self.add(events)
        return self.until(now)

    def until(self, now: datetime) -> list[Change]:
        """Step to ``now``: entries known by then, and every instant at which a judgement differs by itself."""
        return list(self._steps(utc(now), inclusive=True))

    def _steps(self, end: datetime, *, inclusive: bool) -> Iterator[Change]:
        without_entry = 0
        while True:
            at = self.next_change
            if at is None or at > end or (at == end and not inclusive):
                break
            came = self._take_in(at)
            without_entry = 0 if came else without_entry + 1
            if without_entry > STEPS_WITHOUT_ENTRY:
                raise RuntimeError(
                    f"session {self.session}: a forecast moves with every step since {at.isoformat()}"
                )
            yield from self._judge(at)
        if self.now is None or self.now < end:
            self.now = end if self.judgement is not None else self.now

    def _take_in(self, at: datetime) -> bool:
        came: list[Event] = []
        while self._queue and self._queue[0][0] <= at:
            came.append(heapq.heappop(self._queue)[3])
        if not came:
            return False
        self.ledger.fold_all(came)
        if self.start is None:
            self.start = at
        if any(not isinstance(event, NOT_AT_THE_BED) for event in came):
            self._charted_at = at
        if any(isinstance(event, (AlertAnswered, Corrected, StruckOut)) for event in came):
            self._answers = tuple(self.ledger.of(AlertAnswered))
        return True

    def _judge(self, at: datetime) -> Iterator[Change]:
        self.now = at
        self.judgement = judge(self.ledger, self.thresholds, at)
        before = {state.id: state for state in self.states}
        self.states = advance(
            self.states,
            self.judgement,
            self.thresholds,
            session=self.session,
            answers=self._answers,
            charted_at=self._charted_at,
        )
        self._note_tasks(self.judgement.tasks, at)
        for state in self.states:
            old = before.get(state.id)
            if old is state:
                continue
            self._records[state.id] = state
            yield from _changes(old, state, at)

    def _note_tasks(self, tasks: Sequence[Task], at: datetime) -> None:
        anchors: dict[tuple[str, str], Task] = {(task.kind, task.subject): task for task in tasks}
        for key in list(self._open_tasks):
            task = anchors.get(key)
            open_task = self._open_tasks[key]
            if task is None or task.anchor != open_task.anchor:
                self._asked.append(_done(self._open_tasks.pop(key), at))
        for key, task in anchors.items():
            if task.due <= at and key not in self._open_tasks:
                self._open_tasks[key] = Asked(task.kind, task.subject, task.due, task.anchor, task.overdue_at)


def _done(task: Asked, at: datetime) -> Asked:
    return Asked(task.kind, task.subject, task.due, task.anchor, task.overdue_at, at)


def _changes(old: AlertState | None, new: AlertState, at: datetime) -> Iterator[Change]:
    if old is None:
        yield Change("raised", at, new)
        if new.stands:
            return
    if old is not None and old.stands and not new.stands:
        yield Change("cleared", at, new)
        return
    if old is None:
        return
    if len(new.raises) > len(old.raises):
        yield Change("worse", at, new)
    elif new.priority != old.priority:
        yield Change("eased", at, new)
    if len(new.came_back) > len(old.came_back):
        yield Change("came_back", at, new)


def effective_events(
    events: Iterable[Event], session: str, ward: WardRules, scale: EffluentScale
) -> list[Event]:
    """The entries as they are charted today: corrections laid over, struck-out ones gone."""
    ledger = Ledger(session, ward, scale)
    ledger.fold_all(
        event for event in events if event.session == session and not isinstance(event, NOT_OF_THE_WATCH)
    )
    found: list[Event] = []
    for kind in KINDS:
        if not issubclass(kind, (Corrected, StruckOut, *NOT_OF_THE_WATCH)):
            found.extend(ledger.of(kind))
    return found


def replay(
    events: Iterable[Event],
    ward: WardRules,
    scale: EffluentScale,
    thresholds: Thresholds,
    known: bool = True,
    until: datetime | None = None,
    session: str | None = None,
) -> Replay:
    """Step through one session from its first entry to ``until`` (default: when its last entry became known).

    ``known``: in order of knowledge; False: with hindsight, by what is charted today at the times when it happened.
    Raises ValueError where the entries belong to several sessions and ``session`` does not say which.
    """
    events = list(events)
    sessions = {event.session for event in events}
    if session is None:
        if len(sessions) > 1:
            raise ValueError(f"several sessions: {', '.join(sorted(sessions))}; say which")
        session = next(iter(sessions), "")
    watch = Watch(session, ward, scale, thresholds, known)
    if not known:
        events = effective_events(events, session, ward, scale)
    watch.add(events)
    if until is None:
        until = watch.last_known
    changes = watch.until(until) if until is not None else []
    return Replay(session, watch.start, until, watch.records, watch.tasks_asked, tuple(changes), known)
