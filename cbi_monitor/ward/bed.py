"""One bed as the screens see it: its ledger, how it stands, its alerts, what is due, how much somebody is needed."""

from __future__ import annotations

from datetime import date, datetime
from functools import cached_property
from zoneinfo import ZoneInfo

from cbi_monitor.alerts.life import AlertState
from cbi_monitor.alerts.readings import RANK, Judgement, Task
from cbi_monitor.ledger.account import Standing
from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.ward.need import Need, need_of
from cbi_monitor.ward.watch import Watch


class Bed:
    """One session at one instant. Figures that the clock alone changes are reckoned when first asked for."""

    def __init__(self, watch: Watch, now: datetime, zone: ZoneInfo, fault: str = "") -> None:
        assert watch.judgement is not None
        self.session: str = watch.session
        self.ledger: Ledger = watch.ledger
        self.judgement: Judgement = watch.judgement
        self.alerts: tuple[AlertState, ...] = tuple(
            sorted((state for state in watch.states if state.on_lane(now)), key=_worst_first)
        )
        self.closed: bool = watch.closed
        self.now = now
        self.fault = fault
        """The log's reference where the program failed to reckon this bed; its figures are then not to be shown."""
        self._watch = watch
        self._zone = zone

    @cached_property
    def standing(self) -> Standing:
        """How the bed stands at ``now``: ranges as wide as the time since the last look makes them."""
        return self._watch.standing(self.now)

    def standing_at(self, now: datetime) -> Standing:
        """How the bed stands at another instant; never before its last entry."""
        return self._watch.standing(now)

    @property
    def label(self) -> str:
        """The bed's name; the patient's reference where no bed is charted."""
        return self.ledger.facts.bed or self.reference

    @property
    def reference(self) -> str:
        """The patient's local reference."""
        return self.ledger.facts.patient or (
            self._watch.opening.patient if self._watch.opening else self.session
        )

    @property
    def operation(self) -> str:
        """The operation, or an empty text."""
        return self.ledger.facts.details.get("operation") or ""

    @property
    def operation_day(self) -> int | None:
        """Days since the operation ended, by the ward's calendar; the day itself is 0. None: not charted."""
        ended = self.ledger.facts.details.get("operation_ended")
        return None if ended is None else (self._day(self.now) - self._day(ended)).days

    @property
    def weight_kg(self) -> float | None:
        """Weight in force, kg."""
        return self.ledger.facts.weight_kg

    @property
    def opened_at(self) -> datetime | None:
        """When the session was opened."""
        return self._watch.opening.at if self._watch.opening else None

    @property
    def next_task(self) -> Task | None:
        """The look or check that is due first."""
        asked = [task for task in self.judgement.tasks if task.kind in ("look", "check")]
        return min(asked, key=lambda task: task.due, default=None)

    @property
    def next_due(self) -> datetime | None:
        """When somebody has to be at the bed next: a look, or a check."""
        task = self.next_task
        return None if task is None else task.due

    @property
    def raised(self) -> tuple[AlertState, ...]:
        """The alerts that stand, worst first; cleared ones that stay on the lane are not among them."""
        return tuple(state for state in self.alerts if state.cleared_at is None)

    @cached_property
    def need(self) -> Need:
        """The sort key of the board, the bed that needs someone first smallest."""
        return need_of(self.raised, self.next_due, self.label)

    def _day(self, at: datetime) -> date:
        return at.astimezone(self._zone).date()


def _worst_first(state: AlertState) -> tuple[bool, int, datetime, str]:
    return (state.cleared_at is not None, -RANK[state.priority], state.raised_at, state.id)
