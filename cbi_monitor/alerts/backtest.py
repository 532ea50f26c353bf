"""Counting what a set of thresholds would have asked of the nurses. Pure counting over replays.

Compared with the figures for alarm load of EEMUA 191 and ISA-18.2, which were made for operators of plants: about one
alarm in ten minutes per operator is acceptable, two the most; more than ten in ten minutes is a flood; priorities about
80, 15 and 5 %; fewer than five standing over 24 h; no chattering.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from cbi_monitor.alerts.life import AlertState
from cbi_monitor.alerts.readings import Priority
from cbi_monitor.alerts.replay import Replay

ACCEPTABLE_PER_10_MIN = 1.0
"""Alarms in ten minutes per operator that are acceptable (EEMUA 191, ISA-18.2)."""
MOST_PER_10_MIN = 2.0
"""The most that can be handled (EEMUA 191, ISA-18.2)."""
FLOOD_ABOVE = 10
"""More than so many in ten minutes are a flood (ISA-18.2)."""
SHARES: Mapping[Priority, float] = {"low": 0.80, "medium": 0.15, "high": 0.05}
"""Shares of the priorities aimed at (EEMUA 191, ISA-18.2)."""
MOST_STANDING = 5
"""Fewer than so many alarms stand for over 24 h (ISA-18.2)."""

TEN_MINUTES = timedelta(minutes=10)
A_DAY = timedelta(hours=24)
CHATTER_GAP = timedelta(minutes=15)
CHATTER_SPAN = timedelta(minutes=60)
CHATTER_COUNT = 3
"""An alert that is raised three times within an hour, each time within 15 minutes of clearing, chatters. A bed is read
every 15 minutes at most; the one minute that plants use would never show it. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Flood:
    """A stretch in which more than ten alerts called within ten minutes: first call, last call, how many."""

    start: datetime
    end: datetime
    count: int
    session: str | None


@dataclass(frozen=True, slots=True)
class Chatter:
    """An alert that came and went: which, how often within the spell, from when to when."""

    session: str
    condition: str
    subject: str
    count: int
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Load:
    """What the alerts of some sessions asked for. Hours of patient time; ``nurse_hours`` by ``beds_per_nurse``.

    ``alerts`` are those that stood for themselves at some time, by condition and worst priority; ``silent`` were
    spoken for throughout. ``calls``: every time an alert called (raised, a step worse, back after an answer).
    ``answered`` of the alerts had an answer, ``acted`` one with an act. ``tasks`` came due, by kind.
    """

    sessions: int
    patient_hours: float
    nurse_hours: float
    beds_per_nurse: float
    alerts: Mapping[tuple[str, Priority], int]
    silent: int
    raised_again: int
    came_back: int
    answered: int
    acted: int
    standing_over_a_day: int
    floods: tuple[Flood, ...]
    chattering: tuple[Chatter, ...]
    tasks: Mapping[str, int]
    tasks_overdue: Mapping[str, int]

    @property
    def total(self) -> int:
        """All alerts that stood for themselves."""
        return sum(self.alerts.values())

    @property
    def calls(self) -> int:
        """Every time an alert called."""
        return self.total + self.raised_again + self.came_back

    @property
    def per_patient_day(self) -> float | None:
        """Alerts per patient and day; None without any time."""
        return None if not self.patient_hours else self.total * 24.0 / self.patient_hours

    @property
    def per_nurse_hour(self) -> float | None:
        """Calls per nurse and hour; None without any time."""
        return None if not self.nurse_hours else self.calls / self.nurse_hours

    @property
    def per_10_min(self) -> float | None:
        """Calls per nurse in ten minutes, on average; None without any time."""
        return None if not self.nurse_hours else self.calls / (self.nurse_hours * 6.0)

    @property
    def acted_share(self) -> float | None:
        """The share of alerts that were answered with an act; None where there were none."""
        return None if not self.total else self.acted / self.total

    def by_condition(self) -> dict[str, int]:
        """Alerts by condition, most first."""
        found: Counter[str] = Counter()
        for (condition, _), count in self.alerts.items():
            found[condition] += count
        return dict(found.most_common())

    def by_priority(self) -> dict[Priority, int]:
        """Alerts by worst priority."""
        found: dict[Priority, int] = {"high": 0, "medium": 0, "low": 0}
        for (_, priority), count in self.alerts.items():
            found[priority] += count
        return found

    def shares(self) -> dict[Priority, float]:
        """Shares of the priorities; empty where there were no alerts."""
        return {p: n / self.total for p, n in self.by_priority().items()} if self.total else {}

    def condition_per_patient_day(self, condition: str) -> float | None:
        """Alerts of one condition per patient and day; None without any time."""
        if not self.patient_hours:
            return None
        return self.by_condition().get(condition, 0) * 24.0 / self.patient_hours


