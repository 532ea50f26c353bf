"""What the bedside shows, as values: head, cards, curves, tracks, table rows, entries. No Qt here."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any

from cbi_monitor.exports.clock import WardClock
from cbi_monitor.exports.told import Teller, kind_words
from cbi_monitor.ledger.account import Row
from cbi_monitor.model import events as e
from cbi_monitor.screens import charted, says
from cbi_monitor.screens.board.lanes import hold_words
from cbi_monitor.ward.bed import Bed
from cbi_monitor.ward.settings_in_force import InForce
from cbi_monitor.ward.telling import Words
from cbi_monitor.wording import say


@dataclass(frozen=True, slots=True)
class Card:
    """One figure: its name, the figure, what stands beside it (as of, range), and what it is, in words."""

    name: str
    title: str
    value: str
    beside: str
    what: str
    matters: bool = False


def head_words(bed: Bed) -> str:
    """Reference, weight, operation and day, catheter, washout order, in one line."""
    facts = bed.ledger.facts
    parts = [say("bedside-reference", ref=bed.reference)]
    if bed.weight_kg is not None:
        parts.append(say("bedside-weight", kg=f"{bed.weight_kg:g}"))
    catheter = facts.catheter
    if catheter is not None:
        parts.append(say(f"bedside-catheter-{catheter.ways}", french=f"{catheter.french:g}"))
    washout = facts.order.get("washout")
    if washout is not None:
        parts.append(say(f"bedside-washout-{washout.replace('_', '-')}"))
    # The operation may be long, so it comes last: what is cut off is not the catheter and not the washout order.
    day = bed.operation_day
    if bed.operation or day is not None:
        parts.append(
            ", ".join(p for p in (bed.operation, "" if day is None else say("screens-day-n", n=day)) if p)
        )
    return says.joined(*parts)


def cards_of(bed: Bed, in_force: InForce, now: datetime) -> tuple[Card, ...]:
    """The figures on the right, from who saw it to what runs out when."""
    zone, standing = in_force.zone, bed.standing
    cards = [
        _seen(standing, zone, now),
        _behind(standing, zone, now, in_force.thresholds.retention.medium_behind_ml),
        _hold(standing, zone, now),
        _block(standing, zone, now),
    ]
    cards.append(_urine(bed, zone, now))
    for line in standing.lines:
        if line.running and line.dry is not None:
            cards.append(  # noqa: PERF401 - a comprehension of this would not be read
                Card(
                    f"dry-{line.name}", say("card-dry", line=line.name), says.clock(line.dry.likely, zone, now),
                    says.time_range(line.dry, zone, now), say("card-dry-what"),
                )
            )  # fmt: skip
    full = standing.drainage.full
    if full is not None:
        contents, capacity = standing.drainage.contents_ml, standing.drainage.capacity_ml
        beside = ""
        if contents is not None and capacity is not None and standing.drainage.read_at is not None:
            beside = say(
                "card-full-beside", ml=says.number(contents), of=says.number(capacity),
                at=says.clock(standing.drainage.read_at, zone, now),
            )  # fmt: skip
        cards.append(
            Card("full", say("card-full"), says.clock(full.likely, zone, now), beside, say("card-full-what"))
        )
    return tuple(cards)


def _seen(standing: Any, zone: tzinfo, now: datetime) -> Card:
    steady, later = standing.steady, standing.seen
    if steady is None:
        value, beside = say("board-never-seen"), ""
    else:
        value = say("board-seen", at=says.clock(steady.at, zone, now), by=steady.by or say("screens-no-name"))
        beside = says.ago(steady.at, now)
    matters = False
    if later is not None and (steady is None or later.at > steady.at):
        beside = say(
            "board-seen-then",
            how=say(f"screens-how-{later.how.replace('_', '-')}"),
            ago=says.ago(later.at, now),
        )
        matters = True
    return Card("seen", say("card-seen"), value, beside, say("card-seen-what"), matters)


def _behind(standing: Any, zone: tzinfo, now: datetime, worries_from: float) -> Card:
    behind = standing.behind
    if behind is None:
        return Card(
            "behind", say("card-behind-none"), say("screens-hold-nothing"), "", say("card-behind-what")
        )
    since = says.clock(behind.since, zone, now)
    as_of = say("screens-as-of", at=says.clock(behind.as_of, zone, now))
    spread = says.span_ml(max(0.0, behind.ml - 2 * behind.u_ml), behind.ml + 2 * behind.u_ml)
    if behind.ml < 10:
        title = say("card-behind-none")
        return Card("behind", title, say("card-behind-zero"), as_of, say("card-behind-what"))
    return Card(
        "behind", say("card-behind", since=since), say("screens-ml", ml=says.about_ten(behind.ml)),
        say("card-range-as-of", range=spread, as_of=as_of), say("card-behind-what"), behind.ml >= worries_from,
    )  # fmt: skip


def _hold(standing: Any, zone: tzinfo, now: datetime) -> Card:
    words, as_of, _, high = hold_words(standing, zone, now)
    limit = standing.limit_ml
    beside = say("board-limit-unset") if limit is None else say("board-limit", ml=says.number(limit))
    value = words if high is None else say("screens-ml", ml=words)
    over = limit is not None and high is not None and high >= limit
    return Card(
        "hold",
        say("card-hold"),
        value,
        ", ".join(p for p in (as_of, beside) if p),
        say("card-hold-what"),
        over,
    )


def _block(standing: Any, zone: tzinfo, now: datetime) -> Card:
    limit, reaches = standing.limit_ml, standing.block_reaches_limit
    title = say("card-block-unset") if limit is None else say("card-block", ml=says.number(limit))
    if not standing.inflow_on:
        since = standing.inflow_off_since
        value = (
            say("card-block-off")
            if since is None
            else say("board-inflow-off", at=says.clock(since, zone, now))
        )
        return Card("block", title, value, "", say("card-block-what"))
    if reaches is None:
        return Card("block", title, say("screens-hold-nothing"), "", say("card-block-what"))
    if reaches <= now:
        value, beside = say("screens-since", at=says.clock(reaches, zone, now)), say("card-block-look-now")
    else:
        value, beside = (
            says.clock(reaches, zone, now),
            say("card-block-in", span=says.span_minutes((reaches - now).total_seconds())),
        )
    return Card("block", title, value, beside, say("card-block-what"), reaches <= now)


def _urine(bed: Bed, zone: tzinfo, now: datetime) -> Card:
    window = bed.ledger.urine(6.0)
    if window.rate is None or window.start is None or window.end is None:
        why = window.not_known or "too_short"
        return Card(
            "urine",
            say("card-urine"),
            say("screens-hold-blind"),
            say(f"card-urine-{why.replace('_', '-')}"),
            say("card-urine-what"),
        )
    span = f"{says.clock(window.start, zone, now)}–{says.clock(window.end, zone, now)}"
    per_kg = window.per_kg
    if per_kg is None:
        low, high = says.tens(window.rate.low, window.rate.high)
        value = say(
            "card-urine-rate", range=say("screens-range", low=says.number(low), high=says.number(high))
        )
        return Card("urine", say("card-urine"), value, span, say("card-urine-what"))
    spread = say("screens-range", low=says.number(per_kg.low, 1), high=says.number(per_kg.high, 1))
    clear = per_kg.low > 0.5 or per_kg.high < 0.5
    beside = span if clear else say("card-urine-unsure", span=span)
    return Card(
        "urine", say("card-urine"), say("card-urine-per-kg", range=spread), beside, say("card-urine-what")
    )


# --- curves -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Curves:
    """Cumulative amounts in mL at times in seconds since the epoch; parts that belong together share an index.

    A gap in the chart (an open or questioned row) begins a new stretch: ``breaks`` holds the indices at which one starts.
    """

    times: tuple[float, ...]
    run_in: tuple[float, ...]
    drained: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    behind: tuple[float, ...]
    breaks: frozenset[int]


def curves_of(rows: Sequence[Row], since: datetime | None = None) -> Curves:
    """In and out summed up, and around out the doubt of the net. Rows before ``since`` are left out."""
    times: list[float] = []
    ins: list[float] = []
    outs: list[float] = []
    lows: list[float] = []
    highs: list[float] = []
    behinds: list[float] = []
    breaks: set[int] = set()
    total_in = total_out = 0.0
    base: tuple[float, float] | None = None
    last: datetime | None = None
    for row in rows:
        if since is not None and row.end <= since:
            continue
        side_in = None if row.irrigant_in_ml is None else row.irrigant_in_ml + (row.washed_in_ml or 0)
        side_out = None
        if row.drained_ml is not None:
            side_out = (
                row.drained_ml + (row.washed_back_ml or 0) + (row.leaked_ml or 0) + (row.otherwise_ml or 0)
            )
        if side_in is None or side_out is None or row.state != "closed":
            last = None
            continue
        if last != row.start:
            breaks.add(len(times))
            _point(
                times,
                ins,
                outs,
                lows,
                highs,
                behinds,
                row.start,
                total_in,
                total_out,
                None,
                row.behind_ml,
            )
            base = None
        total_in, total_out = total_in + side_in, total_out + side_out
        spread = None
        if row.running_ml is not None and row.running_low_ml is not None and row.running_high_ml is not None:
            spread = (row.running_low_ml - row.running_ml, row.running_high_ml - row.running_ml)
            if base is None:
                base = (0.0, 0.0) if since is None else spread
            spread = (spread[0] - min(0.0, base[0]), spread[1] - max(0.0, base[1]))
            spread = (min(spread[0], 0.0), max(spread[1], 0.0))
        _point(times, ins, outs, lows, highs, behinds, row.end, total_in, total_out, spread, row.behind_ml)
        last = row.end
    return Curves(
        tuple(times), tuple(ins), tuple(outs), tuple(lows), tuple(highs), tuple(behinds), frozenset(breaks)
    )


def _point(
    times: list[float], ins: list[float], outs: list[float], lows: list[float], highs: list[float], behinds: list[float],
    at: datetime, total_in: float, total_out: float, spread: tuple[float, float] | None, behind: float | None,
) -> None:  # fmt: skip
    times.append(at.timestamp())
    ins.append(total_in)
    outs.append(total_out)
    low, high = spread if spread is not None else (0.0, 0.0)
    lows.append(total_out + low)
    highs.append(total_out + high)
    behinds.append(behind if behind is not None else float("nan"))


@dataclass(frozen=True, slots=True)
class Strip:
    """One stretch of colour: from, to, its swatch, its words with the rate and clots."""

    start: float
    end: float
    swatch: str
    words: str
    strong: bool
    rate: float | None = None


def _like(one: float | None, other: float | None) -> bool:
    """Two rates that differ by less than a third tell one stretch of colour."""
    if one is None or other is None:
        return one is None and other is None
    return abs(one - other) <= max(one, other) / 3


def strips_of(bed: Bed, in_force: InForce, now: datetime) -> tuple[Strip, ...]:
    """The colour strip: each grade holds until the next one is charted; equal neighbours are joined."""
    graded = bed.ledger.of(e.EffluentGraded)
    found: list[Strip] = []
    for place, event in enumerate(graded):
        grade = in_force.scale.grade(event.grade)
        swatch, word = (grade.swatch, grade.word) if grade else ("#808080", event.grade)
        start = event.at.timestamp()
        last = place + 1 == len(graded)
        # The newest colour is drawn up to now; tracks draw no further than the time axis goes.
        end = now.timestamp() + 86_400 if last else graded[place + 1].at.timestamp()
        rate = charted.rate_at(bed.ledger, event.at)
        clots = charted.clots_words(event.clots) if event.clots in ("small", "large") else ""
        words = ", ".join(part for part in (f"{word} {charted.rate_words(rate)}", clots) if part)
        strong = event.clots in ("small", "large")
        old = found[-1] if found else None
        if old is not None and old.swatch == swatch and old.strong == strong and _like(old.rate, rate):
            found[-1] = Strip(old.start, end, swatch, words, strong, old.rate)
        else:
            found.append(Strip(start, end, swatch, words, strong, rate))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class ChartMark:
    """One mark under the curves."""

    at: float
    kind: str
    words: str


_MARKED: tuple[tuple[type[e.Event], str], ...] = (
    (e.BagHung, "dry"), (e.DrainageEmptied, "full"), (e.DrainageBagPlaced, "full"), (e.OutflowSeen, "look"),
    (e.Washout, "washout"), (e.BladderScanned, "scan"), (e.InflowStopped, "stop"), (e.InflowStarted, "start"),
    (e.Leaked, "leak"),
)  # fmt: skip


def _near(at: datetime, others: Sequence[datetime]) -> bool:
    place = bisect_left(others, at)
    return any(abs(other - at) <= charted.VISIT for other in others[max(0, place - 1) : place + 1])


def chart_marks(bed: Bed, in_force: InForce) -> tuple[ChartMark, ...]:
    """Bags, emptyings, looks, washouts, scans, stops, starts, leaks, and alerts as they came up."""
    teller = Teller(WardClock(in_force.ward.zone), in_force.scale, in_force.ward)
    marks = []
    graded = [event.at for event in bed.ledger.of(e.EffluentGraded)]
    for kind, icon in _MARKED:
        for event in bed.ledger.of(kind):
            if isinstance(event, e.OutflowSeen) and event.how == "steady" and _near(event.at, graded):
                continue  # a check that saw it steady: the strip and the table have it
            at = f"{event.at.astimezone(in_force.zone):%H:%M}"
            words = say("bedside-mark", at=at, what=kind_words(event), how=teller.tell(event))
            marks.append(ChartMark(event.at.timestamp(), icon, words))
    for shown in bed.ledger.of(e.AlertShown):
        at = f"{shown.at.astimezone(in_force.zone):%H:%M}"
        marks.append(
            ChartMark(
                shown.at.timestamp(),
                f"alert-{shown.priority}",
                say("bedside-mark-alert", at=at, text=shown.text),
            )
        )
    return tuple(sorted(marks, key=lambda mark: mark.at))


# --- the rows as a table ----------------------------------------------------------------------------------------

COLUMNS = ("end", "in", "out", "net", "range", "behind", "hold", "drainage", "remarks")


@dataclass(frozen=True, slots=True)
class TableRow:
    """One line of the balance as text, in the order of ``COLUMNS``; ``state`` as the ledger's."""

    cells: tuple[str, ...]
    start: datetime
    end: datetime
    state: str


