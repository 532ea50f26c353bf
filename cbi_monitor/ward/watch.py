"""One session on the desk: the stepping of replay, and beside it what the use cases must know of each entry.

The steps are those of replay, so what stands here after a restart is what stood before.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime, timedelta

from cbi_monitor.alerts.life import AlertState, States
from cbi_monitor.alerts.readings import Judgement
from cbi_monitor.alerts.replay import NOT_OF_THE_WATCH, Change
from cbi_monitor.alerts.replay import Watch as Stepper
from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.ledger.account import Standing
from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.model.events import (
    AlertCleared,
    AlertShown,
    BagHung,
    Corrected,
    Event,
    SessionClosed,
    SessionOpened,
    StruckOut,
    WatchStarted,
    WatchStopped,
)
from cbi_monitor.model.instants import utc
from cbi_monitor.model.ward import EffluentScale, WardRules
from cbi_monitor.ward.glimpse import Glimpse

STRIDE = timedelta(hours=1)
"""So much of a stay is stepped through before somebody is asked whether there is still time."""


class Watch:
    """One session, kept up to date."""

    def __init__(self, session: str, ward: WardRules, scale: EffluentScale, thresholds: Thresholds) -> None:
        self.session = session
        self.ward = ward
        self.scale = scale
        self.thresholds = thresholds
        self._stepper = Stepper(session, ward, scale, thresholds)
        self._glimpse: Glimpse | None = None
        self._stays_glimpse = False
        self._on_the_way: list[Change] = []
        self._waiting: list[Event] = []
        self.by_id: dict[str, Event] = {}
        """Every entry, as it was written."""
        self.opening: SessionOpened | None = None
        self.closed = False
        self.last_watch: Event | None = None
        self.struck: set[str] = set()
        self.shown: dict[str, AlertShown] = {}
        """What stands on the screen by the journal: shown and not yet cleared, by alert id."""
        self.lines: set[str] = set()
        """Every line on which a bag was ever hung."""
        self._corrections: dict[str, list[Corrected]] = {}

    # --- entries and the clock -----------------------------------------------------------------------------------

    def take(self, events: Iterable[Event], now: datetime) -> list[Change]:
        """Take entries that the journal holds and step to ``now``; entries already taken are passed over.

        Returns what happened to alerts on the way.
        """
        fresh = [event for event in events if event.id not in self.by_id]
        for event in fresh:
            self._note(event)
        judged = [event for event in fresh if not isinstance(event, NOT_OF_THE_WATCH)]
        if not judged:
            return []
        if self._glimpse is not None:
            self._waiting.extend(judged)
            self._glimpse.take(judged, now)
            return []
        return self._stepper.step(judged, now)

    def glimpse(self, events: Iterable[Event], now: datetime) -> None:
        """Take the entries of the stay so far, but only look at ``now``; ``settle`` steps through them later."""
        self._glimpse = Glimpse(self.session, self.ward, self.scale, self.thresholds)
        self.take(events, now)

    @property
    def settled(self) -> bool:
        """Whether the alerts of the whole stay are stepped through."""
        return self._glimpse is None or self._stays_glimpse

    def pop_changes(self) -> list[Change]:
        """What happened to alerts while it settled; told once."""
        told, self._on_the_way = self._on_the_way, []
        return told

    def stay_glimpse(self) -> None:
        """The steps failed: the bed stands by the look at it, which its mark says."""
        self._stays_glimpse = True

    def settle(self, now: datetime, give_up: Callable[[], bool]) -> bool:
        """Step on through the stay, in strides, until ``now`` is reached or ``give_up`` says to stop for now.

        True when ``now`` is reached: from then on the bed stands by its steps.
        """
        if self._waiting:
            self._stepper.add(self._waiting)
            self._waiting = []
        while self._glimpse is not None:
            due = self._stepper.next_change
            if due is None or due > now:
                self._glimpse = None
                break
            self._on_the_way.extend(self._stepper.until(min(now, due + STRIDE)))
            if give_up():
                break
        return self.settled

    def step_to(self, now: datetime) -> bool:
        """Move to ``now`` over every change on the way. False when nothing was due."""
        due = self.next_change
        if due is None or due > now:
            return False
        if self._glimpse is not None:
            self._glimpse.take((), now)
        else:
            self._stepper.until(now)
        return True

    def judge_by(self, thresholds: Thresholds) -> None:
        """Other thresholds are in force: step through the session anew, as if they always had been."""
        now = self.now
        self.thresholds = thresholds
        self._glimpse, self._waiting, self._stays_glimpse = None, [], False
        self._stepper = Stepper(self.session, self.ward, self.scale, thresholds)
        self._stepper.add(self.by_id.values())
        if now is not None:
            self._stepper.until(now)

    def _note(self, event: Event) -> None:
        self.by_id[event.id] = event
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

    # --- asked by the use cases ----------------------------------------------------------------------------------

    @property
    def _at(self) -> Glimpse | Stepper:
        return self._glimpse or self._stepper

    @property
    def ledger(self) -> Ledger:
        """The session's ledger up to the instant reached."""
        return self._at.ledger

    @property
    def judgement(self) -> Judgement | None:
        """The last judgement; None before the first entry."""
        return self._at.judgement

    @property
    def states(self) -> States:
        """The alerts that stand, and the cleared ones that are still needed."""
        return self._at.states

    def record(self, alert: str) -> AlertState | None:
        """An alert of any time, cleared ones that nothing needs any more included."""
        return next((state for state in reversed(self._stepper.records) if state.id == alert), None)

    @property
    def next_change(self) -> datetime | None:
        """The earliest instant at which something differs without a new entry."""
        return self._at.next_change

    @property
    def now(self) -> datetime | None:
        """The instant reached."""
        return self._at.now

    def standing(self, now: datetime) -> Standing:
        """How the bed stands; never before the instant reached."""
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

    def entries_of_the_watch(self) -> tuple[Event, ...]:
        """What the program wrote about itself: alerts as shown, thresholds in force, when it watched."""
        return tuple(event for event in self.by_id.values() if isinstance(event, NOT_OF_THE_WATCH))