def load_of(replays: Iterable[Replay], *, beds_per_nurse: float = 4.0, together: bool = False) -> Load:
    """Count. ``together``: the sessions stood side by side on one ward, so floods are looked for over all of them."""
    replays = list(replays)
    hours = 0.0
    alerts: Counter[tuple[str, Priority]] = Counter()
    tasks: Counter[str] = Counter()
    overdue: Counter[str] = Counter()
    silent = again = back = answered = acted = standing = 0
    for replay in replays:
        if replay.start is not None and replay.end is not None:
            hours += (replay.end - replay.start).total_seconds() / 3600.0
        for state in replay.alerts:
            if state.spoke_at is None:
                silent += 1
                continue
            alerts[state.condition, state.worst] += 1
            again += len(state.raises) - 1
            back += len(state.came_back)
            answered += bool(state.answers)
            acted += any(answer.action for answer in state.answers)
            end = state.cleared_at or replay.end
            standing += end is not None and end - state.raised_at > A_DAY
        for task in replay.tasks:
            tasks[task.kind] += 1
            done = task.done_at or replay.end
            overdue[task.kind] += task.overdue_at is not None and done is not None and done >= task.overdue_at
    return Load(
        sessions=len(replays),
        patient_hours=hours,
        nurse_hours=hours / beds_per_nurse,
        beds_per_nurse=beds_per_nurse,
        alerts=dict(alerts),
        silent=silent,
        raised_again=again,
        came_back=back,
        answered=answered,
        acted=acted,
        standing_over_a_day=standing,
        floods=tuple(floods(replays, together=together)),
        chattering=tuple(chatter for replay in replays for chatter in chattering(replay.alerts)),
        tasks=dict(tasks),
        tasks_overdue=dict(overdue),
    )


def calls_of(state: AlertState) -> list[datetime]:
    """When this alert called: raised (once it stood for itself), a step worse, back after an answer."""
    if state.spoke_at is None:
        return []
    worse = [raised.at for raised in state.raises[1:] if raised.at > state.spoke_at]
    return sorted([state.spoke_at, *worse, *state.came_back])


def floods(replays: Sequence[Replay], *, together: bool) -> list[Flood]:
    """Stretches in which more than ten alerts called within ten minutes, by session or over all of them."""
    if together:
        calls = sorted(at for replay in replays for state in replay.alerts for at in calls_of(state))
        return _floods(calls, None)
    found: list[Flood] = []
    for replay in replays:
        calls = sorted(at for state in replay.alerts for at in calls_of(state))
        found.extend(_floods(calls, replay.session))
    return found


def _floods(calls: Sequence[datetime], session: str | None) -> list[Flood]:
    found: list[Flood] = []
    first = 0
    for last, at in enumerate(calls):
        while at - calls[first] > TEN_MINUTES:
            first += 1
        if last - first + 1 <= FLOOD_ABOVE:
            continue
        if found and calls[first] <= found[-1].end:
            begun = found[-1].start
            found[-1] = Flood(begun, at, sum(begun <= call <= at for call in calls), session)
        else:
            found.append(Flood(calls[first], at, last - first + 1, session))
    return found


def chattering(alerts: Iterable[AlertState]) -> list[Chatter]:
    """Alerts of one condition and subject that were raised three times within an hour, soon after clearing."""
    by_subject: dict[tuple[str, str, str], list[AlertState]] = {}
    for state in alerts:
        by_subject.setdefault((state.session, state.condition, state.subject), []).append(state)
    found: list[Chatter] = []
    for key, states in by_subject.items():
        run: list[AlertState] = []
        for state in sorted(states, key=lambda s: s.raised_at):
            before = run[-1].cleared_at if run else None
            if run and not (before is not None and state.raised_at - before <= CHATTER_GAP):
                run = []
            run.append(state)
            while state.raised_at - run[0].raised_at > CHATTER_SPAN:
                run.pop(0)
            if len(run) == CHATTER_COUNT:
                found.append(Chatter(*key, len(run), run[0].raised_at, state.raised_at))
            elif len(run) > CHATTER_COUNT:
                found[-1] = Chatter(*key, len(run), run[0].raised_at, state.raised_at)
    return found
