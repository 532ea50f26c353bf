"""Each guard of `python tests/check.py` passes what is right and fails what is planted."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.house.conftest import HOUSE, Copy

MakeCopy = Callable[..., Copy]

IMPORTS_THAT_ROOMS_FORBID = {
    "a lower room imports an upper one": ("ledger", "from cbi_monitor import alerts"),
    "the model imports the ledger": ("model", "import cbi_monitor.ledger"),
    "wording imports settings": ("wording", "from cbi_monitor import settings"),
    "the ward imports a screen": ("ward", "from cbi_monitor import screens"),
    "siblings: exports import the journal": ("exports", "from cbi_monitor import journal"),
    "siblings: the journal imports settings": ("journal", "from cbi_monitor import settings"),
    "siblings: practice imports exports": ("practice", "from cbi_monitor import exports"),
    "siblings: the model asks for files": ("model", "from cbi_monitor import resources"),
    "a pure room opens a database": ("ledger", "import sqlite3"),
    "a pure room loads tables": ("alerts", "import pandas"),
    "a pure room loads Qt": ("model", "import PySide6.QtCore"),
    "a pure room reads the clock": ("alerts", "import time"),
    "Qt outside the screens": ("exports", "from PySide6 import QtGui"),
}


@pytest.mark.parametrize("planted", IMPORTS_THAT_ROOMS_FORBID)
def test_a_forbidden_import_fails(planted: str, copy: MakeCopy) -> None:
    room, line = IMPORTS_THAT_ROOMS_FORBID[planted]
    house = copy()
    house.plant(f"cbi_monitor/{room}/planted.py", f'"""Planted."""\n\n{line}\n')
    done = house.check("rooms")
    assert done.returncode == 1, done.stdout
    assert f"cbi_monitor.{room}.planted ->" in done.stdout


def test_a_room_that_no_layer_names_fails(copy: MakeCopy) -> None:
    house = copy()
    house.plant("cbi_monitor/cellar/__init__.py", '"""A room that nobody declared."""\n')
    done = house.check("rooms")
    assert done.returncode == 1
    assert "cellar" in done.stdout


def test_a_room_that_has_gone_fails(copy: MakeCopy) -> None:
    """A layer whose folder is no more would hold nothing and look like a guard."""
    house = copy()
    (house.root / "cbi_monitor/practice").rename(house.root / "elsewhere")
    done = house.check("rooms")
    assert done.returncode == 1
    assert "practice" in done.stdout + done.stderr


def test_the_rooms_as_they_are_pass(copy: MakeCopy) -> None:
    done = copy().check("rooms")
    assert done.returncode == 0, done.stdout


CODE_THAT_RULES_FORBID = {
    "F401": "import os",
    "TID251": "from datetime import UTC, datetime\n\nSTARTED = datetime.now(UTC)",
    "BLE001": "try:\n    FIGURE = 1\nexcept Exception:\n    FIGURE = 2",
    "S110": "try:\n    FIGURE = 1\nexcept ValueError:\n    pass",
    "T201": 'print("how a room would talk")',
    "TID252": "from . import nowhere",
    "D103": "def public() -> None:\n    return",
    "DTZ001": "from datetime import datetime\n\nSTARTED = datetime(2026, 3, 1)",
}


@pytest.mark.parametrize("rule", CODE_THAT_RULES_FORBID)
def test_code_against_the_rules_fails(rule: str, copy: MakeCopy) -> None:
    house = copy(bare=True)
    assert house.check("rules").returncode == 0
    house.plant("cbi_monitor/planted.py", f'"""Planted."""\n\n{CODE_THAT_RULES_FORBID[rule]}\n')
    done = house.check("rules")
    assert done.returncode == 1
    assert rule in done.stdout
    assert "planted.py" in done.stdout


def test_the_one_clock_may_read_the_clock(copy: MakeCopy) -> None:
    house = copy(bare=True)
    house.plant("cbi_monitor/ward/__init__.py", '"""Ward."""\n')
    house.plant("cbi_monitor/ward/clock.py", f'"""The clock."""\n\n{CODE_THAT_RULES_FORBID["TID251"]}\n')
    assert house.check("rules").returncode == 0
    assert (HOUSE / "cbi_monitor/ward/clock.py").is_file(), "the exception is for a file that is no more"


def test_code_in_another_form_fails(copy: MakeCopy) -> None:
    house = copy(bare=True)
    assert house.check("form").returncode == 0
    house.plant("cbi_monitor/planted.py", '"""Planted."""\n\nFIGURE = {\'a\':1}\n')
    done = house.check("form")
    assert done.returncode == 1
    assert "planted.py" in done.stdout


CODE_THAT_TYPES_FORBID = {
    "no-untyped-def": "def bare(volume):\n    return volume",
    "return-value": 'def volume() -> int:\n    return "600"',
    "operator": "def total(left: int | None) -> int:\n    return left + 1",
    "attr-defined": "from cbi_monitor import nothing_of_that_name",
    # The pydantic plugin: without it, any argument would pass.
    "call-arg": (
        "from pydantic import BaseModel\n\n\nclass Bag(BaseModel):\n    label_ml: float\n\n\n"
        "BAG = Bag(label_ml=3000, lable=1)"
    ),
}


@pytest.mark.parametrize("error", CODE_THAT_TYPES_FORBID)
def test_code_of_wrong_types_fails(error: str, copy: MakeCopy) -> None:
    house = copy(bare=True)
    house.plant("cbi_monitor/planted.py", f'"""Planted."""\n\n{CODE_THAT_TYPES_FORBID[error]}\n')
    done = house.check("types")
    assert done.returncode == 1
    assert f"[{error}]" in done.stdout
    assert "planted.py" in done.stdout


def test_a_screen_that_asks_for_what_a_room_has_not_fails(copy: MakeCopy) -> None:
    """Screens are outside mypy's strictness, not outside mypy."""
    house = copy(bare=True)
    house.plant("cbi_monitor/screens/__init__.py", '"""Screens."""\n')
    house.plant("cbi_monitor/screens/loose.py", "def untyped(volume):\n    return volume\n")
    assert house.check("types").returncode == 0
    house.plant("cbi_monitor/screens/planted.py", "import cbi_monitor\n\nprint(cbi_monitor.no_such_door)\n")
    done = house.check("types")
    assert done.returncode == 1
    assert "[attr-defined]" in done.stdout


