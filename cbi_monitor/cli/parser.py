"""What can be typed after ``cbi-monitor``. Only words; the work is imported when a command runs."""

from __future__ import annotations

import argparse
import importlib
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from cbi_monitor import __version__
from cbi_monitor.model.instants import parse_instant
from cbi_monitor.wording import say

Run = Callable[[argparse.Namespace], int]


class _Help(argparse.RawDescriptionHelpFormatter):
    """Examples keep their lines; help texts use the terminal's width."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, max_help_position=30)


def _instant(text: str) -> datetime:
    try:
        return parse_instant(text)
    except ValueError as fault:
        raise argparse.ArgumentTypeError(str(fault)) from None


def _positive(text: str) -> float:
    value = float(text)
    if not 0 < value < 1000:
        raise argparse.ArgumentTypeError(say("cli-not-positive", given=text))
    return value


def run_of(args: argparse.Namespace) -> Run:
    """The function of the command that was typed; its module is imported here."""
    module, name = args.run
    run: Run = getattr(importlib.import_module(f"cbi_monitor.cli.{module}"), name)
    return run


def make_parser() -> argparse.ArgumentParser:
    """The parser with every command."""
    parser = argparse.ArgumentParser(
        prog="cbi-monitor",
        description=say("cli-about"),
        epilog=say("cli-examples"),
        formatter_class=_Help,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"cbi-monitor {__version__}")
    _ward(parser)
    parser.add_argument("--journal", type=Path, metavar="FILE", help=say("cli-opt-journal-app"))
    parser.set_defaults(run=("opening", "app"))
    commands = parser.add_subparsers(title=say("cli-commands"), metavar="COMMAND")
    _demo(commands)
    _balance(commands)
    _alerts(commands)
    _backtest(commands)
    _report(commands)
    _thresholds(commands)
    _journal(commands)
    return parser


def _command(
    commands: Any, name: str, run: tuple[str, str] | None, *, key: str = ""
) -> argparse.ArgumentParser:
    key = key or name
    command: argparse.ArgumentParser = commands.add_parser(
        name,
        help=say(f"cli-{key}"),
        description=say(f"cli-{key}-about"),
        epilog=say(f"cli-{key}-examples"),
        formatter_class=_Help,
        allow_abbrev=False,
    )
    if run is not None:
        command.set_defaults(run=run)
    return command


# A sub-command's own default would wipe out what was typed before its name (--ward X balance …): so it has none.


def _ward(command: argparse.ArgumentParser, **kept: Any) -> None:
    command.add_argument("--ward", type=Path, metavar="FILE", help=say("cli-opt-ward"), **kept)
    command.add_argument("--effluent", type=Path, metavar="FILE", help=say("cli-opt-effluent"), **kept)
    command.add_argument("--thresholds", type=Path, metavar="FILE", help=say("cli-opt-thresholds"), **kept)


def _common(command: argparse.ArgumentParser) -> None:
    _ward(command, default=argparse.SUPPRESS)


def _source(command: argparse.ArgumentParser, *, many: bool) -> None:
    if many:
        command.add_argument(
            "session_files", nargs="*", metavar="SESSION", type=Path, help=say("cli-arg-sessions")
        )
    else:
        command.add_argument(
            "session_file", nargs="?", metavar="SESSION", type=Path, help=say("cli-arg-session")
        )
    command.add_argument(
        "--journal", type=Path, metavar="FILE", default=argparse.SUPPRESS, help=say("cli-opt-journal")
    )
    command.add_argument("--session", metavar="ID", help=say("cli-opt-session"))
    _common(command)


def _demo(commands: Any) -> None:
    command = _command(commands, "demo", ("opening", "demo"))
    out = Path("demo_output")
    command.add_argument("--out", type=Path, metavar="FOLDER", default=out, help=say("cli-opt-demo-out"))
    command.add_argument("--render", action="store_true", help=say("cli-opt-render"))
    _common(command)


def _balance(commands: Any) -> None:
    command = _command(commands, "balance", ("balance", "run"))
    _source(command, many=False)
    command.add_argument(
        "--by", choices=("check", "hour", "shift", "day"), default="check", help=say("cli-opt-by")
    )
    command.add_argument(
        "--format", choices=("table", "json", "csv"), default="table", help=say("cli-opt-format")
    )


def _alerts(commands: Any) -> None:
    command = _command(commands, "alerts", ("alerts", "run"))
    _source(command, many=True)
    command.add_argument(
        "--as", dest="known", choices=("known", "charted"), default="known", help=say("cli-opt-as")
    )
    command.add_argument("--until", type=_instant, metavar="T", help=say("cli-opt-until"))
    command.add_argument("--tasks", action="store_true", help=say("cli-opt-tasks"))
    command.add_argument("--format", choices=("table", "json"), default="table", help=say("cli-opt-format"))


def _backtest(commands: Any) -> None:
    command = _command(commands, "backtest", ("backtest", "run"))
    _source(command, many=True)
    command.add_argument("--against", type=Path, metavar="FILE", help=say("cli-opt-against"))
    command.add_argument(
        "--beds-per-nurse", type=_positive, default=4.0, metavar="N", help=say("cli-opt-beds")
    )
    command.add_argument("--picture", type=Path, metavar="FILE.svg", help=say("cli-opt-picture"))
    command.add_argument("--overwrite", action="store_true", help=say("cli-opt-overwrite"))
    command.add_argument("--format", choices=("table", "json"), default="table", help=say("cli-opt-format"))


def _report(commands: Any) -> None:
    command = _command(commands, "report", ("report", "run"))
    _source(command, many=False)
    command.add_argument("--shift", metavar="NAME", help=say("cli-opt-shift"))
    command.add_argument("--from", dest="start", type=_instant, metavar="T", help=say("cli-opt-from"))
    command.add_argument("--to", dest="end", type=_instant, metavar="T", help=say("cli-opt-to"))
    command.add_argument("--out", type=Path, metavar="FOLDER", required=True, help=say("cli-opt-out"))
    command.add_argument("--format", default="pdf,csv", metavar="LIST", help=say("cli-opt-report-format"))
    command.add_argument("--overwrite", action="store_true", help=say("cli-opt-overwrite"))
    command.add_argument("--no-names", action="store_true", help=say("cli-opt-no-names"))


def _thresholds(commands: Any) -> None:
    top = _command(commands, "thresholds", None)
    acts = top.add_subparsers(title=say("cli-acts"), metavar="ACT", required=True)
    check = _command(acts, "check", ("thresholds", "check"), key="thresholds-check")
    check.add_argument("files", nargs="+", type=Path, metavar="FILE", help=say("cli-arg-thresholds"))
    show = _command(acts, "show", ("thresholds", "show"), key="thresholds-show")
    show.add_argument("file", nargs="?", type=Path, metavar="FILE", help=say("cli-arg-thresholds-or-shipped"))
    show.add_argument("--all", action="store_true", help=say("cli-opt-show-all"))
    show.add_argument("--format", choices=("table", "json"), default="table", help=say("cli-opt-format"))
    explain = _command(acts, "explain", ("thresholds", "explain_condition"), key="thresholds-explain")
    explain.add_argument("condition", nargs="?", metavar="CONDITION", help=say("cli-arg-condition"))
    _common(explain)
    test = _command(acts, "test", ("thresholds", "test"), key="thresholds-test")
    test.add_argument("files", nargs="+", type=Path, metavar="FILE", help=say("cli-arg-expectations"))
    _common(test)


def _journal(commands: Any) -> None:
    top = _command(commands, "journal", None)
    acts = top.add_subparsers(title=say("cli-acts"), metavar="ACT", required=True)

    def act(name: str) -> argparse.ArgumentParser:
        command = _command(
            acts, name, ("journal", "import_" if name == "import" else name), key=f"journal-{name}"
        )
        if name != "schema":
            command.add_argument(
                "--journal",
                type=Path,
                metavar="FILE",
                default=argparse.SUPPRESS,
                help=say("cli-opt-own-journal"),
            )
        return command

    act("verify")
    backup = act("backup")
    backup.add_argument("copy", type=Path, metavar="COPY", help=say("cli-arg-copy"))
    restore = act("restore")
    restore.add_argument("copy", type=Path, metavar="COPY", help=say("cli-arg-copy-back"))
    take = act("import")
    take.add_argument("files", nargs="+", type=Path, metavar="FILE", help=say("cli-arg-import"))
    take.add_argument("--map", type=Path, metavar="MAP.toml", help=say("cli-opt-map"))
    take.add_argument("--sessions", type=Path, metavar="TABLE.csv", help=say("cli-opt-sessions"))
    give = act("export")
    give.add_argument("out", type=Path, metavar="FILE", help=say("cli-arg-export"))
    give.add_argument("--session", metavar="ID", help=say("cli-opt-session"))
    give.add_argument("--overwrite", action="store_true", help=say("cli-opt-overwrite"))
    act("schema")
