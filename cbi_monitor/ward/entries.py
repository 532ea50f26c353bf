"""The events of single acts: a stop, a look, a correction, an answer. Ids and times are put on by the desk."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Literal, TypeVar

from cbi_monitor.model.events import Event, StopReason
from cbi_monitor.model.instants import utc

E = TypeVar("E", bound=Event)
How = Literal["steady", "slow", "drops_only", "none"]

__all__ = ["How", "StopReason", "entry", "stamped"]


def entry(what: type[E], session: str, at: datetime, by: str | None, **fields: Any) -> E:
    """An event of this kind; fields that are None are left out. Raises pydantic's ValidationError."""
    said: Mapping[str, Any] = {name: value for name, value in fields.items() if value is not None}
    author = {} if by is None else {"by": by}
    return what(session=session, at=at, **author, **said)  # type: ignore[arg-type]


def stamped(event: E, new_id: str, now: datetime) -> E:
    """The same event with an id and the time of typing where it has none."""
    missing: dict[str, Any] = {}
    if not event.id:
        missing["id"] = new_id
    if event.recorded is None:
        missing["recorded"] = utc(now)
    return event.model_copy(update=missing) if missing else event
