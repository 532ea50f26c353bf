"""The tested versions are named and are those under test; an installed wheel holds all that the program needs."""

from __future__ import annotations

import importlib.metadata
import json
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement

from tests.house.conftest import HOUSE

PROJECT = tomllib.loads((HOUSE / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def _plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def _tested_versions() -> dict[str, str]:
    lines = (HOUSE / "packaging/constraints.txt").read_text(encoding="utf-8").splitlines()
    pairs = [line.split("==") for line in lines if line and not line.startswith("#")]
    return {_plain(name): version for name, version in pairs}


def _needed() -> set[str]:
    """Every package that the program or its tests need, whatever needs it (pip itself comes with Python)."""
    to_see = [
        Requirement(text) for text in [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["dev"]]
    ]
    seen: set[tuple[str, frozenset[str]]] = set()
    while to_see:
        wanted = to_see.pop()
        key = (_plain(wanted.name), frozenset(wanted.extras))
        if key in seen:
            continue
        seen.add(key)
        for text in importlib.metadata.distribution(wanted.name).requires or []:
            needed = Requirement(text)
            extras = wanted.extras or {""}
            if needed.marker is None or any(needed.marker.evaluate({"extra": extra}) for extra in extras):
                to_see.append(needed)
    return {name for name, _ in seen} - {"pip"}


def test_every_package_needed_has_its_tested_version() -> None:
    assert _needed() - set(_tested_versions()) == set()


def test_the_versions_under_test_are_the_tested_ones() -> None:
    installed = {name: importlib.metadata.version(name) for name in _needed()}
    assert installed == {name: version for name, version in _tested_versions().items() if name in installed}


def test_the_tested_versions_are_ones_that_the_project_allows() -> None:
    tested = _tested_versions()
    for text in [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["dev"]]:
        wanted = Requirement(text)
        assert wanted.specifier.contains(tested[_plain(wanted.name)]), text


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A wheel of this checkout, built and installed into a folder of its own."""
    place = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-P", "-m", "hatchling", "build", "-t", "wheel", "-d", str(place)]
    _run(build, HOUSE)
    (wheel,) = place.glob("*.whl")
    target = place / "installed"
    pip = [
        sys.executable,
        "-m",
        "pip",
        "install",
        "-q",
        "--no-deps",
        "--no-index",
        "--target",
        str(target),
        str(wheel),
    ]
    _run(pip, place)
    return target


def _run(command: list[str], folder: Path, **env: str) -> str:
    done = subprocess.run(
        command,
        cwd=folder,
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1", **env},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def _in_the_wheel(installed: Path, program: str) -> dict[str, object]:
    """Run a program on the installed package, far from the checkout; it prints one JSON object."""
    head = "import json, cbi_monitor\n"
    said = _run([sys.executable, "-P", "-c", head + program], installed.parent, PYTHONPATH=str(installed))
    told: dict[str, object] = json.loads(said.splitlines()[-1])
    assert str(told.pop("at")).startswith(str(installed)), "the checkout was tried, not the wheel"
    return told


LOAD_FORMS = """
from PySide6.QtUiTools import QUiLoader
from PySide6.QtWidgets import QApplication
from cbi_monitor import resources
app = QApplication([])
loader = QUiLoader()
loaded = {file.name: loader.load(str(file)) is not None for file in resources.forms()}
print(json.dumps({"at": cbi_monitor.__file__, "folder": str(resources.folder("ui_forms")), "loaded": loaded}))
"""


def test_every_form_loads_from_the_wheel(installed: Path) -> None:
    told = _in_the_wheel(installed, LOAD_FORMS)
    here = {file.name: True for file in (HOUSE / "ui_forms").glob("*.ui")}
    assert here, "there is no form at all"
    assert told["loaded"] == here
    assert str(told["folder"]).startswith(str(installed))


READ_SESSIONS = """
from cbi_monitor import resources
from cbi_monitor.journal import codec
read = {file.name: len(codec.read_session_file(file)) for file in resources.demo_sessions()}
print(json.dumps({"at": cbi_monitor.__file__, "folder": str(resources.folder("demo_sessions")), "read": read}))
"""


def test_every_demo_session_reads_from_the_wheel(installed: Path) -> None:
    told = _in_the_wheel(installed, READ_SESSIONS)
    read = told["read"]
    assert isinstance(read, dict)
    assert set(read) == {file.name for file in (HOUSE / "demo_sessions").glob("*.jsonl")}
    assert len(read) >= 7
    assert all(count > 50 for count in read.values()), read
    assert str(told["folder"]).startswith(str(installed))


SHIPPED = """
from cbi_monitor.settings import load_scale, load_thresholds, load_ward
from cbi_monitor.wording import say
told = {"zone": load_ward().zone, "grades": len(load_scale().grades), "says": say("caution-stop")}
load_thresholds()
print(json.dumps({"at": cbi_monitor.__file__, **told}))
"""


def test_shipped_settings_and_sentences_are_in_the_wheel(installed: Path) -> None:
    told = _in_the_wheel(installed, SHIPPED)
    assert told["zone"] == "Europe/London"
    assert told["grades"] == 5
    assert "stop the inflow" in str(told["says"])


def test_every_file_of_the_package_is_in_the_wheel(installed: Path) -> None:
    """Sentences, shipped settings and the like are no Python files, and easily left out."""
    package = HOUSE / "cbi_monitor"
    here = {
        str(file.relative_to(package))
        for file in package.rglob("*")
        if file.is_file() and "__pycache__" not in file.parts
    }
    there = {
        str(file.relative_to(installed / "cbi_monitor")) for file in (installed / "cbi_monitor").rglob("*")
    }
    assert here - there == set()


def test_the_command_of_the_wheel_answers(installed: Path) -> None:
    program = "import sys; from cbi_monitor.cli import main; sys.exit(main(['--help']))"
    said = _run([sys.executable, "-P", "-c", program], installed.parent, PYTHONPATH=str(installed))
    assert "balance" in said
