"""``cbi-monitor backtest``: what a set of thresholds would have asked of the nurses over past sessions."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from cbi_monitor.alerts.backtest import ACCEPTABLE_PER_10_MIN, MOST_STANDING, SHARES, Load, load_of
from cbi_monitor.alerts.replay import Replay, replay
from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.cli.output import json_text, progress, table
from cbi_monitor.cli.picture import load_picture
from cbi_monitor.cli.sources import all_charts, in_force
from cbi_monitor.exports.safe import write_whole
from cbi_monitor.settings import load_thresholds
from cbi_monitor.wording import say

Named = tuple[str, Load]


def run(args: argparse.Namespace) -> int:
    """Replay every session once a threshold file, count, and print side by side."""
    rules = in_force(args)
    files: list[tuple[str, Thresholds]] = [(_name(args.thresholds), rules.thresholds)]
    if args.against is not None:
        files.append((_name(args.against), load_thresholds(args.against)))
    charts = list(all_charts(args))
    replays: list[list[Replay]] = [[] for _ in files]
    for chart in progress(charts, len(charts), say("cli-progress-sessions")):
        for (_, thresholds), told in zip(files, replays, strict=True):
            told.append(replay(chart.events, rules.ward, rules.scale, thresholds, session=chart.session))
    together = args.journal is not None
    loads: list[Named] = [
        (name, load_of(told, beds_per_nurse=args.beds_per_nurse, together=together))
        for (name, _), told in zip(files, replays, strict=True)
    ]
    if args.format == "json":
        print(json_text([load_fields(name, load) for name, load in loads]))
    else:
        print(load_text(loads))
    if args.picture is not None:
        write_whole(args.picture, load_picture(loads).encode(), overwrite=args.overwrite)
        print(args.picture)
    return 0


def _name(path: Path | None) -> str:
    return say("cli-shipped-thresholds") if path is None else path.name


def load_fields(name: str, load: Load) -> dict[str, Any]:
    """One threshold file's load, for programs. Rates are per patient-day, per nurse-hour and per ten minutes."""
    return {
        "thresholds": name,
        "sessions": load.sessions,
        "patient_hours": round(load.patient_hours, 2),
        "nurse_hours": round(load.nurse_hours, 2),
        "beds_per_nurse": load.beds_per_nurse,
        "alerts": load.total,
        "alerts_silent": load.silent,
        "raised_again": load.raised_again,
        "came_back": load.came_back,
        "per_patient_day": _rounded(load.per_patient_day),
        "per_nurse_hour": _rounded(load.per_nurse_hour),
        "per_10_min": _rounded(load.per_10_min),
        "by_priority": load.by_priority(),
        "by_condition": [
            {
                "condition": condition,
                "count": count,
                "per_patient_day": _rounded(load.condition_per_patient_day(condition)),
                **{p: load.alerts.get((condition, p), 0) for p in load.by_priority()},
            }
            for condition, count in load.by_condition().items()
        ],
        "answered": load.answered,
        "acted": load.acted,
        "acted_share": _rounded(load.acted_share),
        "standing_over_a_day": load.standing_over_a_day,
        "floods": [
            {"start": f.start.isoformat(), "end": f.end.isoformat(), "count": f.count, "session": f.session}
            for f in load.floods
        ],
        "chattering": [
            {
                "session": c.session,
                "condition": c.condition,
                "subject": c.subject,
                "count": c.count,
                "start": c.start.isoformat(),
                "end": c.end.isoformat(),
            }
            for c in load.chattering
        ],
        "tasks": dict(load.tasks),
        "tasks_overdue": dict(load.tasks_overdue),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def load_text(loads: Sequence[Named]) -> str:
    """Two tables for people: the load beside the published figures, then alerts by condition."""
    return "\n\n".join([_figures(loads), _conditions(loads), _tasks(loads)])


def _figures(loads: Sequence[Named]) -> str:
    lines: list[list[str]] = []

    def line(key: str, values: Sequence[str], aim: str = "") -> None:
        lines.append([say(f"cli-load-{key}"), *values, aim])

    line("sessions", [str(load.sessions) for _, load in loads])
    line("patient-days", [f"{load.patient_hours / 24:.1f}" for _, load in loads])
    line("alerts", [str(load.total) for _, load in loads])
    line("per-patient-day", [_shown(load.per_patient_day) for _, load in loads])
    beds = loads[0][1].beds_per_nurse
    aim = say("cli-load-aim-10-min", most=ACCEPTABLE_PER_10_MIN)
    lines.append(
        [
            say("cli-load-per-10-min", beds=beds),
            *(_shown(load.per_10_min) for _, load in loads),
            aim,
        ]
    )
    line("per-nurse-hour", [_shown(load.per_nurse_hour) for _, load in loads])
    for priority in ("high", "medium", "low"):
        values = [
            f"{load.by_priority()[priority]} ({_share(load.shares().get(priority))})" for _, load in loads
        ]
        line(priority, values, say("cli-load-aim-share", share=round(SHARES[priority] * 100)))
    line("acted", [f"{load.acted} ({_share(load.acted_share)})" for _, load in loads])
    line(
        "standing",
        [str(load.standing_over_a_day) for _, load in loads],
        say("cli-load-aim-standing", most=MOST_STANDING),
    )
    line("floods", [str(len(load.floods)) for _, load in loads], say("cli-load-aim-none"))
    line("chattering", [str(len(load.chattering)) for _, load in loads], say("cli-load-aim-none"))
    headings = ["", *(name for name, _ in loads), say("cli-load-aim")]
    return table(headings, lines, right=frozenset(range(1, 1 + len(loads))))


def _share(value: float | None) -> str:
    return "–" if value is None else f"{value * 100:.0f} %"


def _shown(value: float | None) -> str:
    return "–" if value is None else f"{value:.2f}"


def _conditions(loads: Sequence[Named]) -> str:
    names = list(dict.fromkeys(name for _, load in loads for name in load.by_condition()))
    headings = [say("cli-condition")]
    for name, _ in loads:
        headings += [name, say("cli-load-per-day")]
    rows = []
    for condition in names:
        row = [condition]
        for _, load in loads:
            row += [
                str(load.by_condition().get(condition, 0)),
                _shown(load.condition_per_patient_day(condition)),
            ]
        rows.append(row)
    return table(headings, rows, right=frozenset(range(1, len(headings))))


def _tasks(loads: Sequence[Named]) -> str:
    kinds = list(dict.fromkeys(kind for _, load in loads for kind in load.tasks))
    headings = [say("cli-load-task"), *(name for name, _ in loads), *(say("cli-load-overdue") for _ in loads)]
    rows = [
        [
            kind,
            *(str(load.tasks.get(kind, 0)) for _, load in loads),
            *(str(load.tasks_overdue.get(kind, 0)) for _, load in loads),
        ]
        for kind in kinds
    ]
    return table(headings, rows, right=frozenset(range(1, len(headings))))
