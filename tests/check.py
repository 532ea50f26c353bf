"""The one command: `python tests/check.py` asks every guard of this house, whatever an earlier one answered.

ruff (rules and form), mypy (strict outside the screens), import-linter (who may import whom), then the tests: first
those that run beside each other (windows without a screen), then, one after the other, the nurse's stories in a real
window and what measures time. Exit 0 only where all of them pass. Names as arguments run these guards alone, `--list`
tells the names.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

HOUSE = Path(__file__).resolve().parent.parent
BESIDE_EACH_OTHER = "not story and not alone"
ONE_BY_ONE = "story or alone"
# import-linter has no `python -m`: running its module that way does nothing at all, and calls it success.
LINT_IMPORTS = "from importlinter.cli import lint_imports_command; lint_imports_command()"


@dataclass(frozen=True, slots=True)
class Guard:
    """One check: its name, what it holds, and the command (arguments of this Python)."""

    name: str
    holds: str
    command: tuple[str, ...]


GUARDS = (
    Guard("rules", "ruff check", ("-m", "ruff", "check", "--no-cache")),
    Guard("form", "ruff format", ("-m", "ruff", "format", "--check", "--no-cache")),
    Guard("types", "mypy", ("-m", "mypy")),
    Guard("rooms", "import-linter", ("-c", LINT_IMPORTS, "--no-cache", "--no-logo")),
    Guard("tests", "pytest, two at a time", ("-m", "pytest", "-n", "2", "-m", BESIDE_EACH_OTHER)),
    Guard("stories", "pytest, one by one in a real window", ("-m", "pytest", "-m", ONE_BY_ONE)),
)


def passes(guard: Guard) -> bool:
    """Run one guard with this Python, printing as it goes."""
    print(f"\n== {guard.name}: {guard.holds}", flush=True)
    # -P: a module of ours in the current folder never stands in for a tool.
    done = subprocess.run([sys.executable, "-P", *guard.command], cwd=HOUSE, env=_environment(), check=False)
    return done.returncode == 0


def _environment() -> dict[str, str]:
    return {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "PYTHONUNBUFFERED": "1"}


def main(names: list[str]) -> int:
    """Run the guards of these names, or all. Returns 0, 1 where one did not pass, 2 where there is no such guard."""
    known = {guard.name: guard for guard in GUARDS}
    if names == ["--list"]:
        for guard in GUARDS:
            print(f"{guard.name:8} {guard.holds}")
        return 0
    unknown = [name for name in names if name not in known]
    if unknown:
        print(f"no guard is called {', '.join(unknown)}; write one of {', '.join(known)}", file=sys.stderr)
        return 2
    answers: list[tuple[str, bool, float]] = []
    for guard in [known[name] for name in names] or GUARDS:
        started = time.monotonic()
        answers.append((guard.name, passes(guard), time.monotonic() - started))
    print()
    for name, passed, seconds in answers:
        print(f"{'pass' if passed else 'FAIL'}  {name:8} {seconds:6.1f} s")
    return 0 if all(passed for _, passed, _ in answers) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
