"""The README says the cautions word for word, and names only what exists."""

from __future__ import annotations

import re
import subprocess
import sys

import pytest

from cbi_monitor.wording import say
from tests.house.conftest import HOUSE

README = (HOUSE / "README.md").read_text(encoding="utf-8")
CAUTIONS = ("caution-aid", "caution-quiet", "caution-thresholds", "caution-stop")
COMMANDS = sorted(set(re.findall(r"`(?:\.venv/bin/)?cbi-monitor ([a-z]+(?: [a-z]+)?)", README)))
PATHS = sorted(
    set(
        re.findall(r"\]\(([^)#:]+)\)", README)
        + re.findall(r"((?:packaging|tests|cbi_monitor|demo_sessions)/[\w./-]+)", README)
    )
)


def test_the_cautions_come_word_for_word_before_the_commands() -> None:
    places = [README.find(say(key)) for key in CAUTIONS]
    assert -1 not in places, f"missing: {CAUTIONS[places.index(-1)]}"
    job, commands = README.find("charts continuous bladder irrigation"), README.find("bash packaging/run")
    assert sorted([job, *places, commands]) == [job, *places, commands]
    assert job > 0


def test_the_two_commands_stand_in_one_block() -> None:
    blocks = re.findall(r"```\n(.*?)```", README, re.DOTALL)
    assert blocks[0].splitlines() == ["bash packaging/run", "bash packaging/test"]


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_exists(command: str) -> None:
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "from cbi_monitor.cli import main; raise SystemExit(main())",
            *command.split(),
            "--help",
        ],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr


def test_commands_are_named_at_all() -> None:
    assert len(COMMANDS) >= 6


@pytest.mark.parametrize("path", PATHS)
def test_a_file_exists(path: str) -> None:
    assert (HOUSE / path.rstrip(".")).exists()


def test_an_unknown_command_would_be_found() -> None:
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "from cbi_monitor.cli import main; raise SystemExit(main())",
            "drain",
            "--help",
        ],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2, done.stderr


def test_licence_is_mit_of_the_contributors() -> None:
    text = (HOUSE / "LICENSE").read_text(encoding="utf-8")
    assert text.startswith("MIT License")
    assert "cbi_monitor contributors" in text
