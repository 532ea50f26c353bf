"""The stock: every vessel and every sum after the events so far. Advanced by one event at a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from cbi_monitor.ledger.measure import BAG_MARKS, DRAINAGE_MARKS, JUG, Measured, Measures
from cbi_monitor.ledger.points import Sums
from cbi_monitor.ledger.vessels import Bag, DrainageState, LineState
from cbi_monitor.model import events as ev
from cbi_monitor.model.events import Answered, Event
from cbi_monitor.model.findings import Fact, Finding, Remark
from cbi_monitor.model.instants import hours
from cbi_monitor.model.volumes import Range

BEYOND = 2.0
"""A reading breaks conservation beyond this many standard uncertainties (the 95 % of JCGM 100:2008, 6.3.3)."""

VOLUME_KINDS = (ev.IrrigantRunIn, ev.DrainageEmptied, ev.Voided, ev.UrineOtherwise, ev.Leaked, ev.Washout)
LEVEL_KINDS = (
    ev.BagHung, ev.BagRead, ev.BagDown, ev.DrainageRead, ev.DrainageEmptied, ev.DrainageBagPlaced,
)  # fmt: skip


@dataclass(slots=True)
class Stock:
    """See the module. Copied before a visit, so that a visit can be opened again."""

    measures: Measures
    lines: dict[str, LineState] = field(default_factory=dict)
    drainage: DrainageState = field(default_factory=DrainageState)
    sums: Sums = field(default_factory=Sums)
    settled: float = 0.0
    labels_ml: float = 0.0
    by_instrument: tuple[float, ...] = (0.0,) * 5
    unmeasured_out: int = 0
    unmeasured_in: int = 0
    loose_ml: float = 0.0
    loose_since_ml: float = 0.0
    next_key: int = 1
    visit: int = 0
    any_bag_read: bool = False
    reopen: tuple[str, ...] = ()
    direct_on: bool = False
    direct_set: Range | None = None
    charted: tuple[tuple[datetime, float], ...] = ()
    off_since: datetime | None = None
    off_reason: str = ""
    broken_in: tuple[str, ...] = ()
    broken_out: tuple[str, ...] = ()
    remarks: tuple[Remark, ...] = ()
    findings: list[Finding] = field(default_factory=list)

    def copy(self) -> Stock:
        """An independent copy; bags and lines are immutable and shared."""
        return replace(self, lines=dict(self.lines), findings=list(self.findings))

    # --- what stands ------------------------------------------------------------------------------------------

    @property
    def occupied(self) -> list[LineState]:
        """Lines with a bag, by name."""
        return [line for _, line in sorted(self.lines.items()) if line.bag is not None]

    @property
    def irrigant_direct(self) -> bool:
        """No bag hangs: the irrigant side is charted by volumes."""
        return all(line.bag is None for line in self.lines.values())

    @property
    def direct(self) -> bool:
        """Both sides are charted by volumes."""
        return self.irrigant_direct and not self.drainage.by_levels

    @property
    def inflow_on(self) -> bool:
        """Irrigant runs in, as far as charted."""
        return self.direct_on if self.irrigant_direct else any(line.running for line in self.lines.values())

    def is_reading(self, event: Event) -> bool:
        """Whether an event tells a level (or, in a chart by volumes, a volume)."""
        if isinstance(event, LEVEL_KINDS):
            return True
        return isinstance(event, VOLUME_KINDS) and self.direct

    # --- small steps ------------------------------------------------------------------------------------------

    def _key(self) -> int:
        self.next_key += 1
        return self.next_key

    def _settle(self, read: Measured, share: float) -> None:
        """A reading that stays in the sums for good, with its share in the net (+1 out, −1 in)."""
        self.settled += read.variance
        parts = list(self.by_instrument)
        parts[read.instrument] += share * read.ml
        self.by_instrument = tuple(parts)

    def find(
        self, kind: str, event: Event, answers: Sequence[Answered], *, asks: bool, **facts: Fact
    ) -> Finding:
        """Note a finding on an entry, with the answer that was given to it, if any."""
        name = f"{kind}:{event.id}"
        said = [one for one in answers if one.finding == name]
        answer = said[-1].answer if said else None
        if said and said[-1].volume_ml is not None:
            facts["answered_ml"] = said[-1].volume_ml
        found = Finding(
            name, kind, event.at, (event.id,), facts, asks and answer is None, answer, event.source
        )
        self.findings.append(found)
        return found

    @staticmethod
    def _given(found: Finding) -> float | None:
        given = found.facts.get("answered_ml")
        return float(given) if found.answer == "not_recorded" and isinstance(given, (int, float)) else None

    def _guess(self, ml: float) -> None:
        self.settled += (self.measures.ward.balance.about_relative * ml) ** 2

    def touch(self, name: str, at: datetime) -> LineState:
        """The line of that name, its rate told anew from ``at`` on."""
        line = self.lines.get(name) or LineState(name)
        line = line.changed(at, self.measures.ward.rates)
        self.lines[name] = line
        return line

    def _ran(self, at: datetime) -> None:
        """Time passed up to ``at``: levels of running vessels no longer stand."""
        for name, line in self.lines.items():
            bag = line.bag
            if bag is not None and bag.known and line.running and bag.level_at < at:
                self.lines[name] = replace(line, bag=replace(bag, known=False))

    # --- irrigant ---------------------------------------------------------------------------------------------

    def bag_hung(self, event: ev.BagHung, answers: Sequence[Answered]) -> None:
        """A bag goes up; where one hangs still, that one goes down as run dry."""
        line = self.lines.get(event.line) or LineState(event.line)
        if line.bag is not None:
            rest = Measured(0.0, self.measures.ward.balance.dry_remainder_ml**2, BAG_MARKS)
            self.remarks += (Remark("taken_down_as_dry", (event.id,), {"line": event.line}),)
            self._take_down(line, rest, event.at, as_dry=True)
            line = self.lines[event.line]
        measured: Measured | None = None
        if event.measured_ml is not None:
            measured = self.measures.read(event.measured_ml, BAG_MARKS)
        elif event.measured_g is not None:
            measured = self.measures.weighed_bag(event.measured_g, event.label_ml, event.fluid)
            if measured is None:
                self.find("tare_not_known", event, answers, asks=False, size_ml=event.label_ml)
        if measured is None:
            hung = event.label_ml
            self.labels_ml += event.label_ml
            level = Measured(hung - (event.primed_ml or 0.0), 0.0, BAG_MARKS)
        else:
            hung = measured.ml
            self._settle(measured, -1.0)
            level = Measured(hung - (event.primed_ml or 0.0), 0.0, measured.instrument)
        start = max(0.0, hung - (event.primed_ml or 0.0))
        level = replace(level, ml=start)
        fill = self.measures.ward.overfill
        spread = 0.0 if measured else ((fill.high - fill.low) * event.label_ml) ** 2 / 12
        bag = Bag(
            label_ml=event.label_ml, fluid=event.fluid, hung_at=event.at, start_ml=start, level=level,
            level_at=event.at, key=self._key(), visit=self.visit, known=True, before_ml=start,
            before_variance=measured.variance if measured else spread, fresh=True, by_label=measured is None,
            start_variance=measured.variance if measured else 0.0,
        )  # fmt: skip
        open_ = line.open if event.clamped is None else not event.clamped
        line = replace(line, bag=bag, open=open_, readings=(), ran_from=None)
        self.lines[event.line] = line.with_reading(event.at, start, spread)

    def _take_down(self, line: LineState, rest: Measured, at: datetime, *, as_dry: bool) -> None:
        bag = line.bag
        if bag is None:
            return
        gone = bag.start_ml - rest.ml
        self.sums = replace(self.sums, irrigant_in=self.sums.irrigant_in + gone)
        self._settle(rest, 1.0)
        if not as_dry:
            line = line.with_reading(at, rest.ml, rest.variance)
        rate = line.measured_rate(self.measures.ward.rates) or line.last_rate
        span = hours(at - bag.hung_at)
        turnover = line.turnover
        if span > 0.25 and gone > 0:
            mean = gone / span
            turnover = Range(0.5 * mean, mean, 1.5 * mean)
        self.lines[line.name] = replace(line, bag=None, readings=(), last_rate=rate, turnover=turnover)

    def _bag_measured(self, event: ev.BagRead | ev.BagDown, bag: Bag) -> Measured | None:
        if event.left_ml is not None:
            return self.measures.read(event.left_ml, BAG_MARKS, about=event.about)
        if event.left_g is not None:
            return self.measures.weighed_bag(event.left_g, bag.label_ml, bag.fluid, about=event.about)
        return None

    def bag_read(self, event: ev.BagRead, answers: Sequence[Answered], between: bool) -> bool:
        """A level of the hanging bag. True where it counts as a reading."""
        line = self.lines.get(event.line)
        if line is None or line.bag is None:
            self.find("line_without_bag", event, answers, asks=False, line=event.line)
            return False
        read = self._bag_measured(event, line.bag)
        if read is None:
            if event.left_g is not None:
                self.find("tare_not_known", event, answers, asks=False, size_ml=line.bag.label_ml)
            return False
        if not self._test_level(line, read, event, answers, between):
            return False
        self.any_bag_read = True
        line = self.lines[event.line]
        bag = line.bag
        assert bag is not None
        self.lines[event.line] = replace(
            line.with_reading(event.at, read.ml, read.variance),
            bag=replace(
                bag, level=read, level_at=event.at, key=self._key(), visit=self.visit, known=True,
                fresh=False, estimated=False,
            ),
        )  # fmt: skip
        return True

    def bag_down(self, event: ev.BagDown, answers: Sequence[Answered], between: bool) -> bool:
        """A bag goes down with what is left in it."""
        line = self.lines.get(event.line)
        if line is None or line.bag is None:
            self.find("line_without_bag", event, answers, asks=False, line=event.line)
            return False
        if event.found_empty:
            rest: Measured | None = Measured(
                event.left_ml or 0.0, self.measures.ward.balance.dry_remainder_ml**2, BAG_MARKS
            )
            self.remarks += (Remark("found_empty", (event.id,), {"line": event.line}),)
        else:
            rest = self._bag_measured(event, line.bag)
        if rest is None:
            found = self.find("rest_not_measured", event, answers, asks=True, line=event.line)
            given = self._given(found)
            left = line.bag.level.ml if given is None else given
            if given is None:
                self.broken_in += (found.id,)
            else:
                self._guess(given)
            self._take_down(line, Measured(left, 0.0, BAG_MARKS), event.at, as_dry=True)
            return True
        if not self._test_level(line, rest, event, answers, between):
            rest = line.bag.level
        self._take_down(self.lines[event.line], rest, event.at, as_dry=bool(event.found_empty))
        return True

    def _test_level(
        self, line: LineState, read: Measured, event: ev.BagRead | ev.BagDown, answers: Sequence[Answered],
        between: bool,
    ) -> bool:  # fmt: skip
        """Whether the level agrees with what hung there. False: answered as wrong, not to be counted."""
        bag = line.bag
        assert bag is not None
        rise = read.ml - bag.before_ml
        doubt = BEYOND * (read.variance + bag.before_variance) ** 0.5
        over = self.measures.ward.balance.over_label * bag.label_ml
        passes = max(doubt, over) if bag.fresh or bag.before_ml >= bag.label_ml else doubt
        if rise > passes:
            fell = sum(
                max(0.0, other.bag.before_ml - other.bag.level.ml)
                for other in self.occupied
                if other.name != line.name and other.bag is not None and other.running
            )
            if fell >= rise - doubt and line.running:
                self.remarks += (Remark("cross_flow", (event.id,), {"line": line.name, "ml": round(rise)}),)
                return True
            found = self.find(
                "level_rose", event, answers, asks=True, line=line.name, from_ml=round(bag.before_ml),
                to_ml=round(read.ml), since=bag.level_at,
            )  # fmt: skip
            if found.answer == "wrong":
                return False
            given = self._given(found)
            if given is not None:
                self._guess(given)
                self.labels_ml += given
                self.lines[line.name] = replace(line, bag=replace(bag, start_ml=bag.start_ml + given))
            else:
                self.broken_in += (found.id,)
                flow = bag.before_ml - read.ml
                self.lines[line.name] = replace(line, bag=replace(bag, start_ml=bag.start_ml - flow))
        elif not line.running and bag.known and between and -rise > doubt:
            self.find(
                "ran_while_clamped", event, answers, asks=False, line=line.name, ml=round(-rise),
                since=bag.level_at,
            )  # fmt: skip
        if read.ml > bag.label_ml * (1 + self.measures.ward.balance.over_label):
            self.find(
                "above_bag", event, answers, asks=False, line=line.name, ml=round(read.ml),
                label_ml=round(bag.label_ml),
            )  # fmt: skip
        return True

    def run_in(self, event: ev.IrrigantRunIn, answers: Sequence[Answered]) -> None:
        """A charted volume that ran in; not added while a bag hangs there (its levels tell it)."""
        hangs = self.lines.get(event.line) if event.line else None
        if (event.line is None and not self.irrigant_direct) or (hangs is not None and hangs.bag is not None):
            self.find(
                "run_in_while_bag_hangs", event, answers, asks=False, line=event.line or "",
                ml=None if event.volume is None else round(event.volume),
            )  # fmt: skip
            return
        self.direct_on = True
        if event.volume is None:
            found = self.find("volume_not_measured", event, answers, asks=True, entry=event.event)
            given = self._given(found)
            if given is None:
                self.broken_in += (found.id,)
                return
            volume, variance = given, (self.measures.ward.balance.about_relative * given) ** 2
        else:
            read = self.measures.read(event.volume, BAG_MARKS, about=event.about)
            volume, variance = event.volume, read.variance
        self.labels_ml += volume
        self.settled += variance
        parts = list(self.by_instrument)
        parts[BAG_MARKS] -= volume
        self.by_instrument = tuple(parts)
        self.sums = replace(self.sums, irrigant_in=self.sums.irrigant_in + volume)
        self.charted = (*self.charted, (event.at, volume))[-50:]
        if event.since is None:
            self.loose_ml = max(self.loose_ml, volume)

    def lost(self, event: ev.IrrigantLost) -> None:
        """Irrigant that never reached the bladder."""
        if event.volume is None:
            self.unmeasured_out += 1
            return
        read = self.measures.read(event.volume, JUG, about=event.about)
        self._settle(read, 1.0)
        self.sums = replace(self.sums, irrigant_in=self.sums.irrigant_in - event.volume)

    # --- drainage ---------------------------------------------------------------------------------------------

    def _out(self, ml: float) -> None:
        self.sums = replace(self.sums, drained=self.sums.drained + ml)

    def placed(self, event: ev.DrainageBagPlaced, answers: Sequence[Answered]) -> None:
        """A drainage bag goes on; what the old one held belongs to what drained before."""
        was = self.drainage
        if was.by_levels:
            old: Measured | None = None
            if event.old_contents_ml is not None:
                old = self.measures.read(event.old_contents_ml, DRAINAGE_MARKS)
            elif event.old_mass_g is not None:
                old = self.measures.weighed_drainage(event.old_mass_g, was.capacity_ml)
            elif was.known and was.visit == self.visit and was.level is not None:
                old = was.level
            if old is None:
                found = self.find("old_contents_not_known", event, answers, asks=True)
                given = self._given(found)
                if given is not None:
                    old = Measured(given, (self.measures.ward.balance.about_relative * given) ** 2, JUG)
                else:
                    self.broken_out += (found.id,)
            if old is not None:
                self._step_to(old, event, answers)
                self._settle(old, 1.0)
        new = event.contents_ml or 0.0
        level = self.measures.read(new, DRAINAGE_MARKS) if new else Measured(0.0, 0.0, DRAINAGE_MARKS)
        self.drainage = replace(
            was, by_levels=True, capacity_ml=event.capacity_ml, level=level, level_at=event.at, key=self._key(),
            visit=self.visit, known=True, before_ml=level.ml, before_variance=level.variance,
        )  # fmt: skip

    def _step_to(self, now: Measured, event: Event, answers: Sequence[Answered]) -> bool:
        """The contents went from what was known to ``now``: the difference drained. False: answered as wrong."""
        was = self.drainage
        if was.level is None:
            return True
        fall = was.level.ml - now.ml
        doubt = BEYOND * (was.level.variance + now.variance) ** 0.5
        if fall > max(doubt, 1.0):
            found = self.find(
                "contents_fell", event, answers, asks=True, from_ml=round(was.level.ml), to_ml=round(now.ml),
                since=was.level_at,
            )  # fmt: skip
            if found.answer == "wrong":
                return False
            given = self._given(found)
            if given is None:
                self.broken_out += (found.id,)
                return True
            self._guess(given)
            self._out(given - fall)
            return True
        self._out(-fall)
        return True

    def _drained(
        self, event: ev.DrainageRead | ev.DrainageEmptied, ml: float | None, instrument: int,
        answers: Sequence[Answered],
    ) -> Measured | None:  # fmt: skip
        """What was read or weighed at the drainage bag; None where it was not measured, or its tare is not known."""
        if ml is not None:
            return self.measures.read(ml, instrument, about=event.about)
        if event.mass_g is None:
            return None
        capacity = self.drainage.capacity_ml
        read = self.measures.weighed_drainage(event.mass_g, capacity, about=event.about)
        if read is None:
            self.find("tare_not_known", event, answers, asks=False, size_ml=capacity)
        return read

    def drainage_read(self, event: ev.DrainageRead, answers: Sequence[Answered]) -> bool:
        """A level of the drainage bag. True where it counts as a reading."""
        was = self.drainage
        read = self._drained(event, event.contents_ml, DRAINAGE_MARKS, answers)
        if read is None:
            return False
        if was.level is None:
            if was.ever_emptied or was.by_levels:
                self._out(read.ml)
            else:
                found = self.find("contents_at_start_not_known", event, answers, asks=True, ml=round(read.ml))
                given = self._given(found)
                if given is not None:
                    self._out(read.ml - given)
                else:
                    self.broken_out += (found.id,)
        elif was.visit == self.visit and was.known and was.level_at is not None:
            # Read twice in a visit: the later counts; conservation is tested against what stood before the visit.
            self._out(was.before_ml - was.level.ml)
            self.drainage = replace(
                was, level=Measured(was.before_ml, was.before_variance, was.level.instrument)
            )
            if not self._step_to(read, event, answers):
                self._out(was.level.ml - was.before_ml)
                self.drainage = was
                return False
        elif not self._step_to(read, event, answers):
            return False
        was = self.drainage
        if was.capacity_ml is not None and read.ml > was.capacity_ml:
            self.find(
                "above_capacity",
                event,
                answers,
                asks=False,
                ml=round(read.ml),
                capacity_ml=round(was.capacity_ml),
            )
        if event.found_full:
            self.remarks += (Remark("found_full", (event.id,)),)
        first = was.visit != self.visit
        self.drainage = replace(
            was, by_levels=True, level=read, level_at=event.at, key=self._key(), visit=self.visit, known=True,
            before_ml=(was.level.ml if was.level else read.ml) if first else was.before_ml,
            before_variance=(was.level.variance if was.level else read.variance) if first else was.before_variance,
        )  # fmt: skip
        return True

    def emptied(self, event: ev.DrainageEmptied, answers: Sequence[Answered]) -> bool:
        """The drainage bag was emptied: a level before (volume + left) and a level after (left)."""
        was = self.drainage
        read = self._drained(event, event.volume, JUG, answers)
        if read is not None and read.ml > self.measures.ward.balance.largest_emptying_ml:
            found = self.find("unlikely_emptying", event, answers, asks=True, ml=round(read.ml),
                               most_ml=round(self.measures.ward.balance.largest_emptying_ml))  # fmt: skip
            if found.answer == "wrong":
                read = None
        left = Measured(event.left_ml or 0.0, 0.0, DRAINAGE_MARKS)
        if event.left_ml:
            left = self.measures.read(event.left_ml, DRAINAGE_MARKS)
        counted = True
        if read is None:
            found = self.find("emptied_not_measured", event, answers, asks=True)
            given = self._given(found)
            if given is None:
                self.broken_out += (found.id,)
                counted = False
            else:
                read = Measured(given, (self.measures.ward.balance.about_relative * given) ** 2, JUG)
        if read is not None and counted:
            before = Measured(read.ml + left.ml, read.variance + left.variance, read.instrument)
            if was.by_levels and was.level is not None:
                if was.visit == self.visit and was.known:
                    # A level of the same visit is told better by the jug, unless the two cannot both be right.
                    fits = was.level.ml - before.ml <= BEYOND * (was.level.variance + before.variance) ** 0.5
                    if fits:
                        self._out(was.before_ml - was.level.ml)
                        self.drainage = replace(
                            was, level=Measured(was.before_ml, was.before_variance, was.level.instrument)
                        )
                counted = self._step_to(before, event, answers)
            else:
                self._out(before.ml if was.level is None else before.ml - was.level.ml)
            self._settle(read, 1.0)
        was = self.drainage
        if event.found_full:
            self.remarks += (Remark("found_full", (event.id,)),)
        self.drainage = replace(
            was, level=left, level_at=event.at, key=self._key(), visit=self.visit, known=True, ever_emptied=True,
            before_ml=left.ml, before_variance=left.variance,
        )  # fmt: skip
        return True

    # --- other flows ------------------------------------------------------------------------------------------

    def washout(self, event: ev.Washout) -> None:
        """By conservation like any flow; what came back into the drainage bag is told by that bag."""
        instilled = event.instilled
        if instilled is None:
            self.unmeasured_in += 1
        else:
            read = self.measures.poured(instilled, event.pushes or 1)
            if event.about:
                self._guess(instilled)
            self._settle(read, -1.0)
            self.sums = replace(self.sums, washed_in=self.sums.washed_in + instilled)
        if event.returned_ml is not None:
            self._settle(self.measures.read(event.returned_ml, JUG), 1.0)
            self.sums = replace(self.sums, washed_back=self.sums.washed_back + event.returned_ml)
        elif event.returned_to == "dish":
            self.unmeasured_out += 1

    def flowed(self, event: ev.Leaked | ev.Voided | ev.UrineOtherwise | ev.FluidTaken | ev.FluidLost) -> None:
        """Leaks, voids, urine by another way, and everything else that enters or leaves."""
        if isinstance(event, ev.Leaked) and event.mass_g is not None:
            read: Measured | None = self.measures.weighed_leak(event.mass_g, about=event.about)
        elif event.volume is not None:
            read = self.measures.read(event.volume, JUG, about=event.about)
        else:
            read = None
        if isinstance(event, (ev.FluidTaken, ev.FluidLost)):
            if read is not None:
                name = "other_in" if isinstance(event, ev.FluidTaken) else "other_out"
                self.sums = replace(self.sums, **{name: getattr(self.sums, name) + read.ml})
            return
        if read is None:
            self.unmeasured_out += 1
            return
        self._settle(read, 1.0)
        name = {ev.Leaked: "leaked", ev.Voided: "voided", ev.UrineOtherwise: "elsewhere"}[type(event)]
        self.sums = replace(self.sums, **{name: getattr(self.sums, name) + read.ml})

    def unexplained(self, event: Event, answers: Sequence[Answered]) -> None:
        """A missing or extra volume that was answered: an emptying or a bag that was never written down."""
        for one in answers:
            kind = one.finding.partition(":")[0]
            if kind not in ("volume_missing", "volume_extra"):
                continue
            volume = one.volume_ml if one.answer == "not_recorded" else None
            self.findings.append(
                Finding(one.finding, kind, event.at, (event.id,),
                        {"ml": None if volume is None else round(volume)}, False, one.answer)
            )  # fmt: skip
            if volume is None:
                continue
            self._guess(volume)
            if kind == "volume_missing":
                self._out(volume)
            else:
                self.labels_ml += volume
                self.sums = replace(self.sums, irrigant_in=self.sums.irrigant_in + volume)

    def ran_until(self, at: datetime) -> None:
        """Before an event at ``at``: running vessels' levels no longer stand."""
        self._ran(at)
        d = self.drainage
        if d.known and not d.clamped and d.level_at is not None and d.level_at < at:
            self.drainage = replace(d, known=False)

    def begin_visit(self, number: int) -> None:
        """A new visit begins: levels known so far are what conservation is tested against."""
        self.visit = number
        for name, line in self.lines.items():
            bag = line.bag
            if bag is not None:
                self.lines[name] = replace(
                    line, bag=replace(bag, before_ml=bag.level.ml, before_variance=max(bag.level.variance,
                                      bag.before_variance if bag.fresh else 0.0)),
                )  # fmt: skip
        d = self.drainage
        if d.level is not None:
            self.drainage = replace(d, before_ml=d.level.ml, before_variance=d.level.variance)
