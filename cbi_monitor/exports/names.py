"""Exports without names: staff ids, reference, bed and other people's names give way to numbered words.

Free text (notes, what was told) is kept as typed and may still name somebody; the report says so.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from cbi_monitor.model.events import Event
from cbi_monitor.wording import say

_STAFF = ("by", "for_whom", "second_check_by", "from_", "from", "to", "done_by")
_OTHERS = ("by_whom", "whom", "accepted_by")


class Nameless:
    """Gives the same word to the same name throughout one export."""

    def __init__(self) -> None:
        self._staff: dict[str, str] = {}
        self._others: dict[str, str] = {}
        self._beds: dict[str, str] = {}
        self._sessions: dict[str, str] = {}

    def without_names(self, events: Iterable[Event]) -> list[Event]:
        """The same events with names replaced; ids, times and figures stay."""
        return [self._event(event) for event in events]

    def session(self, session: str) -> str:
        """The word for a session."""
        return self._numbered(self._sessions, session, "report-nameless-session")

    def _event(self, event: Event) -> Event:
        update: dict[str, Any] = {"session": self.session(event.session)}
        fields = type(event).model_fields
        for name in fields:
            given = getattr(event, name)
            if isinstance(given, str):
                put = self._instead(name, given)
                if put != given:
                    update[name] = put
        corrected = getattr(event, "fields", None)
        if isinstance(corrected, dict):
            update["fields"] = {
                name: self._instead(name, value) if isinstance(value, str) else value
                for name, value in corrected.items()
            }
        if event.source is not None:
            update["source"] = None
        for name in ("alert",):
            given = getattr(event, name, None)
            if isinstance(given, str):
                update[name] = given.replace(event.session, update["session"])
        return event.model_copy(update=update)

    def _instead(self, name: str, given: str) -> str:
        if name == "bed":
            return self._numbered(self._beds, given, "report-nameless-bed")
        if name == "patient":
            return say("report-nameless-patient")
        if name in _STAFF:
            return self._numbered(self._staff, given, "report-nameless-staff")
        if name in _OTHERS:
            return self._numbered(self._others, given, "report-nameless-other")
        return given

    @staticmethod
    def _numbered(known: dict[str, str], name: str, key: str) -> str:
        if name not in known:
            known[name] = say(key, number=str(len(known) + 1))
        return known[name]
