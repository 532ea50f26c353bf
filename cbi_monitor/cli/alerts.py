"""``cbi-monitor alerts``: which alerts these thresholds raise on these sessions, stepped through as if it were then."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from datetime import datetime, tzinfo
from typing import Any

from cbi_monitor.alerts.life import AlertState
from cbi_monitor.alerts.replay import Replay, replay
from cbi_monitor.cli.output import json_text, progress, table
from cbi_monitor.cli.sources import Chart, all_charts, in_force
from cbi_monitor.ward.settings_in_force import InForce
from cbi_monitor.ward.telling import Words
from cbi_monitor.wording import say
from cbi_monitor.wording.alerts import record_json, task_json


def run(args: argparse.Namespace) -> int:
    """Replay and print."""
    rules = in_force(args)
    words = Words(rules.zone, rules.scale)
    charts = list(all_charts(args))
    for chart in progress(charts, len(charts), say("cli-progress-sessions")):
        told = _replayed(chart, rules, args.known == "known", args.until)
        if args.format == "json":
            for record in records(chart.file, told, words, tasks=args.tasks):
                print(json_text(record, lines=True))
        else:
            print(alerts_text(chart, told, words, tasks=args.tasks, known=args.known == "known"))
    return 0


def _replayed(chart: Chart, rules: InForce, known: bool, until: datetime | None) -> Replay:
    return replay(chart.events, rules.ward, rules.scale, rules.thresholds, known, until, chart.session)


def records(file: str, told: Replay, words: Words, *, tasks: bool) -> list[dict[str, Any]]:
    """The alerts as other programs read them, in the order in which they were raised; then the tasks that came due."""
    found = [record_json(state, file, words) for state in told.alerts]
    if tasks:
        found.extend(task_json(task, told.session, file, words.zone) for task in told.tasks)
    return found


_MARKS: Mapping[str, str] = {"high": "!!!", "medium": "!!", "low": "!"}


def alerts_text(chart: Chart, told: Replay, words: Words, *, tasks: bool, known: bool) -> str:
    """The table for people: one line an alert, indented where another one speaks for it."""
    head = say(
        "cli-alerts-head" if known else "cli-alerts-head-hindsight", session=chart.session, file=chart.file
    )
    if not told.alerts:
        body = say("cli-alerts-none")
    else:
        keys = ("raised", "cleared", "priority", "condition", "subject", "says")
        headings = [say(f"cli-alerts-{key}") for key in keys]
        body = table(headings, [_line(state, words) for state in told.alerts])
    parts = [head, body]
    if tasks and told.tasks:
        headings = [say(f"cli-tasks-{key}") for key in ("due", "done", "kind", "subject")]
        lines = [
            [_short(task.due, words.zone), _short(task.done_at, words.zone), task.kind, task.subject]
            for task in told.tasks
        ]
        parts.append(table(headings, lines))
    return "\n".join(parts) + "\n"


def _line(state: AlertState, words: Words) -> list[str]:
    last = state.raises[-1].reading
    return [
        _short(state.raised_at, words.zone),
        _short(state.cleared_at, words.zone),
        f"{_MARKS[state.worst]:<3} {state.worst}",
        state.condition,
        state.subject,
        f"{words.says(last)} {words.first_act(last)}",
    ]


def _short(at: datetime | None, zone: tzinfo) -> str:
    return "" if at is None else f"{at.astimezone(zone):%d.%m. %H:%M}"
