"""Puts the parts together for a window: the ward's own journal, or the demo ward."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass, field
from pathlib import Path

from cbi_monitor.ward.clock import Clock, SystemClock
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.heartbeat import Heartbeat
from cbi_monitor.ward.places import heartbeat_file, journal_file, settings_folder, state_folder
from cbi_monitor.ward.settings_in_force import InForce, WardFiles
from cbi_monitor.wording import say


@dataclass(frozen=True, slots=True)
class Places:
    """What the command line named; None: the user's own folders."""

    journal: Path | None = None
    files: WardFiles = field(default_factory=WardFiles)


def has_display() -> bool:
    """Whether a window can be seen: on Linux a display, or a Qt platform that was named on purpose."""
    platform = os.environ.get("QT_QPA_PLATFORM", "")
    if platform.partition(":")[0] in ("offscreen", "minimal"):
        return False
    if not sys.platform.startswith("linux"):
        return True
    return bool(platform or os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def ward_files(named: WardFiles) -> WardFiles:
    """The ward's files: as named, else those in the user's settings folder, else the shipped ones."""
    folder = settings_folder()

    def found(given: Path | None, name: str) -> Path | None:
        own = folder / name
        return given or (own if own.exists() else None)

    return WardFiles(
        ward=found(named.ward, "ward.toml"),
        scale=found(named.scale, "effluent.toml"),
        thresholds=found(named.thresholds, "thresholds.toml"),
    )


def ward_desk(places: Places, clock: Clock | None = None) -> Desk:
    """A desk over the ward's journal, not started yet. Raises the journal's Fault."""
    # The database is opened here, not at import, so that "demo" and "--help" never touch it.
    from cbi_monitor.journal.sqlite import SqliteJournal

    path = places.journal or journal_file()
    rules = InForce(ward_files(places.files), state=state_folder())
    return Desk(SqliteJournal(path), rules, clock or SystemClock(), heartbeat=Heartbeat(heartbeat_file(path)))


def open_ward(places: Places) -> int:
    """Open the ward's journal in a window, and stay until it is closed. A fault at the start is said in a sentence."""
    from cbi_monitor.journal.port import Fault

    if not has_display():
        sys.stderr.write(say("app-no-display") + "\n")
        return 1
    from cbi_monitor.screens.start import run, say_fault

    try:
        desk = ward_desk(places)
        before = desk.start(settled=False)
    except Fault as fault:
        sys.stderr.write(f"cbi-monitor: {fault}\n")
        say_fault(str(fault))
        return 1
    try:
        return run(desk, before)
    finally:
        desk.journal.close()


def open_demo(files: WardFiles) -> int:
    """Open the demo ward in a window, and stay until it is closed."""
    from cbi_monitor.screens.start import run
    from cbi_monitor.ward.demo import demo_desk

    clock = SystemClock()
    desk = demo_desk(clock.now(), clock, in_force=InForce(files, strict=True), settled=False)
    try:
        return run(desk)
    finally:
        desk.journal.close()
