"""The ledger of one session: folds entries in any order of arrival, tells rows, findings and how the bed stands.

Folding all entries equals folding a prefix and then the rest. An entry at the end costs the same however long the chart
is; a late entry or a correction resumes from the nearest checkpoint before it.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TypeVar

from cbi_monitor.ledger.account import Row, Standing, UrineWindow
from cbi_monitor.ledger.carry import Carry, Visit
from cbi_monitor.ledger.closing import close_visit, pending_row
from cbi_monitor.ledger.facts import SessionFacts
from cbi_monitor.ledger.inflow import lay_on, note_change
from cbi_monitor.ledger.measure import Measures
from cbi_monitor.ledger.overlay import Entry, Overlay
from cbi_monitor.ledger.points import Point
from cbi_monitor.ledger.sights import discomfort, is_comfortable_steady, relieves
from cbi_monitor.ledger.spans import spans
from cbi_monitor.ledger.standing import stand
from cbi_monitor.ledger.stock import Stock
from cbi_monitor.ledger.track import Scan, Track
from cbi_monitor.ledger.urine import window
from cbi_monitor.model import events as ev
from cbi_monitor.model.events import Event
from cbi_monitor.model.findings import Finding
from cbi_monitor.model.instants import minutes, utc
from cbi_monitor.model.volumes import Range
from cbi_monitor.model.ward import EffluentScale, WardRules

E = TypeVar("E", bound=Event)

CHECKPOINT_EVERY = 64
_FLOW_KINDS = (
    ev.Washout,
    ev.Leaked,
    ev.Voided,
    ev.UrineOtherwise,
    ev.FluidTaken,
    ev.FluidLost,
    ev.IrrigantLost,
)
_INFLOW_KINDS = (
    ev.LineOpened, ev.LineClamped, ev.InflowSet, ev.InflowStopped, ev.InflowStarted, ev.Away, ev.CatheterRemoved,
    ev.DrainageClamped, ev.DrainageOpened,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Checkpoint:
    place: int
    carry: Carry
    lengths: tuple[int, ...]
    by_kind: dict[type[Event], int]


@dataclass(slots=True)
class _Told:
    """What grows with the chart and is cut back when it is folded again."""

    points: list[Point] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    row_findings: list[Finding] = field(default_factory=list)
    toggles: list[tuple[datetime, bool]] = field(default_factory=list)

    def lengths(self) -> tuple[int, ...]:
        return len(self.points), len(self.rows), len(self.row_findings), len(self.toggles)

    def cut(self, lengths: tuple[int, ...]) -> None:
        points, rows, findings, toggles = lengths
        del self.points[points:], self.rows[rows:], self.row_findings[findings:], self.toggles[toggles:]

    def copy(self) -> _Told:
        return _Told(list(self.points), list(self.rows), list(self.row_findings), list(self.toggles))


class Ledger:
    """See the module. Volumes in mL, rates in mL/h, times aware."""

    def __init__(self, session: str, ward: WardRules, scale: EffluentScale) -> None:
        self.session = session
        self.ward = ward
        self.scale = scale
        self._measures = Measures.of(ward)
        self._overlay = Overlay()
        self._told = _Told()
        self._carry = Carry(Stock(self._measures), Track(self._measures))
        self._done = 0
        self._by_kind: dict[type[Event], list[Event]] = {}
        self._checkpoints: list[_Checkpoint] = []
        self._mark(0)

    # --- folding ----------------------------------------------------------------------------------------------

    def fold(self, event: Event) -> None:
        """Take one entry in, whatever its place in time. Raises ValueError for an entry of another session."""
        if event.session != self.session:
            raise ValueError(f"entry {event.id} belongs to session {event.session}, not {self.session}")
        since = self._overlay.take(event).since
        if since is None:
            return
        place = bisect_left(self._overlay.keys, since)
        if place < self._done:
            self._rewind(place)
        self._catch_up()

    def fold_all(self, events: Iterable[Event]) -> None:
        """Take many entries in; the chart is folded once."""
        first: int | None = None
        for event in events:
            if event.session != self.session:
                raise ValueError(f"entry {event.id} belongs to session {event.session}, not {self.session}")
            since = self._overlay.take(event).since
            if since is not None:
                place = bisect_left(self._overlay.keys, since)
                first = place if first is None else min(first, place)
        if first is None:
            return
        if first < self._done:
            self._rewind(first)
        self._catch_up()

    def fork(self) -> Ledger:
        """An independent copy for "if this is right"; events, rows and points are shared, they never change."""
        other = Ledger(self.session, self.ward, self.scale)
        other._adopt(self)
        return other

    def _adopt(self, other: Ledger) -> None:
        self._overlay, self._told, self._carry = (
            other._overlay.copy(),
            other._told.copy(),
            other._carry.copy(),
        )
        self._done, self._checkpoints = other._done, list(other._checkpoints)
        self._by_kind = {kind: list(found) for kind, found in other._by_kind.items()}

    def _mark(self, place: int) -> None:
        self._checkpoints.append(
            _Checkpoint(
                place, self._carry.copy(), self._told.lengths(), {k: len(v) for k, v in self._by_kind.items()}
            )
        )

    def _rewind(self, place: int) -> None:
        while self._checkpoints[-1].place > place:
            self._checkpoints.pop()
        back = self._checkpoints[-1]
        self._carry = back.carry.copy()
        self._told.cut(back.lengths)
        for kind, found in self._by_kind.items():
            del found[back.by_kind.get(kind, 0) :]
        self._done = back.place

    def _catch_up(self) -> None:
        events = self._overlay.events
        while self._done < len(events):
            if self._done - self._checkpoints[-1].place >= CHECKPOINT_EVERY:
                self._mark(self._done)
            event = events[self._done]
            self._done += 1
            self._step(event)
            self._by_kind.setdefault(type(event), []).append(event)

    def _step(self, event: Event) -> None:
        carry, stock = self._carry, self._carry.stock
        answers = self._overlay.answers_to(event.id)
        was_on = stock.inflow_on
        stock.ran_until(event.at)
        if event.recorded is not None and event.recorded < event.at:
            stock.find(
                "recorded_before",
                event,
                answers,
                asks=False,
                minutes=round(minutes(event.at - event.recorded)),
            )
        reading = stock.is_reading(event)
        if reading and not self._joins(event):
            self._open_visit(event)
        visit = carry.visit
        counted = self._apply(event)
        if answers:
            stock.unexplained(event, answers)
        carry.facts = carry.facts.after(event)
        if not isinstance(event, _INFLOW_KINDS):
            note_change(stock, was_on, event.at)
        if stock.inflow_on != was_on:
            self._told.toggles.append((event.at, stock.inflow_on))
        if reading and counted and visit is not None:
            visit.last_at = event.at
            visit.counted = True
            if isinstance(event, (ev.BagHung, ev.BagRead, ev.BagDown, ev.IrrigantRunIn)):
                visit.bag_event = event.id
                if isinstance(event, (ev.BagHung, ev.BagDown)):
                    visit.changed_line = event.line
            else:
                visit.drainage_event = event.id
            self._close()
        elif (
            visit is not None
            and visit.counted
            and not visit.ended
            and event.at <= visit.last_at
            and isinstance(event, _FLOW_KINDS)
        ):
            self._close()
        if isinstance(event, ev.CountRestarted):
            carry.running_pending = True
            self._anew(event.at, self._told_bladder(event))
        elif isinstance(event, ev.Washout) and event.bladder_emptied:
            self._anew(event.at, None)

    def _joins(self, event: Event) -> bool:
        carry, visit = self._carry, self._carry.visit
        if visit is None or visit.ended:
            return False
        if carry.stock.direct and visit.direct:
            return event.at == visit.start
        if event.at - visit.start <= timedelta(minutes=self.ward.balance.visit_minutes):
            return True
        if event.check is not None and event.check == visit.check:
            carry.stock.find("check_split", event, (), asks=False, since=visit.start)
        return False

    def _open_visit(self, event: Event) -> None:
        carry, stock = self._carry, self._carry.stock
        done = carry.visit
        if done is not None and done.closed:
            stock.remarks = stock.remarks[done.used_remarks :]
            stock.broken_in = stock.broken_in[done.used_in :]
            stock.broken_out = stock.broken_out[done.used_out :]
            stock.loose_ml = 0.0
            if carry.base_at is not None and carry.base_at <= done.last_at:
                carry.base_pending, carry.base_at, carry.base_given, carry.running_pending = (
                    None,
                    None,
                    None,
                    False,
                )
        number = stock.visit + 1
        stock.begin_visit(number)
        carry.visit = Visit(
            number,
            event.at,
            event.check,
            event.at,
            stock.direct,
            carry.track.copy(),
            self._told.lengths()[:3],
        )

    def _close(self) -> None:
        carry, visit = self._carry, self._carry.visit
        assert visit is not None
        points, rows, findings = visit.lengths
        told = self._told
        del told.points[points:], told.rows[rows:], told.row_findings[findings:]
        carry.track = visit.track_before.copy()
        close_visit(self.ward, self._measures, carry, visit, told.points, told.rows, told.row_findings)

    def _apply(self, event: Event) -> bool:
        """Lay one event on the stock. True where it counts as a reading."""
        counted = self._apply_volume(event)
        self._apply_sight(event)
        return counted

    def _apply_volume(self, event: Event) -> bool:
        carry, stock = self._carry, self._carry.stock
        answers = self._overlay.answers_to(event.id)
        if isinstance(event, (ev.BagRead, ev.BagDown)):
            bag = stock.lines[event.line].bag if event.line in stock.lines else None
            between = bag is not None and bag.level_at < event.at
            lay = stock.bag_read if isinstance(event, ev.BagRead) else stock.bag_down
            return lay(event, answers, between)  # type: ignore[arg-type]
        if isinstance(event, ev.BagHung):
            stock.bag_hung(event, answers)
        elif isinstance(event, ev.DrainageBagPlaced):
            stock.placed(event, answers)
        elif isinstance(event, ev.DrainageRead):
            return stock.drainage_read(event, answers)
        elif isinstance(event, ev.DrainageEmptied):
            return stock.emptied(event, answers)
        elif isinstance(event, ev.IrrigantRunIn):
            stock.run_in(event, answers)
        elif isinstance(event, ev.IrrigantLost):
            stock.lost(event)
        elif isinstance(event, ev.Washout):
            stock.washout(event)
        elif isinstance(event, (ev.Leaked, ev.Voided, ev.UrineOtherwise, ev.FluidTaken, ev.FluidLost)):
            stock.flowed(event)
        elif isinstance(event, _INFLOW_KINDS):
            lay_on(stock, event)
        elif isinstance(event, ev.BladderScanned):
            carry.scan = Scan(event.at, event.volume_ml, self._scan_may_lower(event.at), carry.track.height)
        elif isinstance(event, ev.EffluentGraded) and self.scale.step(event.grade) is None:
            stock.find("grade_not_known", event, answers, asks=False, grade=event.grade)
        return True

    def _apply_sight(self, event: Event) -> None:
        """What looks, symptoms and stops say of proof, relief and quiet."""
        carry, pain = self._carry, self.ward.bladder.discomfort_pain
        if isinstance(event, ev.CatheterPlaced) or relieves(event, self._by_kind):
            carry.relief_until = event.at + timedelta(minutes=self.ward.urine.after_relief_minutes)
        if isinstance(event, ev.OutflowSeen):
            if not event.running or event.how in ("slow", "drops_only"):
                carry.disturbed_at = event.at
            elif is_comfortable_steady(event, self._by_kind, pain):
                carry.steady_at = event.at
        if isinstance(event, (ev.InflowStopped, ev.Leaked, ev.Away)):
            carry.disturbed_at = event.at
        if isinstance(event, ev.Symptoms) and carry.steady_at == event.at and discomfort(event, pain):
            carry.steady_at = None

    def _anew(self, at: datetime, base: Range | None) -> None:
        carry = self._carry
        last = carry.track.point
        if last is not None and last.at == at:
            carry.track.restart(last, base)
            carry.base_pending, carry.base_at = None, None
            if carry.running_pending:
                carry.track.running_from, carry.running_pending = last, False
        else:
            bladder = self.ward.bladder
            carry.base_pending = base or Range(0.0, bladder.residue_ml, bladder.residue_high_ml)
            carry.base_at, carry.base_given = at, base
        if carry.visit is not None:
            carry.visit.ended = True

    def _told_bladder(self, event: ev.CountRestarted) -> Range | None:
        if event.bladder_ml is None:
            return None
        u = 2 * self.ward.bladder.scan_u_ml
        return Range(max(0.0, event.bladder_ml - u), event.bladder_ml, event.bladder_ml + u)

    def _scan_may_lower(self, at: datetime) -> bool:
        grades = self._by_kind.get(ev.EffluentGraded, [])
        if not grades or not isinstance(grades[-1], ev.EffluentGraded) or self.scale.is_red(grades[-1].grade):
            return False
        border = at - timedelta(hours=self.ward.bladder.clot_free_hours)
        for kind in (ev.EffluentGraded, ev.Washout, ev.Voided):
            for found in reversed(self._by_kind.get(kind, [])):
                if found.at < border:
                    break
                if getattr(found, "clots", None) not in (None, "none"):
                    return False
        return True

    # --- what it tells ----------------------------------------------------------------------------------------

    @property
    def rows(self) -> Sequence[Row]:
        """Closed and questioned rows in order, at most one open row last."""
        last = pending_row(self._carry, self._told.points)
        return [*self._told.rows, last] if last is not None else self._told.rows

    @property
    def points(self) -> Sequence[Point]:
        """The closes, in order."""
        return self._told.points

    @property
    def findings(self) -> Sequence[Finding]:
        """All findings, by the time they are about."""
        found = [*self._carry.stock.findings, *self._told.row_findings]
        if self._carry.facts.opened_at is None and self._overlay.events:
            first = self._overlay.events[0]
            found.append(Finding(f"not_opened:{first.id}", "not_opened", first.at, (first.id,)))
        return sorted(found, key=lambda one: (one.at, one.id))

    @property
    def facts(self) -> SessionFacts:
        """Details, order and catheter as they stand."""
        return self._carry.facts

    @property
    def entries(self) -> Sequence[Entry]:
        """Every entry with what was said of it later, by the order of today's chart."""
        return self._overlay.entries()

    def entry(self, event_id: str) -> Entry | None:
        """One entry by its id, or None."""
        return self._overlay.entry(event_id)

    @property
    def last_at(self) -> datetime | None:
        """The instant of the last effective event."""
        return self._overlay.events[-1].at if self._overlay.events else None

    @property
    def events(self) -> Sequence[Event]:
        """The effective events, in total order."""
        return self._overlay.events

    def of(self, kind: type[E]) -> Sequence[E]:
        """Effective events of one kind, in effective order."""
        return self._by_kind.get(kind, [])  # type: ignore[return-value]

    def latest(self, kind: type[E]) -> E | None:
        """The last effective event of one kind."""
        found = self.of(kind)
        return found[-1] if found else None

    def at(self, now: datetime) -> Standing:
        """How the bed stands at ``now``, never before the last event folded. Raises ValueError for a naive time."""
        return stand(self, self._carry, self._told.points, self._by_kind, utc(now))

    def urine(self, hours: float) -> UrineWindow:
        """Urine made over the shortest run of closed rows that ends at the last close and lasts at least ``hours``."""
        return window(self.ward, self._measures, self._carry, self._told.points, self._told.rows, hours)

    def spans(self, borders: Sequence[datetime]) -> list[Row]:
        """One row between each two borders (hours, shifts, days); shares are prorated over running time."""
        return spans(
            self.ward, self._measures, self._told.points, self._told.rows, self._told.toggles, borders,
            self._carry.facts,
        )  # fmt: skip


__all__ = ["Ledger"]