class Balance:
    """The balance as text, newest first; a row is put into words when it is first looked at."""

    def __init__(self, bed: Bed, in_force: InForce, now: datetime) -> None:
        self.rows: Sequence[Row] = bed.ledger.rows
        self.now = now
        self._in_force = in_force
        self._words = Words(in_force.zone, in_force.scale)
        self._graded: Sequence[e.EffluentGraded] = bed.ledger.of(e.EffluentGraded)
        self._looks: Sequence[e.OutflowSeen] = bed.ledger.of(e.OutflowSeen)
        self._symptoms: Sequence[e.Symptoms] = bed.ledger.of(e.Symptoms)
        self._made: dict[int, TableRow] = {}

    def __len__(self) -> int:
        return len(self.rows)

    def __getitem__(self, place: int) -> TableRow:
        made = self._made.get(place)
        if made is None:
            made = self._made[place] = self._row(self.rows[len(self.rows) - 1 - place])
        return made

    def place_of(self, end: float) -> int | None:
        """The place of the row that ends at that second since the epoch; None where none does."""
        index = bisect_left(self.rows, end - 1, key=lambda row: row.end.timestamp())
        if index < len(self.rows) and abs(self.rows[index].end.timestamp() - end) < 1:
            return len(self.rows) - 1 - index
        return None

    def _row(self, row: Row) -> TableRow:
        zone = self._in_force.zone
        return TableRow(
            (
                says.clock(row.end, zone, self.now), _ml(_sum(row.irrigant_in_ml, row.washed_in_ml)),
                _ml(_sum(row.drained_ml, row.washed_back_ml, row.leaked_ml, row.otherwise_ml)),
                "" if row.net_ml is None else says.signed(row.net_ml), _range(row),
                "" if row.behind_ml is None else says.about_ten(row.behind_ml),
                "" if row.may_hold is None else says.hold_ml(row.may_hold), self._drainage(row), self._remarks(row),
            ),
            row.start, row.end, row.state,
        )  # fmt: skip

    def _drainage(self, row: Row) -> str:
        graded = _last_within(self._graded, row)
        if graded is None:
            return ""
        grade = self._in_force.scale.grade(graded.grade)
        rate = None
        if row.irrigant_in_ml is not None and row.end > row.start:
            rate = row.irrigant_in_ml / ((row.end - row.start).total_seconds() / 3600)
        said = f"{grade.word if grade else graded.grade} {charted.rate_words(rate)}"
        return f"{said}, {charted.clots_words(graded.clots)}" if graded.clots in ("small", "large") else said

    def _remarks(self, row: Row) -> str:
        zone, notes = self._in_force.zone, []
        if row.state != "closed":
            notes.append(say(f"bedside-state-{row.state}"))
        seen = _last_within(self._looks, row)
        if seen is not None:
            at = f"{seen.at.astimezone(zone):%H:%M}"
            if seen.how == "steady":
                notes.append(say("screens-seen", at=at, by=seen.by or say("screens-no-name")))
            else:
                how = seen.how or ("running" if seen.running else "none")
                notes.append(f"{at} {say('screens-how-' + how.replace('_', '-'))}")
        said = _last_within(self._symptoms, row)
        comfort = None if said is None else charted.comfort_of(said)
        if comfort is not None and comfort.matters:
            notes.append(comfort.words)
        notes.extend(self._words.remark(remark) for remark in row.remarks)
        return " · ".join(notes)


