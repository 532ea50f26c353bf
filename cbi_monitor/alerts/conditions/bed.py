"""The bed as conditions see it: the ledger's standing at an instant, and the last few hours of entries.

Everything is looked up backwards from now and only as far back as asked, so that a long stay costs no more than a
short one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, TypeVar

from cbi_monitor.alerts.readings import Reading, SetForPatient, Task
from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.ledger.account import Row, Standing
from cbi_monitor.model.events import (
    Away,
    Back,
    BagHung,
    CatheterPlaced,
    CountRestarted,
    EffluentGraded,
    Event,
    InflowSet,
    InflowStarted,
    InflowStopped,
    IrrigantRunIn,
    LabResult,
    LineOpened,
    SessionClosed,
    SessionOpened,
    Symptoms,
    Transferred,
    VitalSign,
)
from cbi_monitor.model.findings import Finding
from cbi_monitor.model.instants import utc

if TYPE_CHECKING:
    from cbi_monitor.alerts.plan import Plan
    from cbi_monitor.ledger.ledger import Ledger

E = TypeVar("E", bound=Event)
Sign = Literal["pain", "spasm", "restless", "abdomen", "outflow"]


class Outcome(NamedTuple):
    """What a condition function returns: readings, and when the answer would differ where there is no reading."""

    readings: tuple[Reading, ...] = ()
    changes_at: datetime | None = None


NOTHING = Outcome()


@dataclass(frozen=True, slots=True)
class Comfort:
    """What the patient last said and showed, field by field, each with the entry that said it."""

    pain: int | Literal["cannot_say"] | None = None
    pain_at: datetime | None = None
    spasm: bool = False
    restless: bool = False
    pulling: bool = False
    numb: bool = False
    flags_at: datetime | None = None
    abdomen: str | None = None
    abdomen_at: datetime | None = None
    at: datetime | None = None


class Bed:
    """One session at one instant. Made for one judgement and thrown away."""

    def __init__(self, ledger: Ledger, thresholds: Thresholds, now: datetime) -> None:
        self.ledger = ledger
        self.th = thresholds
        self.now = utc(now)
        self.ward = ledger.ward
        self.scale = ledger.scale
        self.standing: Standing = ledger.at(self.now)

    # --- entries ------------------------------------------------------------------------------------------------

    def of(self, kind: type[E]) -> Sequence[E]:
        """All effective entries of a kind, oldest first."""
        return self.ledger.of(kind)

    def last(self, kind: type[E]) -> E | None:
        """The newest entry of a kind."""
        found = self.of(kind)
        return found[-1] if found else None

    def last_at(self, kind: type[Event]) -> datetime | None:
        """When the newest entry of a kind happened."""
        found = self.of(kind)
        return found[-1].at if found else None

    def back(self, kind: type[E], since: datetime | None = None) -> Iterator[E]:
        """Entries of a kind, newest first, not before ``since``."""
        for event in reversed(self.of(kind)):
            if since is not None and event.at < since:
                return
            yield event

    def ago(self, *, hours: float = 0, minutes: float = 0) -> datetime:
        """The instant so long before now."""
        return self.now - timedelta(hours=hours, minutes=minutes)

    @cached_property
    def rows(self) -> Sequence[Row]:
        """All rows, oldest first."""
        return self.ledger.rows

    @cached_property
    def findings(self) -> Sequence[Finding]:
        """All findings, oldest first."""
        return self.ledger.findings

    def younger(self, span: timedelta) -> datetime:
        """The earliest instant that is less than ``span`` ago: what happened at it counts until exactly then + span."""
        return self.now - span + timedelta(microseconds=1)

    def rows_back(self) -> Iterator[Row]:
        """Closed rows, newest first, as far back as they follow each other without a gap in the balance."""
        for row in reversed(self.rows):
            if row.state == "closed":
                yield row
            elif row.state == "questioned":
                return

    @cached_property
    def last_row(self) -> Row | None:
        """The last closed row, unless a questioned one stands after it."""
        return next(self.rows_back(), None)

    @cached_property
    def visit(self) -> timedelta:
        """How long a visit may last."""
        return timedelta(minutes=self.ward.balance.visit_minutes)

    # --- session, order -----------------------------------------------------------------------------------------

    @cached_property
    def closed(self) -> bool:
        """The charting has ended, or another ward took over."""
        return bool(self.of(SessionClosed)) or bool(self.of(Transferred))

    @cached_property
    def begun(self) -> bool:
        """Irrigation was begun at some time."""
        kinds: tuple[type[Event], ...] = (BagHung, InflowSet, IrrigantRunIn, InflowStarted)
        return any(self.of(kind) for kind in kinds)

    @cached_property
    def arrival(self) -> datetime | None:
        """When the patient came to this bed: opening, return, or return from theatre."""
        found = [at for at in (self.last_at(SessionOpened), self.last_at(Back)) if at is not None]
        for restart in self.back(CountRestarted):
            if restart.reason == "return_from_theatre":
                found.append(restart.at)
                break
        return max(found) if found else None

    @cached_property
    def away(self) -> Away | None:
        """The entry by which the patient is away now, or None."""
        left = self.last(Away)
        if left is None:
            return None
        back = self.last_at(Back)
        return left if back is None or back < left.at else None

    def detail(self, name: str) -> Any:
        """A detail of the session as it stands: the newest that was said, or None."""
        return self.ledger.facts.details.get(name)

    def ordered(self, name: str) -> Any:
        """A field of the order in force, by its newest word, or None."""
        return self.ledger.facts.order.get(name)

    @cached_property
    def order_sets_limit(self) -> SetForPatient | None:
        """Who set the bladder limit for this patient, and when; None where the ward's limit holds."""
        order = self.ledger.facts.order_events.get("bladder_limit_ml")
        if self.standing.limit_from != "order" or order is None:
            return None
        return SetForPatient(order.by_whom, order.at)

    @cached_property
    def catheter(self) -> CatheterPlaced | None:
        """The catheter that is in, where its placing was charted."""
        facts = self.ledger.facts
        return facts.catheter if facts.catheter_in else None

    @cached_property
    def plan(self) -> Plan | None:
        """When the next look and the next check are due."""
        from cbi_monitor.alerts.plan import plan

        return plan(self)

    @cached_property
    def tasks(self) -> tuple[Task, ...]:
        """All marks of this bed's lane."""
        from cbi_monitor.alerts.plan import tasks

        return tasks(self)

    @cached_property
    def inflow_on_since(self) -> datetime | None:
        """When the irrigation was last started, opened or hung; None where nothing says."""
        kinds: tuple[type[Event], ...] = (InflowStarted, LineOpened, InflowSet, BagHung)
        found = [utc(at) for at in (self.last_at(kind) for kind in kinds) if at is not None]
        stopped = self.last_at(InflowStopped)
        if stopped is not None:
            found = [at for at in found if at >= stopped]
        return min(found) if found else None

    # --- colour -------------------------------------------------------------------------------------------------

    @cached_property
    def grade(self) -> EffluentGraded | None:
        """The newest drainage colour."""
        return self.last(EffluentGraded)

    @cached_property
    def red(self) -> bool:
        """The newest colour is red or darker."""
        return self.grade is not None and self.scale.is_red(self.grade.grade)

    @cached_property
    def coloured(self) -> bool:
        """The newest colour is pink or darker."""
        return self.grade is not None and self.scale.is_coloured(self.grade.grade)

    @cached_property
    def clots_now(self) -> str | None:
        """What the newest entry that names clots says of them."""
        for event in self.back(EffluentGraded):
            if event.clots is not None:
                return event.clots
        return None

    def rate_at(self, at: datetime) -> float | None:
        """The irrigation in mL/h about an instant: by the row around it, else as set; None where neither is known."""
        for row in reversed(self.rows):
            if row.end < at - self.visit:
                break
            if row.start < at and row.irrigant_in_ml is not None and row.state != "questioned":
                span = (row.end - row.start).total_seconds() / 3600.0
                if span > 0:
                    return float(row.irrigant_in_ml / span)
        for event in reversed(self.of(InflowSet)):
            if event.at <= at:
                if event.ml_per_h is not None:
                    return event.ml_per_h
                if event.drops_per_min is not None and event.drops_per_ml is not None:
                    return float(event.drops_per_min * 60.0 / event.drops_per_ml)
                return None
        return None

    # --- the patient --------------------------------------------------------------------------------------------

    @cached_property
    def comfort(self) -> Comfort:
        """What the patient last said and showed within 12 h. A flag not said beside a pain figure counts as absent."""
        pain: int | Literal["cannot_say"] | None = None
        pain_at = flags_at = abdomen_at = latest = None
        spasm = restless = pulling = numb = False
        abdomen: str | None = None
        for event in self.back(Symptoms, self.ago(hours=12)):
            if latest is None:
                latest = event.at
            if abdomen_at is None and event.abdomen is not None:
                abdomen, abdomen_at = event.abdomen, event.at
            if flags_at is None:
                said = (event.spasm, event.restless, event.pulling)
                if event.pain is not None or any(flag is not None for flag in said):
                    spasm, restless, pulling = (bool(flag) for flag in said)
                    flags_at = event.at
            if pain_at is None and event.pain is not None:
                pain, pain_at, numb = event.pain, event.at, bool(event.numb_block)
            if pain_at is not None and flags_at is not None and abdomen_at is not None:
                break
        return Comfort(pain, pain_at, spasm, restless, pulling, numb, flags_at, abdomen, abdomen_at, latest)

    def signs(self, pain_from: int, count_for_minutes: float) -> dict[Sign, datetime]:
        """Signs of a full or blocked bladder that count now, each with the instant until which it counts."""
        span = timedelta(minutes=count_for_minutes)
        comfort, seen = self.comfort, self.standing.seen
        found: dict[Sign, datetime] = {}

        def note(sign: Sign, at: datetime | None) -> None:
            if at is not None and at + span > self.now:
                found[sign] = at + span

        if isinstance(comfort.pain, int) and comfort.pain >= pain_from:
            note("pain", comfort.pain_at)
        if comfort.spasm:
            note("spasm", comfort.flags_at)
        if comfort.restless or comfort.pulling:
            note("restless", comfort.flags_at)
        if comfort.abdomen in ("full", "hard"):
            note("abdomen", comfort.abdomen_at)
        if seen is not None and seen.how in ("slow", "drops_only", "none"):
            note("outflow", seen.at)
        return found

    def vital(self, name: str, minutes: float) -> VitalSign | None:
        """The newest vital sign of that name that is less than so many minutes old."""
        for event in self.back(VitalSign, self.younger(timedelta(minutes=minutes))):
            if event.name.casefold() == name:
                return event
        return None

    def labs(self, *names: str) -> Iterator[LabResult]:
        """Laboratory values of any of these names, newest first."""
        return (event for event in self.back(LabResult) if event.name.casefold() in names)

    # --- outflow ------------------------------------------------------------------------------------------------

    def outflow_fell(self, part: float) -> bool:
        """Outflow is less than before.

        Seen slow or worse at the last look; or the last row fell by ``part``, beyond its doubt (2 u), while the
        irrigation did not fall with it.
        """
        seen = self.standing.seen
        if seen is not None and seen.how in ("slow", "drops_only", "none"):
            return True
        rows = self.rows_back()
        last, before = next(rows, None), next(rows, None)
        if last is None or before is None or last.start != before.end:
            return False
        if last.drained_ml is None or before.drained_ml is None or last.net_u_ml is None:
            return False
        span, span_before = last.end - last.start, before.end - before.start
        if not span or not span_before:
            return False
        share = span / span_before
        expected = before.drained_ml * share
        if expected - last.drained_ml <= max(part * expected, 2 * last.net_u_ml):
            return False
        inflow, inflow_before = last.irrigant_in_ml, before.irrigant_in_ml
        return (
            inflow is not None and inflow_before is not None and inflow > (1 - part) * inflow_before * share
        )


def earliest(*instants: datetime | None) -> datetime | None:
    """The first of those that are known."""
    known = [at for at in instants if at is not None]
    return min(known) if known else None


def minutes(amount: float) -> timedelta:
    """A span of so many minutes."""
    return timedelta(minutes=amount)
