"""``cbi-monitor report``: the shift report and the tables of one session, as files."""

from __future__ import annotations

import argparse
from datetime import datetime
from pathlib import Path

from cbi_monitor.alerts.replay import replay
from cbi_monitor.cli.faults import WrongUse
from cbi_monitor.cli.sources import Chart, in_force, one_chart
from cbi_monitor.exports.borders import ShiftSpan, shift_at, shifts_between
from cbi_monitor.exports.report import FORMATS, write_report
from cbi_monitor.exports.safe import AlreadyThere
from cbi_monitor.model.instants import utc
from cbi_monitor.model.ward import WardRules
from cbi_monitor.ward.clock import SystemClock
from cbi_monitor.ward.settings_in_force import InForce
from cbi_monitor.wording import say


def run(args: argparse.Namespace) -> int:
    """Write the files and print their paths."""
    formats = [name.strip() for name in args.format.split(",") if name.strip()]
    unknown = [name for name in formats if name not in FORMATS]
    if unknown or not formats:
        raise WrongUse(say("cli-unknown-format", names=", ".join(unknown) or "-", known=", ".join(FORMATS)))
    rules = in_force(args)
    chart = one_chart(args)
    span = _span(args, chart, rules.ward)
    try:
        paths = write(chart, rules, span, args.out, formats, overwrite=args.overwrite, nameless=args.no_names)
    except AlreadyThere as there:
        raise WrongUse(say("cli-there-already", file=", ".join(str(path) for path in there.paths))) from None
    for path in paths:
        print(path)
    return 0


def write(
    chart: Chart,
    rules: InForce,
    span: ShiftSpan,
    folder: Path,
    formats: list[str],
    *,
    overwrite: bool = False,
    demo: bool = False,
    nameless: bool = False,
    printed_at: datetime | None = None,
) -> list[Path]:
    """The files of one session and span; alerts that no screen showed are computed, and marked so."""
    told = replay(chart.events, rules.ward, rules.scale, rules.thresholds, session=chart.session)
    return write_report(
        chart.events,
        rules.ward,
        rules.scale,
        rules.thresholds_hash,
        span.start,
        span.end,
        folder,
        formats,
        printed_at=printed_at or SystemClock().now(),
        computed=told.alerts,
        shift=span.name,
        demo=demo,
        nameless=nameless,
        overwrite=overwrite,
    )


def _span(args: argparse.Namespace, chart: Chart, ward: WardRules) -> ShiftSpan:
    if args.shift is not None and (args.start or args.end):
        raise WrongUse(say("cli-shift-or-times"))
    if args.start or args.end:
        if not (args.start and args.end):
            raise WrongUse(say("cli-from-and-to"))
        if args.end <= args.start:
            raise WrongUse(say("cli-to-after-from"))
        return ShiftSpan("", utc(args.start), utc(args.end))
    return span_of_shift(chart, ward, args.shift)


def span_of_shift(chart: Chart, ward: WardRules, name: str | None) -> ShiftSpan:
    """The last shift of that name in which something is charted; without a name, the shift of the last entry.

    Raises WrongUse where the ward has no such shift, or nothing is charted in one.
    """
    times = [utc(event.at) for event in chart.events]
    if name is None:
        last = shift_at(ward, max(times))
        # An entry right on a border ends the shift before; a report on the empty new one would help nobody.
        before = shift_at(ward, last.start - (last.end - last.start) / 100)
        return before if last.start == max(times) and min(times) < last.start else last
    known = [shift.name for shift in ward.shifts]
    if name not in known:
        raise WrongUse(say("cli-no-such-shift", name=name, known=", ".join(known)))
    spans = shifts_between(ward, min(times), max(times))
    found = [span for span in spans if span.name == name and any(span.start <= at < span.end for at in times)]
    if not found:
        raise WrongUse(say("cli-shift-empty", name=name, session=chart.session))
    return found[-1]