def _last_within(events: Sequence[Any], row: Row) -> Any:
    place = bisect_right(events, row.end, key=lambda event: event.at) - 1
    return events[place] if place >= 0 and events[place].at > row.start else None


def _sum(*parts: int | None) -> int | None:
    first = parts[0]
    if first is None:
        return None
    return first + sum(part or 0 for part in parts[1:])


def _ml(amount: int | None) -> str:
    return "" if amount is None else says.number(amount)


def _range(row: Row) -> str:
    if row.net_low_ml is None:
        return ""
    low = says.signed(round(row.net_low_ml / 5) * 5)
    if row.net_high_ml is None:
        return say("bedside-at-least", low=low)
    return say("screens-range", low=low, high=says.signed(round(row.net_high_ml / 5) * 5))


# --- the entries, with what was corrected and struck out --------------------------------------------------------


@dataclass(frozen=True, slots=True)
class EntryLine:
    """One entry in words; struck text stays readable beside what replaced it, with the reason."""

    id: str
    at: datetime
    time: str
    kind: str
    struck: str
    text: str
    note: str
    by: str
    event: Any
    struck_out: bool


HIDDEN = (
    e.AlertShown, e.AlertCleared, e.ThresholdsInForce, e.WatchStarted, e.WatchStopped, e.Corrected, e.StruckOut
)  # fmt: skip


