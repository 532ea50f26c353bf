"""What stands on the end-of-shift report: pure content in words and figures; ``pdf/`` only lays it out."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from cbi_monitor.exports.curves import shift_curves
from cbi_monitor.exports.figures import between, ml, plain, range_ml, rate, signed
from cbi_monitor.exports.shift_parts import (
    alerts_part,
    chart_entries_part,
    findings_part,
    happened_part,
    hours_part,
    passed_on_part,
    staff_part,
)
from cbi_monitor.exports.shift_types import Figure, ShiftReport, Told
from cbi_monitor.exports.tables import (
    gross_in,
    gross_out,
    remark_words,
)
from cbi_monitor.exports.told import catheter_words, order_terms, word
from cbi_monitor.ledger.account import Row, Standing
from cbi_monitor.model import events as e
from cbi_monitor.wording import say

CAUTIONS = ("caution-stop", "caution-aid", "caution-quiet", "caution-thresholds")


def shift_report(told: Told) -> ShiftReport:
    """Compose the report."""
    clock, ward = told.teller.clock, told.ward
    standing = told.as_stood.at(told.end)
    details = _details(told)
    sections = [
        happened_part(told),
        alerts_part(told),
        passed_on_part(told, standing),
        findings_part(told),
        chart_entries_part(told),
        staff_part(told),
    ]
    span = say(
        "report-shift-span",
        shift=told.shift,
        start=clock.day_hm(told.start),
        end=clock.day_hm(told.end),
    )
    return ShiftReport(
        title=say("report-title"),
        bed=say("report-bed", bed=details["bed"]) if "bed" in details else say("report-no-bed"),
        when=say("report-when", ward=ward.name, span=span),
        head=_head(told, details, standing),
        cautions=tuple(say(key) for key in CAUTIONS),
        figures=_figures(told, standing),
        notes=_notes(told),
        curves=shift_curves(
            told.book, told.ward, told.scale, told.teller, told.from_, told.as_of or told.end
        ),
        hours=hours_part(told),
        sections=tuple(sections),
        signatures=(say("report-giving"), say("report-taking")),
        foot=say(
            "report-foot",
            hash=told.thresholds_hash[:16] or say("report-not-known"),
            version=told.version,
            printed=clock.day_hm(told.printed_at),
            zone=ward.zone,
        ),
        demo=told.demo,
    )


def _details(told: Told) -> dict[str, str]:
    """The session's details as they stood at the end; later ones over earlier ones."""
    found: dict[str, str] = {}
    for event in (*told.as_stood.of(e.SessionOpened), *told.as_stood.of(e.SessionDetails)):
        for name in ("patient", "bed", "operation", "indication"):
            value = getattr(event, name)
            if value is not None:
                found[name] = value
        if event.weight_kg is not None:
            how = f" ({word(event.weight_from)})" if event.weight_from else ""
            found["weight"] = say("told-weight", kg=plain(event.weight_kg)) + how
        if event.operation_ended is not None:
            found["ended"] = event.operation_ended.isoformat()
        if event.allergies is not None:
            found["allergies"] = ", ".join(event.allergies)
    return found


def _head(told: Told, details: Mapping[str, str], standing: Standing) -> tuple[tuple[str, str], ...]:
    clock, unknown = told.teller.clock, say("report-not-charted")
    operation = details.get("operation", unknown)
    if "ended" in details:
        ended = clock.local(datetime.fromisoformat(details["ended"])).date()
        day = (clock.local(told.end).date() - ended).days
        operation = say("report-operation-day", operation=operation, day=str(day))
    placed = told.as_stood.of(e.CatheterPlaced)
    catheter = catheter_words(placed[-1]) if placed else unknown
    if placed and not standing.catheter_in:
        catheter = say("report-catheter-out")
    orders = told.as_stood.of(e.Ordered)
    order = say("report-no-order")
    if orders:
        newest = orders[-1]
        # Of each term the newest word stands: an order that says one thing leaves the rest in force.
        said = {
            name: getattr(o, name)
            for o in orders
            for name in o.model_fields_set
            if getattr(o, name) is not None
        }
        terms = order_terms(told.teller, newest.model_copy(update=said)) or say("report-order-without-terms")
        at = clock.near(newest.at, told.end)
        order = say("report-order", terms=terms, by=newest.by_whom, how=word(newest.how), at=at)
    head = [
        (say("report-head-reference"), details.get("patient", unknown)),
        (say("report-head-operation"), operation),
        (say("report-head-weight"), details.get("weight", unknown)),
        (say("report-head-allergies"), details.get("allergies", unknown)),
        (say("report-head-catheter"), catheter),
        (say("report-head-order"), order),
    ]
    return tuple(head)