def test_code_of_right_types_passes(copy: MakeCopy) -> None:
    house = copy(bare=True)
    house.plant(
        "cbi_monitor/planted.py",
        '"""Planted."""\n\n\ndef volume() -> int:\n    """Millilitres."""\n    return 600\n',
    )
    done = house.check("types")
    assert done.returncode == 0, done.stdout


TESTS_THAT_MUST_FAIL = {
    "a wrong figure": "def test_planted():\n    assert 1 + 1 == 3\n",
    "a warning": 'import warnings\n\ndef test_planted():\n    warnings.warn("old", DeprecationWarning, stacklevel=1)\n',
    "a file left open": "def test_planted():\n    open(__file__)\n",
    "a fault in a thread": (
        "import threading\n\ndef test_planted():\n    worker = threading.Thread(target=lambda: 1 / 0)\n"
        "    worker.start()\n    worker.join()\n"
    ),
    "a warning of Qt's": (
        "from PySide6.QtCore import qWarning\n\ndef test_planted(qtbot):\n    qWarning('a label has no buddy')\n"
    ),
    "an exception in a slot of Qt's": (
        "from PySide6.QtCore import QTimer\n\ndef test_planted(qtbot):\n    QTimer.singleShot(0, lambda: 1 / 0)\n"
        "    qtbot.wait(20)\n"
    ),
    "an unknown mark": "import pytest\n\n@pytest.mark.stoory\ndef test_planted():\n    pass\n",
    "an expected failure that passes": "import pytest\n\n@pytest.mark.xfail\ndef test_planted():\n    pass\n",
}


@pytest.mark.parametrize("planted", TESTS_THAT_MUST_FAIL)
def test_a_failing_test_fails_the_command(planted: str, copy: MakeCopy) -> None:
    house = copy(bare=True)
    house.plant("tests/test_right.py", "def test_right():\n    pass\n")
    house.plant("tests/test_planted.py", TESTS_THAT_MUST_FAIL[planted])
    done = house.check("tests")
    assert done.returncode == 1, done.stdout
    assert "FAILED tests/test_planted.py" in done.stdout or "ERROR tests/test_planted.py" in done.stdout
    assert "1 passed" in done.stdout


def test_right_tests_pass_the_command(copy: MakeCopy) -> None:
    house = copy(bare=True)
    house.plant("tests/test_right.py", "def test_right():\n    pass\n")
    assert house.check("tests").returncode == 0


def test_no_story_at_all_fails_the_command(copy: MakeCopy) -> None:
    """A run that finds nothing to run is no pass."""
    house = copy(bare=True)
    house.plant("tests/test_right.py", "def test_right():\n    pass\n")
    assert house.check("stories").returncode == 1


def test_a_failing_story_fails_the_command(copy: MakeCopy) -> None:
    house = copy(bare=True)
    story = "import pytest\n\n@pytest.mark.story\ndef test_planted():\n    assert {}\n"
    house.plant("tests/test_planted.py", story.format("True"))
    assert house.check("stories").returncode == 0
    house.plant("tests/test_planted.py", story.format("False"))
    assert house.check("stories").returncode == 1


def test_one_failing_guard_fails_the_command_and_the_others_are_still_asked(copy: MakeCopy) -> None:
    house = copy(bare=True)
    house.plant("cbi_monitor/planted.py", '"""Planted."""\n\nimport os\n')
    done = house.check("rules", "form")
    assert done.returncode == 1
    assert "FAIL  rules" in done.stdout
    assert "pass  form" in done.stdout


def test_an_unknown_guard_is_wrong_use(copy: MakeCopy) -> None:
    done = copy(bare=True).check("ruls")
    assert done.returncode == 2
    assert "write one of rules, form, types, rooms, tests, stories" in done.stderr
