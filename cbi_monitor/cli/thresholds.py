"""``cbi-monitor thresholds``: check a threshold file, show what it changes, explain a condition, test expectations."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from cbi_monitor.alerts.explain import explain as alert_explain
from cbi_monitor.alerts.explain import explain_life, speakers
from cbi_monitor.cli.faults import WrongUse
from cbi_monitor.cli.output import json_text, table
from cbi_monitor.model.findings import Refusal, Refused
from cbi_monitor.settings import THRESHOLDS, Explained, explain, load_thresholds, tables
from cbi_monitor.wording import say


def check(args: argparse.Namespace) -> int:
    """Every fault of every file; silent files pass with a line of their own."""
    refusals: list[Refusal] = []
    for file in args.files:
        try:
            load_thresholds(file)
        except Refused as refused:
            refusals.extend(refused.refusals)
        else:
            print(say("cli-thresholds-passed", file=str(file)))
    for refusal in refusals:
        print(refusal, file=sys.stderr)
    return 1 if refusals else 0


def show(args: argparse.Namespace) -> int:
    """What the ward's file changes against the shipped one; ``--all``: every number."""
    file: Path | None = args.file or args.thresholds
    told = explain(THRESHOLDS, file)
    shown = told if args.all or file is None else [value for value in told if value.changed]
    if args.format == "json":
        print(json_text([_fields(value) for value in shown]))
        return 0
    if not shown:
        print(say("cli-thresholds-same", file=str(file)))
        return 0
    headings = [say(f"cli-thresholds-{key}") for key in ("name", "here", "shipped", "unit", "source")]
    rows = [
        [
            value.path,
            value.written() + ("  *" if value.changed and args.all else ""),
            _shipped(value),
            value.unit,
            value.source,
        ]
        for value in shown
    ]
    print(table(headings, rows))
    return 0


def _shipped(value: Explained) -> str:
    from cbi_monitor.settings.faults import toml_text

    return "" if value.shipped is None else toml_text(value.shipped)


def _fields(value: Explained) -> dict[str, Any]:
    return {
        "name": value.path,
        "value": value.value,
        "shipped": value.shipped,
        "changed": value.changed,
        "unit": value.unit,
        "meaning": value.meaning,
        "source": value.source,
        "line": value.line,
    }


def explain_condition(args: argparse.Namespace) -> int:
    """One condition in words, with the numbers in force; without a name: the list of conditions."""
    file: Path | None = args.thresholds
    heads = tables(THRESHOLDS, file)
    if args.condition is None:
        print(
            table(
                [say("cli-condition"), say("cli-meaning")], [[name, words] for name, words in heads.items()]
            )
        )
        return 0
    name = args.condition.replace("-", "_")
    if name not in heads:
        from cbi_monitor.settings.faults import guess

        near = guess(name, heads)
        hint = say("cli-did-you-mean", name=near) if near else ""
        raise WrongUse(say("cli-no-such-condition", name=args.condition, known=", ".join(heads)) + hint)
    told = [value for value in explain(THRESHOLDS, file) if value.table == name]
    thresholds = load_thresholds(file)
    key, facts = explain_life(thresholds) if name == "life" else alert_explain(name, thresholds)
    print(f"{name}\n{say(key, **facts)}\n")
    spoken_for = speakers(name) if name != "life" else ()
    if spoken_for:
        print(say("cli-spoken-for", names=", ".join(spoken_for)) + "\n")
    for value in told:
        label = value.path.partition(".")[2] or value.path
        was = say("cli-thresholds-was", shipped=_shipped(value)) if value.changed else ""
        print(f"  {label} = {value.written()}  ({value.unit}){was}")
        print(f"      {value.meaning}")
        print(f"      {say('cli-source', source=value.source or say('cli-source-ward'))}")
    return 0


def test(args: argparse.Namespace) -> int:
    """Does each file's list of expected alerts come true? A difference is printed and makes the status 1."""
    from cbi_monitor.cli.expectations import run

    return run(args)
