"""Importing every module of model, ledger and alerts loads no Qt, no tables, no database."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.house.conftest import Copy

MakeCopy = Callable[..., Copy]

PROBE = """
import importlib, pkgutil, sys

seen = 0
for room in ("model", "ledger", "alerts"):
    package = importlib.import_module(f"cbi_monitor.{room}")
    for module in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
        importlib.import_module(module.name)
        seen += 1
heavy = {"PySide6", "shiboken6", "pandas", "numpy", "sqlite3", "pyqtgraph"} & set(sys.modules)
print(seen, "modules;", "loaded:", ", ".join(sorted(heavy)) or "none of the heavy ones")
sys.exit(1 if heavy else 0)
"""


def test_the_pure_rooms_load_nothing_heavy(copy: MakeCopy) -> None:
    done = copy().python("-c", PROBE)
    assert done.returncode == 0, done.stdout + done.stderr
    assert int(done.stdout.split()[0]) >= 8, (
        "the probe found hardly any module: is it looking in the right place?"
    )


@pytest.mark.parametrize(
    ("room", "heavy"),
    [("model", "PySide6"), ("ledger", "sqlite3"), ("alerts", "pandas"), ("alerts", "pyqtgraph")],
)
def test_the_probe_sees_what_is_planted(room: str, heavy: str, copy: MakeCopy) -> None:
    house = copy()
    house.plant(f"cbi_monitor/{room}/planted.py", f"def late():\n    pass\n\n\nimport {heavy}\n")
    done = house.python("-c", PROBE)
    assert done.returncode == 1, done.stdout + done.stderr
    assert heavy in done.stdout
