"""One session stepped through time: ledger and alert states, moved on by entries and by the clock.

The steps are the same as in replay: an entry exists from the later of when it happened and when it was typed; between
entries the states move at each ``next_change``. So what stands here after a restart is what stood before.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from cbi_monitor.alerts.conditions import judge
from cbi_monitor.alerts.life import States, advance, next_change_of
from cbi_monitor.alerts.readings import Judgement
from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.ledger import Ledger
from cbi_monitor.ledger.account import Standing
from cbi_monitor.model.canonical import canonical_bytes
from cbi_monitor.model.events import (
    AlertAnswered,
    AlertCleared,
    AlertShown,
    BagHung,
    Corrected,
    Event,
    SessionClosed,
    SessionOpened,
    StruckOut,
    ThresholdsInForce,
    WatchStarted,
    WatchStopped,
)
from cbi_monitor.model.instants import utc
from cbi_monitor.model.ward import EffluentScale, WardRules


NOT_CHARTED = (AlertAnswered, AlertShown, AlertCleared, ThresholdsInForce, WatchStarted, WatchStopped)
"""Entries that say nothing of the patient: they answer no alert."""


def known_at(event: Event) -> datetime:
    """From when on an entry exists: the later of when it happened and when it was typed (UTC)."""
    return max(utc(event.at), utc(event.typed_at))


class Watch:
    """One session, kept up to date."""

    def __init__(self, session: str, ward: WardRules, scale: EffluentScale, thresholds: Thresholds) -> None:
        self.session = session
        self.ledger = Ledger(session, ward, scale)
        self.thresholds = thresholds
        self.states: States = ()
        self.judgement: Judgement | None = None
        self.now: datetime | None = None
        self.opening: SessionOpened | None = None
        self.closed = False
        self.last_watch: Event | None = None
        self.by_id: dict[str, Event] = {}
        self.struck: set[str] = set()
        self.shown: dict[str, AlertShown] = {}
        """What stands on the screen by the journal: shown and not yet cleared, by alert id."""
        self.lines: set[str] = set()
        self._corrections: dict[str, list[Corrected]] = {}
        self._next_change: datetime | None = None
        self._charted_at: datetime | None = None

    # --- taking entries ------------------------------------------------------------------------------------------

    def take(self, events: Iterable[Event]) -> None:
        """Fold entries in the order in which they came to exist and move the states with them.

        An entry that came to exist before the instant reached (another workstation's, read a moment later) counts from
        that instant on. Entries already taken are passed over.
        """
        fresh = [event for event in events if event.id not in self.by_id]
        for known, together in _by_instant(fresh):
            at = known if self.now is None else max(known, self.now)
            self.step_to(at)
            for event in together:
                self._fold(event)
                if not isinstance(event, NOT_CHARTED):
                    self._charted_at = at
            self._settle(at)

    def _fold(self, event: Event) -> None:
        self.by_id[event.id] = event
        self.ledger.fold(event)
        match event:
            case SessionOpened():
                self.opening = self.opening or event
            case SessionClosed():
                self.closed = True
            case BagHung():
                self.lines.add(event.line)
            case Corrected():
                self._corrections.setdefault(event.target, []).append(event)
                if "line" in event.fields and isinstance(self.by_id.get(event.target), BagHung):
                    self.lines.add(str(event.fields["line"]))
            case StruckOut():
                self.struck.add(event.target)
                if isinstance(self.by_id.get(event.target), SessionClosed):
                    self.closed = False
            case AlertShown():
                self.shown[event.alert] = event
            case AlertCleared():
                self.shown.pop(event.alert, None)
            case WatchStarted() | WatchStopped():
                self.last_watch = event
            case _:
                pass

    # --- moving on -----------------------------------------------------------------------------------------------

    @property
    def next_change(self) -> datetime | None:
        """The earliest instant at which something differs without a new entry."""
        return self._next_change

    def step_to(self, now: datetime) -> bool:
        """Move the states to ``now`` over every change on the way. False when nothing was due."""
        moved = False
        if self.judgement is None:
            return False
        while (due := self.next_change) is not None and due <= now:
            self._settle(due)
            moved = True
        return moved

    def judge_by(self, thresholds: Thresholds, now: datetime) -> None:
        """From ``now`` on other thresholds are in force."""
        self.step_to(now)
        self.thresholds = thresholds
        if self.judgement is not None:
            self._settle(max(now, self.judgement.now))

    def _settle(self, now: datetime) -> None:
        self.now = now
        self.judgement = judge(self.ledger, self.thresholds, now)
        answers = self.ledger.of(AlertAnswered)
        self.states = advance(
            self.states,
            self.judgement,
            self.thresholds,
            session=self.session,
            answers=answers,
            charted_at=self._charted_at,
        )
        own = next_change_of(self.states, self.thresholds, now)
        later = [at for at in (self.judgement.next_change, own) if at is not None]
        self._next_change = min(later, default=None)

    # --- asked by the use cases ----------------------------------------------------------------------------------

    def standing(self, now: datetime) -> Standing:
        """How the bed stands; never before the last entry."""
        return self.ledger.at(now if self.now is None else max(now, self.now))

    def hanging(self, now: datetime) -> frozenset[str]:
        """The lines on which a bag hangs."""
        return frozenset(line.name for line in self.standing(now).lines)

    def corrections_of(self, target: str) -> tuple[Corrected, ...]:
        """The corrections of an entry that are not struck out, in the order in which they are laid over."""
        stack = [entry for entry in self._corrections.get(target, ()) if entry.id not in self.struck]
        return tuple(sorted(stack, key=lambda entry: (utc(entry.typed_at), entry.id)))

    def knows_finding(self, finding: str) -> bool:
        """Whether there is such a finding on the chart."""
        return any(found.id == finding for found in self.ledger.findings)


def _by_instant(events: list[Event]) -> Iterator[tuple[datetime, list[Event]]]:
    """Entries that came to exist at the same instant, together, in order of knowledge."""
    ordered = sorted(((known_at(event), event) for event in events), key=lambda pair: (pair[0], canonical_bytes(pair[1])))
    together: list[Event] = []
    for place, (known, event) in enumerate(ordered):
        together.append(event)
        if place + 1 == len(ordered) or ordered[place + 1][0] != known:
            yield known, together
            together = []
