"""How entries lie in the journal's table: what is kept beside the payload, and which rows a new entry is judged by."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from pydantic import ValidationError

from cbi_monitor.journal import checks
from cbi_monitor.journal.checks import Placed
from cbi_monitor.journal.port import AHEAD, Fault, Place
from cbi_monitor.journal.words import refusal
from cbi_monitor.model.canonical import canonical_bytes
from cbi_monitor.model.events import BY_NAME, Corrected, Event, StruckOut, line_of
from cbi_monitor.model.findings import Refusal, Refused
from cbi_monitor.model.instants import format_instant, utc

ROW = "SELECT seq, payload FROM entries"
AT_ONCE = 500
"""How many values one question may hold (SQLite's own limit is higher, an old one's 999)."""


@dataclass(frozen=True, slots=True)
class Ready:
    """An entry as it goes in."""

    event: Event
    payload: str
    place: Place

    @property
    def placed(self) -> Placed:
        """The entry with its place, for the checks."""
        return Placed(self.event, *self.place)


def sortable(at: datetime) -> str:
    """An instant as text that sorts as time does."""
    return utc(at).isoformat(timespec="microseconds")


def columns_of(event: Event) -> tuple[str, str, str, str, str | None, str | None]:
    """What is kept beside the payload to find an entry by: id, session, kind, at in UTC, line, target."""
    target = event.target if isinstance(event, (Corrected, StruckOut)) else None
    return (event.id, event.session, event.event, sortable(event.at), line_of(event) or None, target)


def event_of(seq: int, payload: str) -> Event:
    """The entry that a stored payload says. Raises Fault where it says none."""
    try:
        told = json.loads(payload)
        return BY_NAME[told["event"]].model_validate(told)
    except (ValueError, KeyError, TypeError) as cause:
        raise Fault("corrupt", f"entry {seq}") from cause


def asked(connection: sqlite3.Connection, question: str, values: Sequence[str]) -> Iterator[tuple[Any, ...]]:
    """The rows of a question that ends in IN, for any number of values."""
    for start in range(0, len(values), AT_ONCE):
        part = values[start : start + AT_ONCE]
        yield from connection.execute(f"{question} ({','.join('?' * len(part))})", part)


def context(connection: sqlite3.Connection, fresh: Sequence[Ready]) -> list[tuple[int, Event]]:
    """The stored entries that may speak for or against these: openings, bags, targets, and all changes to them."""
    sessions = sorted({one.event.session for one in fresh})
    found: dict[str, tuple[int, Event]] = {}

    def take(question: str, values: Sequence[str]) -> list[Event]:
        taken = [(seq, event_of(seq, payload)) for seq, payload in asked(connection, question, values)]
        found.update((event.id, (seq, event)) for seq, event in taken)
        return [event for _, event in taken]

    openings_and_bags = take(f"{ROW} WHERE kind IN ('session_opened', 'bag_hung') AND session IN", sessions)
    targets = {one.event.target for one in fresh if isinstance(one.event, (Corrected, StruckOut))}
    first = take(f"{ROW} WHERE id IN", sorted(targets))
    behind = {event.target for event in first if isinstance(event, (Corrected, StruckOut))}
    take(f"{ROW} WHERE id IN", sorted(behind))
    changed = targets | behind | {event.id for event in openings_and_bags}
    changes = take(f"{ROW} WHERE target IN", sorted(changed))
    take(f"{ROW} WHERE target IN", sorted({event.id for event in changes if isinstance(event, Corrected)}))
    return sorted(found.values(), key=lambda pair: pair[0])


def made_ready(events: Sequence[Event], live_at: datetime | None, places: Mapping[str, Place]) -> list[Ready]:
    """The entries as they go in, twins once. Raises Refused for what is wrong with an entry by itself."""
    refusals: list[Refusal] = []
    ready: dict[str, Ready] = {}
    for event in events:
        place = places.get(event.id, ("", 0))
        entry = Placed(event, *place)
        if not event.id:
            refusals.append(refusal("no-id", where=place[0], line=place[1], field="id"))
            continue
        if live_at is not None and utc(event.at) > utc(live_at) + AHEAD:
            at, now = format_instant(event.at), format_instant(live_at)
            refusals.append(
                refusal("in-the-future", where=place[0], line=place[1], field="at", at=at, now=now)
            )
            continue
        try:
            payload = _readable_again(event)
        except (ValueError, TypeError, KeyError) as fault:
            message = fault.errors()[0]["msg"] if isinstance(fault, ValidationError) else str(fault)
            given = event.event
            refusals.append(refusal("other", where=place[0], line=place[1], given=given, message=message))
            continue
        twin = ready.setdefault(event.id, Ready(event, payload, place))
        if twin.payload != payload:
            refusals.append(checks.id_taken(entry, f"{twin.place[0]}:{twin.place[1]}"))
    if refusals:
        raise Refused(tuple(refusals))
    return list(ready.values())


def _readable_again(event: Event) -> str:
    """The canonical payload, after it was seen that reading it gives this entry. Raises ValueError."""
    written = canonical_bytes(event)
    told = json.loads(written)
    again = BY_NAME[told["event"]].model_validate(told)
    # Equal events are written alike; an unequal one may only hold a list as a tuple, or a time not yet as text.
    if again != event and canonical_bytes(again) != written:
        raise ValueError("reading it again gives another entry")
    return written.decode()
