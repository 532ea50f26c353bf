"""Single acts at a bed, each an entry of its own: a look, a stop, a correction, an answer, a handover."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, Literal

from pydantic import ValidationError

from cbi_monitor.model.events import (
    AlertAnswered,
    Answered,
    Corrected,
    Event,
    HandedOver,
    InflowStarted,
    InflowStopped,
    OutflowSeen,
    StruckOut,
)
from cbi_monitor.model.findings import Refusal
from cbi_monitor.ward.clock import Clock
from cbi_monitor.ward.entries import How, StopReason, entry
from cbi_monitor.ward.outcomes import Outcome, Rejected
from cbi_monitor.ward.rules import said_wrong
from cbi_monitor.wording import say


class Acts:
    """What a desk can be told in one call. ``at`` is when it happened (default: now), ``by`` who says so."""

    clock: Clock

    def save(self, events: Sequence[Event]) -> Outcome:
        """Check, write, fold; the desk's own."""
        raise NotImplementedError

    def shows_alert(self, session: str, alert: str) -> bool:
        """Whether this alert is on the bed's lane; the desk's own."""
        raise NotImplementedError

    def _save_one(
        self, what: type[Event], session: str, by: str | None, at: datetime | None, **fields: Any
    ) -> Outcome:
        try:
            event = entry(what, session, at or self.clock.now(), by, **fields)
        except ValidationError as wrong:
            return Rejected(said_wrong(wrong, what, fields))
        return self.save([event])

    def correct(
        self, session: str, target: str, fields: Mapping[str, Any], reason: str, by: str | None
    ) -> Outcome:
        """Say fields of an entry anew; the old ones stay readable, struck through."""
        said = {
            name: value.isoformat() if isinstance(value, datetime) else value
            for name, value in fields.items()
        }
        return self._save_one(Corrected, session, by, None, target=target, fields=said, reason=reason)

    def strike_out(self, session: str, target: str, reason: str, by: str | None) -> Outcome:
        """Strike an entry, or a correction, out; it stays readable."""
        return self._save_one(StruckOut, session, by, None, target=target, reason=reason)

    def answer_finding(
        self,
        session: str,
        finding: str,
        answer: Literal["confirmed", "not_recorded", "wrong"],
        volume_ml: float | None,
        reason: str,
        by: str | None,
    ) -> Outcome:
        """Answer a question that the chart asks. ``not_recorded`` needs the volume that was never written down, mL."""
        return self._save_one(
            Answered, session, by, None, finding=finding, answer=answer, volume_ml=volume_ml, reason=reason
        )

    def answer_alert(
        self,
        session: str,
        alert: str,
        kind: Literal["going", "seen"],
        by: str | None,
        action: str | None = None,
    ) -> Outcome:
        """Say that somebody is going, or has seen it. Clears nothing."""
        if not self.shows_alert(session, alert):
            refusal = Refusal(
                say("place-entry"), 0, 0, "alert", say("refuse-unknown-alert"), say("write-alert")
            )
            return Rejected((refusal,))
        return self._save_one(AlertAnswered, session, by, None, alert=alert, kind=kind, action=action)

    def stop_inflow(
        self, session: str, by: str | None, reason: StopReason | None = None, *, at: datetime | None = None
    ) -> Outcome:
        """All running lines were stopped."""
        return self._save_one(InflowStopped, session, by, at, reason=reason)

    def start_inflow(
        self, session: str, by: str | None, reason: StopReason | None = None, *, at: datetime | None = None
    ) -> Outcome:
        """Exactly the lines that the last stop closed were started again."""
        return self._save_one(InflowStarted, session, by, at, reason=reason)

    def look(self, session: str, by: str | None, how: How, *, at: datetime | None = None) -> Outcome:
        """Somebody looked at the drip: steady, slow, drops only, none."""
        return self._save_one(OutflowSeen, session, by, at, running=how != "none", how=how)

    def not_draining(self, session: str, by: str | None, *, at: datetime | None = None) -> Outcome:
        """Seen not running. Does not stop the inflow by itself: that is an act of its own, with its own time."""
        return self.look(session, by, "none", at=at)

    def hand_over(
        self,
        session: str,
        from_: str,
        to: str,
        read_back: bool,
        *,
        next_due: datetime | None = None,
        open_questions: Sequence[str] = (),
        readings: Sequence[Event] = (),
    ) -> Outcome:
        """One nurse hands over to the next. ``readings`` are the taking nurse's own; they correct nothing."""
        now = self.clock.now()
        said: dict[str, Any] = {"from": from_, "to": to, "read_back": read_back, "next_due": next_due}
        if open_questions:
            said["open_questions"] = tuple(open_questions)
        try:
            event = entry(HandedOver, session, now, to, **said)
        except ValidationError as wrong:
            return Rejected(said_wrong(wrong, HandedOver, said))
        return self.save([*readings, event])
