"""``cbi-monitor balance``: the balance of one session by check, hour, shift or day."""

from __future__ import annotations

import argparse
import csv
import sys
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from cbi_monitor.cli.output import json_text, table
from cbi_monitor.cli.rows import row_fields
from cbi_monitor.cli.sources import in_force, one_chart
from cbi_monitor.exports.borders import day_borders, hour_borders, shifts_between
from cbi_monitor.exports.csv import harmless
from cbi_monitor.ledger.account import Row
from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.model.ward import WardRules
from cbi_monitor.ward.telling import Words
from cbi_monitor.wording import say

MINUS = "−"
_HEADINGS = (
    "from", "to", "in", "drained", "washed", "other-out", "net", "range", "running", "behind", "hold", "remarks",
)  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Print the balance. Findings are printed after the table and are no failure."""
    rules = in_force(args)
    chart = one_chart(args)
    ledger = chart.ledger(rules.ward, rules.scale)
    words = Words(rules.zone, rules.scale)
    rows = rows_by(ledger, rules.ward, args.by)
    if args.format == "json":
        print(json_text([row_fields(row, words) for row in rows]))
    elif args.format == "csv":
        _print_csv([row_fields(row, words) for row in rows])
    else:
        print(balance_text(rows, words))
        print(say("cli-balance-units"))
        findings = findings_text(ledger, words)
        if findings:
            print("\n" + findings)
    return 0


def rows_by(ledger: Ledger, ward: WardRules, by: str) -> Sequence[Row]:
    """The rows as checked, or prorated between the ward's hours, shifts or days."""
    rows = ledger.rows
    if by == "check" or not rows:
        return rows
    start, end = rows[0].start, rows[-1].end
    return ledger.spans(borders_by(ward, by, start, end))


def borders_by(ward: WardRules, by: str, start: datetime, end: datetime) -> list[datetime]:
    """From ``start`` to ``end`` over every full hour, change of shift or ward day between."""
    if by == "hour":
        return hour_borders(ward, start, end)
    if by == "day":
        return day_borders(ward, start, end)
    inside = [shift.start for shift in shifts_between(ward, start, end) if start < shift.start < end]
    return [start, *inside, end]


def balance_text(rows: Sequence[Row], words: Words) -> str:
    """The table for people."""
    headings = [say(f"cli-balance-{key}") for key in _HEADINGS]
    lines: list[list[str]] = []
    day = None
    for row in rows:
        start, end = row.start.astimezone(words.zone), row.end.astimezone(words.zone)
        shown = f"{start:%a %d.%m. %H:%M}" if start.date() != day else f"{start:%H:%M}"
        day = start.date()
        until = f"{end:%H:%M}" if end.date() == day else f"{end:%d.%m. %H:%M}"
        lines.append([shown, until, *_figures(row), _remarks(row, words)])
    if not lines:
        return say("cli-balance-empty")
    return table(headings, lines, right=frozenset(range(11)))


def _figures(row: Row) -> list[str]:
    unknown = "?"

    def figure(amount: float | None) -> str:
        return unknown if amount is None else f"{round(amount):,}".replace("-", MINUS)

    net = figure(row.net_ml) if not row.at_least or row.net_ml is None else f"≥ {figure(row.net_ml)}"
    ends = ""
    if row.net_low_ml is not None:
        high = "…" if row.net_high_ml is None else figure(row.net_high_ml)
        ends = say("cli-range", low=figure(row.net_low_ml), high=high)
    hold = "" if row.may_hold is None else say(
        "cli-range", low=figure(row.may_hold.low), high=figure(row.may_hold.high)
    )  # fmt: skip
    washed = "" if row.washed_in_ml == row.washed_back_ml == 0 else (
        f"{figure(row.washed_in_ml)}/{figure(row.washed_back_ml)}"
    )  # fmt: skip
    parts = (row.leaked_ml, row.otherwise_ml)
    others = "" if parts == (0, 0) else "+".join(figure(part) for part in parts if part != 0)
    return [
        figure(row.irrigant_in_ml),
        figure(row.drained_ml),
        washed,
        others,
        net,
        ends,
        figure(row.running_ml),
        "" if row.behind_ml is None else figure(row.behind_ml),
        hold,
    ]


def _remarks(row: Row, words: Words) -> str:
    said = [] if row.state == "closed" else [say(f"cli-state-{row.state}")]
    if row.prorated:
        said.append(say("cli-prorated"))
    return "; ".join([*said, *(words.remark(remark) for remark in row.remarks)])


def findings_text(ledger: Ledger, words: Words) -> str:
    """The findings, each with its time, whether it waits for an answer, and the file line it came from."""
    lines = []
    for finding in ledger.findings:
        mark = "?" if finding.asks and finding.answer is None else " "
        at = f"{finding.at.astimezone(words.zone):%d.%m. %H:%M}"
        source = f" [{finding.source}]" if finding.source else ""
        lines.append(f" {mark} {at}  {words.finding(finding)}{source}")
    return "\n".join([say("cli-findings", count=len(lines)), *lines]) if lines else ""


def _print_csv(rows: Sequence[dict[str, Any]]) -> None:
    if not rows:
        return
    writer = csv.writer(sys.stdout, lineterminator="\r\n")
    writer.writerow(rows[0])
    for row in rows:
        writer.writerow([_cell(value) for value in row.values()])


def _cell(value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "; ".join(f"{line} {'?' if level is None else level}" for line, level in value.items())
    if isinstance(value, list):
        return harmless("; ".join(remark["text"] for remark in value))
    return value if isinstance(value, (int, float)) else harmless(str(value))
