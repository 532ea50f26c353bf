"""A bed at first sight: how it stands now, before the alerts of its whole stay are stepped through.

At the start of the program every bed is shown at once by this; when the steps have caught up it is thrown away. Its
alerts are those that the evidence of this instant raises, so their times are not the true ones, and nothing of it is
journalled.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from cbi_monitor.alerts.conditions import judge
from cbi_monitor.alerts.life import States, advance, next_change_of
from cbi_monitor.alerts.readings import Judgement
from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.model.events import AlertAnswered, Event
from cbi_monitor.model.instants import utc
from cbi_monitor.model.ward import EffluentScale, WardRules


class Glimpse:
    """One session judged at one instant."""

    def __init__(self, session: str, ward: WardRules, scale: EffluentScale, thresholds: Thresholds) -> None:
        self.session = session
        self.ledger = Ledger(session, ward, scale)
        self.thresholds = thresholds
        self.states: States = ()
        self.judgement: Judgement | None = None
        self._last: datetime | None = None

    @property
    def now(self) -> datetime | None:
        """The instant judged at."""
        return None if self.judgement is None else self.judgement.now

    @property
    def next_change(self) -> datetime | None:
        """The earliest instant at which it would differ without a new entry."""
        if self.judgement is None:
            return None
        own = next_change_of(self.states, self.thresholds, self.judgement.now)
        return min((at for at in (self.judgement.next_change, own) if at is not None), default=None)

    def take(self, events: Iterable[Event], now: datetime) -> None:
        """Fold entries and judge at ``now``, or at the last of them where that lies ahead."""
        events = list(events)
        self.ledger.fold_all(events)
        ats = [utc(event.at) for event in events]
        self._last = max([*ats, self._last] if self._last else ats, default=self._last)
        at = utc(now) if self._last is None else max(utc(now), self._last)
        self.judgement = judge(self.ledger, self.thresholds, at)
        answers = tuple(self.ledger.of(AlertAnswered))
        self.states = advance(
            self.states, self.judgement, self.thresholds, session=self.session, answers=answers
        )
