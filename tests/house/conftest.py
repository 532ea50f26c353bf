"""Copies of this house, in which a test may plant a fault."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy of the house, or of a part of it."""

    root: Path

    def plant(self, path: str, text: str) -> None:
        """Write a file into the copy, folders too."""
        file = self.root / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")

    def python(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        """Run this Python in the copy, whose package comes before the installed one."""
        return subprocess.run(
            [sys.executable, *arguments],
            cwd=self.root,
            env={**os.environ, "PYTHONPATH": str(self.root), "PYTHONDONTWRITEBYTECODE": "1"},
            capture_output=True,
            text=True,
            check=False,
        )

    def check(self, *guards: str) -> subprocess.CompletedProcess[str]:
        """`python tests/check.py` of the copy."""
        return self.python("tests/check.py", *guards)


@pytest.fixture
def copy(tmp_path: Path) -> Callable[[bool], Copy]:
    """Give a copy of the house: with the package as it is, or (bare) with an empty one."""

    def make(bare: bool = False) -> Copy:
        root = tmp_path / ("bare" if bare else "whole")
        (root / "tests").mkdir(parents=True)
        shutil.copy(HOUSE / "pyproject.toml", root)
        shutil.copy(HOUSE / "tests/check.py", root / "tests")
        if bare:
            (root / "cbi_monitor").mkdir()
            (root / "cbi_monitor/__init__.py").write_text('"""A house without rooms."""\n', encoding="utf-8")
        else:
            leave = shutil.ignore_patterns("__pycache__")
            shutil.copytree(HOUSE / "cbi_monitor", root / "cbi_monitor", ignore=leave)
        return Copy(root)

    return make
