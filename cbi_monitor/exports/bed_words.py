"""How a bed stands at an instant, in the short words that ward summary, handover and check sheets share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from cbi_monitor.exports.chart import AlertLine
from cbi_monitor.exports.curves import colour_words
from cbi_monitor.exports.figures import between, ml, range_ml
from cbi_monitor.exports.told import Teller, catheter_words, order_terms, word
from cbi_monitor.ledger.account import Line, Standing
from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.model import events as e
from cbi_monitor.model.volumes import TimeRange
from cbi_monitor.wording import say


@dataclass(frozen=True, slots=True)
class Bed:
    """One bed's ledger and how it stands at ``now``; ``alerts`` are those that stand (None: not asked)."""

    book: Ledger
    standing: Standing
    teller: Teller
    alerts: Sequence[AlertLine] | None = None
    next_due: datetime | None = None

    @property
    def now(self) -> datetime:
        """As of when everything is said."""
        return self.standing.now

    def near(self, at: datetime) -> str:
        """A time, with its date where it is far."""
        return self.teller.clock.near(at, self.now)

    @property
    def name(self) -> str:
        """The bed."""
        return self.book.facts.bed or say("report-not-charted")

    @property
    def reference(self) -> str:
        """The local reference."""
        return self.book.facts.patient or say("report-not-charted")

    @property
    def operation(self) -> str:
        """Operation and day since."""
        details = self.book.facts.details
        operation = details.get("operation") or say("report-not-charted")
        ended = details.get("operation_ended")
        if ended is None:
            return str(operation)
        clock = self.teller.clock
        day = (clock.local(self.now).date() - clock.local(ended).date()).days
        return say("report-operation-day", operation=operation, day=str(day)) if day >= 0 else str(operation)

    @property
    def colour(self) -> str:
        """The last colour with the rate it was seen at, clots, and when."""
        graded = self.book.latest(e.EffluentGraded)
        if graded is None:
            return say("report-not-charted")
        said = colour_words(self.book, self.teller, graded)
        if graded.clots is not None:
            none = graded.clots == "none"
            said += ", " + (
                say("report-clots-none") if none else say("told-clots", clots=word(f"clots_{graded.clots}"))
            )
        return say("report-seen-at", what=said, at=self.near(graded.at))

    @property
    def look(self) -> str:
        """The last look at the drip: how it ran, when, who saw it. Never that it still does."""
        seen = self.standing.seen
        if seen is None:
            return say("report-none-charted")
        return say(
            "report-looked", how=word(seen.how), at=self.near(seen.at), by=seen.by or say("report-nobody")
        )

    @property
    def comfort(self) -> str:
        """The last symptoms charted, and when."""
        last = self.book.latest(e.Symptoms)
        if last is None:
            return say("report-not-charted")
        return say("report-seen-at", what=self.teller.tell(last), at=self.near(last.at))

    @property
    def behind(self) -> str:
        """More in than out, with its range and as of when."""
        behind = self.standing.behind
        if behind is None:
            return say("report-not-known")
        ends = between(max(0.0, behind.ml - 2 * behind.u_ml), behind.ml + 2 * behind.u_ml)
        shown = (
            say("report-ml-range", ml=ml(behind.ml), range=ends)
            if behind.u_ml >= 0.5
            else say("report-ml", ml=ml(behind.ml))
        )
        return say("report-figure-as-of", what=shown, at=self.near(behind.as_of))

    @property
    def may_hold(self) -> str:
        """What the bladder may hold at ``now``; the last close is named."""
        hold = self.standing.may_hold
        if hold.now is None or hold.as_of is None or hold.cannot_tell:
            why = (hold.cannot_tell or "nothing_known").replace("_", "-")
            return f"{say('report-cannot-tell')}: {say(f'report-cannot-tell-{why}')}"
        return say(
            "report-figure-as-of", what=range_ml(hold.now.low, hold.now.high), at=self.near(hold.as_of)
        )

    @property
    def inflow(self) -> str:
        """The rate with its range, or off since when and why."""
        standing = self.standing
        if not standing.inflow_on:
            since = standing.inflow_off_since
            return say("report-off-since", at=self.near(since)) if since else say("report-rate-off")
        if standing.inflow_basis == "not_known":
            return say("report-rate-not-known")
        low, high = round(standing.inflow.low, -1), round(standing.inflow.high, -1)
        return say("report-inflow", range=ml(low) if low == high else between(low, high))

    @property
    def bags(self) -> str:
        """What hangs: last levels with their times."""
        return "; ".join(self._bag(line) for line in self.standing.lines) or say("report-none-charted")

    def _bag(self, line: Line) -> str:
        if line.level_ml is None or line.level_at is None:
            level = say("report-not-read")
        else:
            level = say("report-read-at", ml=ml(line.level_ml), at=self.near(line.level_at))
        said = say("report-bag-of", line=line.name, size=ml(line.label_ml), level=level)
        return said if line.running else f"{said} ({say('report-line-standing')})"

    @property
    def drainage(self) -> str:
        """What the drainage bag held when last read, of how much."""
        bag = self.standing.drainage
        if bag.contents_ml is None or bag.read_at is None:
            return say("report-not-read")
        read = say("report-read-at", ml=ml(bag.contents_ml), at=self.near(bag.read_at))
        return say("report-drainage-of", read=read, size=ml(bag.capacity_ml))

    def when(self, times: TimeRange | None) -> str:
        """A forecast with its range; empty where there is none."""
        if times is None:
            return ""
        likely = self.near(times.likely)
        if times.late is None:
            return say("report-forecast-open", likely=likely, early=self.near(times.early))
        return say("report-forecast", likely=likely, early=self.near(times.early), late=self.near(times.late))

    @property
    def due(self) -> str:
        """When the next look or check is due."""
        return self.near(self.next_due) if self.next_due is not None else say("report-not-known")

    @property
    def dry(self) -> str:
        """When the last open bag may run dry."""
        return next((self.when(line.dry) for line in self.standing.lines if line.last_open), "")

    @property
    def order(self) -> str:
        """The order in force: of each term the newest word."""
        orders = self.book.of(e.Ordered)
        if not orders:
            return say("report-no-order")
        said = {
            name: getattr(o, name)
            for o in orders
            for name in o.model_fields_set
            if getattr(o, name) is not None
        }
        newest = orders[-1]
        terms = order_terms(self.teller, newest.model_copy(update=said)) or say("report-order-without-terms")
        return say(
            "report-order", terms=terms, by=newest.by_whom, how=word(newest.how), at=self.near(newest.at)
        )

    @property
    def catheter(self) -> str:
        """The catheter in place."""
        facts = self.book.facts
        if not facts.catheter_in:
            return say("report-catheter-out")
        return catheter_words(facts.catheter) if facts.catheter else say("report-not-charted")

    @property
    def standing_alerts(self) -> str:
        """The alerts that stand, worst first; whether there are none or nobody asked is said."""
        if self.alerts is None:
            return say("report-not-known")
        if not self.alerts:
            return say("paper-none")
        marks = {"high": "!!!", "medium": "!!", "low": "!"}
        worst = sorted(self.alerts, key=lambda line: ("high", "medium", "low").index(line.priority))
        return "; ".join(f"{marks[line.priority]} {line.text}" for line in worst)


def bed_at(
    book: Ledger,
    teller: Teller,
    now: datetime,
    alerts: Sequence[AlertLine] | None = None,
    next_due: datetime | None = None,
) -> Bed:
    """The bed at ``now``, which must not be before the last entry folded.

    ``alerts``: all of the bed's, cleared ones are left out here; ``next_due``: when the next look or check is due.
    """
    standing = None
    if alerts is not None:
        standing = [
            line
            for line in alerts
            if line.raised_at <= now and (line.cleared_at is None or line.cleared_at > now)
        ]
    return Bed(book, book.at(now), teller, standing, next_due)
