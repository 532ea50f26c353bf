"""One session on the desk: the stepping of replay, and beside it what the use cases must know of each entry.

The steps are those of replay, so what stands here after a restart is what stood before.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

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


class Watch:
    """One session, kept up to date."""

    def __init__(self, session: str, ward: WardRules, scale: EffluentScale, thresholds: Thresholds) -> None:
        self.session = session
        self.ward = ward
        self.scale = scale
        self.thresholds = thresholds
        self._stepper = Stepper(session, ward, scale, thresholds)
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
        return self._stepper.step(judged, now) if judged else []

    def step_to(self, now: datetime) -> bool:
        """Move to ``now`` over every change on the way. False when nothing was due."""
        due = self._stepper.next_change
        if due is None or due > now:
            return False
        self._stepper.until(now)
        return True

    def judge_by(self, thresholds: Thresholds) -> None:
        """Other thresholds are in force: step through the session anew, as if they always had been."""
        now = self._stepper.now
        self.thresholds = thresholds
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
    def ledger(self) -> Ledger:
        """The session's ledger up to the instant reached."""
        return self._stepper.ledger

    @property
    def judgement(self) -> Judgement | None:
        """The last judgement; None before the first entry."""
        return self._stepper.judgement

    @property
    def states(self) -> States:
        """The alerts that stand, and the cleared ones that are still needed."""
        return self._stepper.states

    def record(self, alert: str) -> AlertState | None:
        """An alert of any time, cleared ones that nothing needs any more included."""
        return next((state for state in reversed(self._stepper.records) if state.id == alert), None)

    @property
    def next_change(self) -> datetime | None:
        """The earliest instant at which something differs without a new entry."""
        return self._stepper.next_change

    @property
    def now(self) -> datetime | None:
        """The instant reached."""
        return self._stepper.now

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
