"""The scripts of packaging/: what they decide, tried in a copy, with a system that lacks everything."""

from __future__ import annotations

import os
import shutil
import stat
import subprocess
from pathlib import Path

import pytest

from tests.house.conftest import HOUSE

SCRIPTS = ("packaging/run", "packaging/test", "packaging/bundle", "packaging/setup.sh", ".ci/run")


def _bash(program: str, folder: Path, **env: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["bash", "-c", program],
        cwd=folder,
        env={**os.environ, **env},
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize("script", SCRIPTS)
def test_a_script_can_be_read_by_bash(script: str) -> None:
    done = subprocess.run(["bash", "-n", HOUSE / script], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("script", [name for name in SCRIPTS if not name.endswith(".sh")])
def test_a_script_may_be_executed(script: str) -> None:
    assert (HOUSE / script).stat().st_mode & stat.S_IXUSR


@pytest.mark.parametrize("script", SCRIPTS)
def test_a_script_names_no_host_to_fetch_from(script: str) -> None:
    """Mirrors, proxies and certificates are the machine's own business."""
    text = (HOUSE / script).read_text(encoding="utf-8")
    assert "://" not in text
    assert "--index-url" not in text


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """The scripts in a folder of their own."""
    root = tmp_path / "ward/checkout"
    shutil.copytree(HOUSE / "packaging", root / "packaging")
    shutil.copytree(HOUSE / ".ci", root / ".ci")
    shutil.copy(HOUSE / "pyproject.toml", root)
    return root


def _program(place: Path, name: str, text: str) -> None:
    place.mkdir(exist_ok=True)
    file = place / name
    file.write_text(f"#!/bin/sh\n{text}\n", encoding="utf-8")
    file.chmod(0o755)


def _path_of_a_bare_machine(place: Path, user: int) -> str:
    """Programs of a machine on which no package is installed; apt-get writes down what it was asked."""
    _program(place, "dpkg-query", "exit 1")
    _program(place, "id", f"echo {user}")
    _program(place, "apt-get", f'echo "$@" >> {place}/asked')
    return f"{place}:{os.environ['PATH']}"


def test_who_is_not_root_gets_one_exact_command(checkout: Path, tmp_path: Path) -> None:
    place = tmp_path / "programs"
    done = _bash("bash packaging/run", checkout, PATH=_path_of_a_bare_machine(place, user=1000))
    assert done.returncode == 1
    commands = [line for line in done.stderr.splitlines() if "apt-get" in line]
    assert len(commands) == 1
    assert commands[0].strip().startswith("sudo sh -c 'apt-get update && apt-get install -y")
    assert "libxcb-cursor0" in commands[0]
    assert not (place / "asked").exists(), "apt-get was started without being root"
    assert not (checkout / ".venv").exists(), "it did not stop"


def test_root_gets_what_is_missing(checkout: Path, tmp_path: Path) -> None:
    place = tmp_path / "programs"
    program = ". packaging/setup.sh; bring_system libegl1 xvfb"
    done = _bash(program, checkout, PATH=_path_of_a_bare_machine(place, user=0))
    assert done.returncode == 0, done.stderr
    asked = (place / "asked").read_text(encoding="utf-8").splitlines()
    assert asked[0].startswith("update")
    assert asked[1].startswith("install")
    assert asked[1].endswith("libegl1 xvfb")


def test_what_is_there_is_not_asked_for(checkout: Path, tmp_path: Path) -> None:
    place = tmp_path / "programs"
    path = _path_of_a_bare_machine(place, user=0)
    _program(place, "dpkg-query", "printf installed")
    done = _bash(". packaging/setup.sh; bring_system libegl1 xvfb", checkout, PATH=path)
    assert done.returncode == 0, done.stderr
    assert not (place / "asked").exists()


def test_a_failing_apt_is_told_and_stops(checkout: Path, tmp_path: Path) -> None:
    place = tmp_path / "programs"
    path = _path_of_a_bare_machine(place, user=0)
    _program(place, "apt-get", "echo 'E: no such package'; exit 100")
    done = _bash(
        "set -euo pipefail; . packaging/setup.sh; bring_system libegl1; echo went on", checkout, PATH=path
    )
    assert done.returncode == 1
    assert "E: no such package" in done.stderr
    assert "went on" not in done.stdout


def test_an_old_python_is_not_taken(checkout: Path, tmp_path: Path) -> None:
    place = tmp_path / "programs"
    for name in ("python3", "python3.14", "python3.13", "python3.12", "python3.11"):
        _program(place, name, "exit 1")
    _program(place, "python3.12", "exit 0")
    path = f"{place}:{os.environ['PATH']}"
    done = _bash(". packaging/setup.sh; find_python", checkout, PATH=path)
    assert done.stdout.strip() == str(place / "python3.12")
    _program(place, "python3.12", "exit 1")
    done = _bash(". packaging/setup.sh; find_python", checkout, PATH=path)
    assert done.stdout.strip() == ""


@pytest.fixture
def made_before(checkout: Path) -> Path:
    """A checkout in which everything was installed by an earlier run."""
    subprocess.run(["python3", "-m", "venv", checkout / ".venv"], check=True)
    _program(checkout / ".venv/bin", "cbi-monitor", 'echo "opened: $*"')
    done = _bash('. packaging/setup.sh; stamp_of run "$venv/bin/python" >"$venv/.stamp-run"', checkout)
    assert done.returncode == 0, done.stderr
    return checkout


NOBODY_IS_ASKED = {"http_proxy": "http://127.0.0.1:9", "https_proxy": "http://127.0.0.1:9"}


def test_a_second_run_starts_at_once(made_before: Path, tmp_path: Path) -> None:
    place = tmp_path / "programs"
    path = _path_of_a_bare_machine(place, user=0)
    done = _bash("bash packaging/run --into elsewhere", made_before, PATH=path, **NOBODY_IS_ASKED)
    assert done.returncode == 0, done.stderr
    assert done.stdout == "opened: demo --into elsewhere\n"
    assert done.stderr == ""
    assert not (place / "asked").exists()


@pytest.mark.parametrize("changed", ["pyproject.toml", "packaging/constraints.txt"])
def test_a_changed_need_is_installed(changed: str, made_before: Path) -> None:
    with (made_before / changed).open("a", encoding="utf-8") as file:
        file.write("\n# changed\n")
    assert _bash(". packaging/setup.sh; stamped run", made_before).returncode == 1


def test_a_checkout_that_was_moved_is_made_anew(made_before: Path) -> None:
    moved = made_before.rename(made_before.parent / "moved")
    assert _bash(". packaging/setup.sh; stamped run", moved).returncode == 1
    assert _bash(". packaging/setup.sh; sound_venv", moved).returncode == 1


def test_installed_to_run_is_not_yet_installed_to_test(made_before: Path) -> None:
    assert _bash(". packaging/setup.sh; stamped run", made_before).returncode == 0
    assert _bash(". packaging/setup.sh; stamped test", made_before).returncode == 1


@pytest.mark.parametrize("there", [True, False])
def test_ci_names_the_open_records_where_they_lie_beside_the_checkout(there: bool, checkout: Path) -> None:
    (checkout / "packaging/test").write_text('echo "records: ${CBI_OPEN_DATA:-none}"\n', encoding="utf-8")
    records = checkout.parent / "shared/data"
    if there:
        records.mkdir(parents=True)
    environment = {name: value for name, value in os.environ.items() if name != "CBI_OPEN_DATA"}
    done = subprocess.run([checkout / ".ci/run"], env=environment, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == f"records: {records if there else 'none'}"


def test_the_desktop_entry_names_a_command_and_an_icon_that_exist() -> None:
    lines = (HOUSE / "packaging/cbi-monitor.desktop").read_text(encoding="utf-8").splitlines()
    assert lines[0] == "[Desktop Entry]"
    entry = dict(line.split("=", 1) for line in lines[1:] if line)
    assert entry["Type"] == "Application"
    assert entry["Exec"] == "cbi-monitor"
    assert entry["Terminal"] == "false"
    assert (HOUSE / f"packaging/{entry['Icon']}.svg").is_file()
