"""What is known of the patient, the order and the catheter as they stand."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from cbi_monitor.model.events import (
    CatheterPlaced,
    CatheterRemoved,
    Event,
    Ordered,
    SessionClosed,
    SessionDetails,
    SessionOpened,
    TractionOff,
    TractionOn,
)

_DETAILS = tuple(name for name in SessionDetails.model_fields if name not in set(Event.model_fields))
_ORDER = tuple(name for name in Ordered.model_fields if name not in set(Event.model_fields))


@dataclass(frozen=True, slots=True)
class SessionFacts:
    """Facts as they stand. ``details`` has the fields of ``session_opened``; ``order`` those of ``ordered``.

    Of each field the newest word stands, so a later order that says only one thing leaves the rest in force.
    """

    opened_at: datetime | None = None
    closed_at: datetime | None = None
    details: dict[str, Any] = field(default_factory=dict)
    order: dict[str, Any] = field(default_factory=dict)
    order_events: dict[str, Ordered] = field(default_factory=dict)
    weights: tuple[tuple[datetime, float], ...] = ()
    catheter: CatheterPlaced | None = None
    catheter_removed: CatheterRemoved | None = None
    traction_since: datetime | None = None
    traction_until: datetime | None = None

    @property
    def catheter_in(self) -> bool:
        """Whether a catheter is in, as far as charted; not charted at all counts as in."""
        return self.catheter_removed is None

    @property
    def patient(self) -> str | None:
        """The local reference."""
        return self.details.get("patient")

    @property
    def bed(self) -> str | None:
        """The bed."""
        return self.details.get("bed")

    @property
    def weight_kg(self) -> float | None:
        """The newest weight, kg."""
        return self.weights[-1][1] if self.weights else None

    def weight_at(self, at: datetime) -> float | None:
        """The weight in force at an instant; before the first charted weight, the first."""
        found = None
        for since, weight in self.weights:
            if since <= at or found is None:
                found = weight
        return found

    def after(self, event: Event) -> SessionFacts:
        """The facts after one more event."""
        if isinstance(event, (SessionOpened, SessionDetails)):
            said = {name: value for name in _DETAILS if (value := getattr(event, name, None)) is not None}
            weights = self.weights
            if event.weight_kg is not None:
                weights = (*weights, (event.at, event.weight_kg))
            opened = event.at if isinstance(event, SessionOpened) else self.opened_at
            return replace(self, opened_at=opened, details={**self.details, **said}, weights=weights)
        if isinstance(event, Ordered):
            said = {name: value for name in _ORDER if (value := getattr(event, name, None)) is not None}
            until = event.traction_until or self.traction_until
            return replace(
                self,
                order={**self.order, **said},
                order_events={**self.order_events, **dict.fromkeys(said, event)},
                traction_until=until,
            )
        if isinstance(event, CatheterPlaced):
            return replace(self, catheter=event, catheter_removed=None)
        if isinstance(event, CatheterRemoved):
            return replace(self, catheter_removed=event)
        if isinstance(event, TractionOn):
            return replace(self, traction_since=event.at, traction_until=event.until or self.traction_until)
        if isinstance(event, TractionOff):
            return replace(self, traction_since=None)
        if isinstance(event, SessionClosed):
            return replace(self, closed_at=event.at)
        return self