def entry_lines(bed: Bed, in_force: InForce, now: datetime) -> tuple[EntryLine, ...]:
    """Every entry that a person made, newest first."""
    teller = Teller(WardClock(in_force.ward.zone), in_force.scale, in_force.ward)
    zone = in_force.zone
    found = []
    for one in reversed(bed.ledger.entries):
        written, now_stands, strike = one.original, one.event, one.struck_out
        if isinstance(written, HIDDEN):
            continue
        notes = []
        before = teller.tell(written)
        after = before if now_stands is None else teller.tell(now_stands)
        struck, text = "", after
        if strike is not None:
            struck, text = before, ""
            notes.append(say("entry-struck", by=strike.by or say("screens-no-name"), reason=strike.reason))
        elif now_stands is not None and now_stands is not written and one.corrections:
            if before != after:
                struck = before
            elif now_stands.at != written.at:
                struck = says.clock(written.at, zone, now)
            for correction in one.corrections:
                by = correction.by or say("screens-no-name")
                notes.append(say("entry-corrected", by=by, reason=correction.reason))
        shown = now_stands or written
        if one.late and written.recorded is not None:
            notes.append(say("entry-late", at=says.clock(written.recorded, zone, now)))
        found.append(
            EntryLine(
                written.id, shown.at, says.clock(shown.at, zone, now), kind_words(written), struck, text, " · ".join(notes),
                written.by or "", shown, strike is not None,
            )
        )  # fmt: skip
    return tuple(found)
