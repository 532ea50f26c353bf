"""From entries as they arrive to effective events: corrections, strike-outs and answers laid over.

Nothing here depends on the order of arrival: a correction may arrive before the entry that it corrects.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from pydantic import ValidationError

from cbi_monitor.model.canonical import OrderKey, order_key, overlaid
from cbi_monitor.model.events import BY_NAME, Answered, Corrected, Event, StruckOut

LATE = timedelta(minutes=30)


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry with all that was said of it later. ``event`` is what counts today; None where it is struck out."""

    original: Event
    event: Event | None
    corrections: tuple[Corrected, ...] = ()
    struck_out: StruckOut | None = None

    @property
    def late(self) -> bool:
        """Typed more than 30 minutes after it happened."""
        shown = self.event or self.original
        return shown.recorded is not None and shown.recorded - shown.at > LATE


@dataclass(frozen=True, slots=True)
class Change:
    """From which place in the effective order on things differ; None: nothing differs."""

    since: OrderKey | None


@dataclass(slots=True)
class Overlay:
    """The effective events of one session, kept in total order."""

    keys: list[OrderKey] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    _originals: dict[str, Event] = field(default_factory=dict)
    _corrections: dict[str, list[Corrected]] = field(default_factory=dict)
    _strikes: dict[str, StruckOut] = field(default_factory=dict)
    _effective: dict[str, Event] = field(default_factory=dict)
    _answers: dict[str, list[Answered]] = field(default_factory=dict)
    refused: set[str] = field(default_factory=set)

    def copy(self) -> Overlay:
        """An independent copy; the events themselves are shared."""
        return Overlay(
            list(self.keys),
            list(self.events),
            dict(self._originals),
            {target: list(found) for target, found in self._corrections.items()},
            dict(self._strikes),
            dict(self._effective),
            {target: list(found) for target, found in self._answers.items()},
            set(self.refused),
        )

    def answers_to(self, event_id: str) -> Sequence[Answered]:
        """The answers to findings on that entry, the later ones last."""
        return self._answers.get(event_id, ())

    def take(self, event: Event) -> Change:
        """Take one entry in. An entry that is here already changes nothing."""
        if event.id in self._originals:
            return Change(None)
        if isinstance(event, Corrected):
            self._originals[event.id] = event
            found = self._corrections.setdefault(event.target, [])
            found.append(event)
            found.sort(key=lambda one: (one.typed_at, one.id))
            return self._again(event.target)
        if isinstance(event, StruckOut):
            self._originals[event.id] = event
            first = self._strikes.get(event.target)
            if first is None or (event.typed_at, event.id) < (first.typed_at, first.id):
                self._strikes[event.target] = event
            target = self._originals.get(event.target)
            return self._again(target.target if isinstance(target, Corrected) else event.target)
        self._originals[event.id] = event
        return self._again(event.id)

    def entry(self, event_id: str) -> Entry | None:
        """One entry by its id, or None."""
        original = self._originals.get(event_id)
        if original is None:
            return None
        return Entry(
            original,
            self._effective.get(event_id),
            tuple(self._corrections.get(event_id, ())),
            self._strikes.get(event_id),
        )

    def entries(self) -> list[Entry]:
        """Every entry but corrections and strike-outs, in the order of today's chart."""
        shown = [
            entry
            for event_id, original in self._originals.items()
            if not isinstance(original, (Corrected, StruckOut))
            if (entry := self.entry(event_id)) is not None
        ]
        return sorted(shown, key=lambda entry: order_key(entry.event or entry.original))

    def _again(self, target: str) -> Change:
        """Compute one entry anew and put it where it belongs now."""
        original = self._originals.get(target)
        if original is None or isinstance(original, (Corrected, StruckOut)):
            return Change(None)
        before = self._effective.pop(target, None)
        touched: list[OrderKey] = []
        if before is not None:
            key = order_key(before)
            place = bisect_left(self.keys, key)
            del self.keys[place], self.events[place]
            touched.append(key)
            touched += self._unanswer(before)
        after = None if target in self._strikes else self._laid_over(original)
        if after is not None:
            key = order_key(after)
            place = bisect_left(self.keys, key)
            self.keys.insert(place, key)
            self.events.insert(place, after)
            self._effective[target] = after
            touched.append(key)
            touched += self._answer(after)
        return Change(min(touched, default=None))

    def _laid_over(self, original: Event) -> Event:
        corrections = [c for c in self._corrections.get(original.id, ()) if c.id not in self._strikes]
        if not corrections:
            return original
        stands = original
        for correction in corrections:
            try:
                stands = BY_NAME[original.event].model_validate(overlaid(stands, correction.fields))
            except ValidationError:
                # Refused where it is entered; one that came all the same must not take the entry away.
                self.refused.add(correction.id)
        return stands

    def _answer(self, event: Event) -> list[OrderKey]:
        if not isinstance(event, Answered):
            return []
        target = event.finding.partition(":")[2]
        found = self._answers.setdefault(target, [])
        found.append(event)
        found.sort(key=lambda one: (one.typed_at, one.id))
        return self._place_of(target)

    def _unanswer(self, event: Event) -> list[OrderKey]:
        if not isinstance(event, Answered):
            return []
        target = event.finding.partition(":")[2]
        self._answers[target] = [one for one in self._answers.get(target, ()) if one.id != event.id]
        return self._place_of(target)

    def _place_of(self, target: str) -> list[OrderKey]:
        there = self._effective.get(target)
        return [] if there is None else [order_key(there)]


def first_after(overlay: Overlay, at: datetime) -> int:
    """The place of the first effective event later than ``at``."""
    for place in range(len(overlay.events) - 1, -1, -1):
        if overlay.keys[place][0] <= at:
            return place + 1
    return 0