def _figures(told: Told, standing: Standing) -> tuple[Figure, ...]:
    clock, total = told.teller.clock, told.sum()
    as_of = say("report-as-of", at=clock.near(total.end, told.end)) if total else ""
    made = []
    if total is None:
        made.append(Figure(say("report-net"), say("report-not-known"), "", say("report-nothing-closed")))
    else:
        made.append(Figure(say("report-gross-in"), _with_ml(gross_in(total)), "", _in_parts(total)))
        made.append(Figure(say("report-gross-out"), _with_ml(gross_out(total)), "", _out_parts(total)))
        made.append(
            Figure(
                say("report-net"),
                _with_ml(total.net_ml, sign=True),
                between(total.net_low_ml, total.net_high_ml) if total.net_ml is not None else "",
                as_of,
            )
        )
    behind = standing.behind
    if behind is not None:
        since = say(
            "report-since-as-of" if behind.ml >= 0.5 else "report-as-of",
            since=clock.near(behind.since, told.end),
            at=clock.near(behind.as_of, told.end),
        )
        low = max(0.0, behind.ml - 2 * behind.u_ml)
        made.append(
            Figure(
                say("report-behind"),
                _with_ml(behind.ml),
                between(low, behind.ml + 2 * behind.u_ml) if behind.u_ml >= 0.5 else "",
                since,
            )
        )
    else:
        made.append(Figure(say("report-behind"), say("report-not-known"), "", ""))
    hold = standing.may_hold
    if hold.at_close is not None and hold.as_of is not None and not hold.cannot_tell:
        at = say("report-as-of", at=clock.near(hold.as_of, told.end))
        made.append(Figure(say("report-may-hold"), range_ml(hold.at_close.low, hold.at_close.high), "", at))
    else:
        why = say(f"report-cannot-tell-{(hold.cannot_tell or 'nothing_known').replace('_', '-')}")
        made.append(Figure(say("report-may-hold"), say("report-cannot-tell"), "", why))
    seen = standing.seen
    if seen is None:
        made.append(Figure(say("report-last-look"), say("report-none-charted"), "", ""))
    else:
        how = word(seen.how)
        by = seen.by or say("report-nobody")
        made.append(Figure(say("report-last-look"), clock.near(seen.at, told.end), "", f"{how}, {by}"))
    return tuple(made)


def _with_ml(amount: float | None, *, sign: bool = False) -> str:
    if amount is None:
        return say("report-not-known")
    return say("report-ml", ml=signed(amount) if sign else ml(amount))


def _in_parts(row: Row) -> str:
    parts = [say("report-part-irrigant", ml=ml(row.irrigant_in_ml))]
    if row.washed_in_ml != 0:
        parts.append(say("report-part-washed-in", ml=ml(row.washed_in_ml)))
    return ", ".join(parts)


def _out_parts(row: Row) -> str:
    parts = [say("report-part-drained", ml=ml(row.drained_ml))]
    for name, amount in (
        ("washed-back", row.washed_back_ml),
        ("leaked", row.leaked_ml),
        ("otherwise", row.otherwise_ml),
    ):
        if amount != 0:
            parts.append(say(f"report-part-{name}", ml=ml(amount)))
    return ", ".join(parts)


def _notes(told: Told) -> tuple[str, ...]:
    clock, total = told.teller.clock, told.sum()
    notes = [say("report-net-once")]
    window = told.as_stood.urine(told.ward.urine.window_hours)
    if window.per_kg is not None and window.start is not None and window.end is not None:
        notes.append(
            say(
                "report-per-kg",
                mid=rate(window.per_kg.mid),
                low=rate(window.per_kg.low),
                high=rate(window.per_kg.high),
                start=clock.near(window.start, told.end),
                end=clock.near(window.end, told.end),
            )
        )
    else:
        why: str = window.not_known or ("no_weight" if window.rate is not None else "too_short")
        notes.append(say("report-per-kg-not-known", why=say(f"report-urine-{why.replace('_', '-')}")))
    if total is not None:
        if total.other_in_ml or total.other_out_ml:
            notes.append(
                say(
                    "report-balance",
                    other_in=ml(total.other_in_ml),
                    other_out=ml(total.other_out_ml),
                    balance=signed(total.fluid_balance_ml),
                )
            )
        if total.at_least:
            notes.append(say("report-total-at-least"))
        if total.end < told.end:
            notes.append(
                say(
                    "report-not-closed",
                    at=clock.near(total.end, told.end),
                    end=clock.near(told.end, told.end),
                )
            )
        if total.net_ml is None:
            notes.append(say("report-total-not-known"))
    opened = told.opened_at
    if opened is not None and opened > told.start:
        notes.append(say("report-began", at=clock.near(opened, told.end)))
    for row in told.book.rows:
        if row.state != "closed" and row.start < told.end and row.end > told.from_:
            why = "; ".join(remark_words(remark, clock, told.end) for remark in row.remarks)
            notes.append(
                say(
                    f"report-row-{row.state}",
                    start=clock.near(row.start, told.end),
                    end=clock.near(row.end, told.end),
                    why=f": {why}" if why else "",
                )
            )
    return tuple(notes)
