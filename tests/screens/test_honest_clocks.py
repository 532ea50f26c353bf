"""Old figures are never read as new ones: NOT LIVE, not watching, DEMO, faults."""

from __future__ import annotations

import subprocess
import sys
from datetime import timedelta

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from cbi_monitor.screens import look
from cbi_monitor.screens.main_window import MainWindow
from cbi_monitor.ward.outcomes import NotWatching
from tests.screens.conftest import NOON, open_quietly


def test_a_crash_in_the_tick_is_shown_and_after_a_minute_covers_the_screen(
    window, desk, clock, monkeypatch
) -> None:
    def broken(now=None):
        raise ZeroDivisionError("planted")

    with monkeypatch.context() as planted:
        planted.setattr(desk, "tick", broken)
        clock.move(seconds=1)
        window.pulse.beat()
        assert window.fault.isVisible()
        assert "as of 14:02" in window.fault.label.text()
        assert not window.not_live.isVisible()
        clock.move(seconds=59)
        window.pulse.beat()
        window.pulse.watch()
        assert not window.not_live.isVisible()
        clock.move(seconds=1)
        window.pulse.watch()
        assert window.not_live.isVisible()
        assert window.not_live.words.text() == "NOT LIVE since 14:02"
        assert window.not_live.geometry() == window.pages.rect()
    window.pulse.beat()
    assert not window.not_live.isVisible(), "figures are new again and still covered"


def test_a_beat_that_hangs_covers_the_screen_too(window, clock) -> None:
    # the beat simply no longer comes; only the second timer lives
    clock.move(seconds=61)
    window.pulse.watch()
    assert window.not_live.isVisible()


def test_the_two_timers_do_not_depend_on_each_other(window) -> None:
    timers = {window.pulse._beating, window.pulse._watching}
    assert len(timers) == 2
    assert all(isinstance(timer, QTimer) and timer.interval() == 1000 for timer in timers)


PLANTED = """
import sys
from datetime import datetime, UTC
from pathlib import Path
from PySide6.QtCore import QTimer
from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.screens.main_window import application, open_window
from cbi_monitor.ward.clock import SystemClock
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.settings_in_force import InForce

app = application()
desk = Desk(SqliteJournal(Path(sys.argv[1]) / "ward.db", workstation="test"), InForce(), SystemClock())
window = open_window(desk, desk.start())

def boom():
    raise ZeroDivisionError("planted in a slot")

QTimer.singleShot(50, boom)
def look():
    print(window.fault.isVisible(), window.fault.label.text())
    window.close()
    app.quit()
QTimer.singleShot(400, look)
sys.exit(app.exec())
"""


def test_an_exception_in_any_slot_is_shown_by_a_running_program(tmp_path) -> None:
    # PySide6 hands an exception of a slot to sys.excepthook, or raises it when control returns to Python:
    # a program of its own shows which, with nothing of pytest between.
    said = subprocess.run(
        [sys.executable, "-c", PLANTED, str(tmp_path)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert "True Something in the program failed." in said.stdout, said.stdout + said.stderr
    assert "Reference" in said.stdout


def test_after_a_sleep_it_says_from_when_to_when_nobody_watched(window, clock) -> None:
    clock.move(minutes=73)
    window.pulse.beat()
    assert window.unwatched.isVisible()
    assert (
        window.unwatched.label.text()
        == "This screen was not watching from 14:02 to 15:15. Look at every bed."
    )


@pytest.mark.parametrize(
    ("at_latest", "words"),
    [
        (False, "This screen was not watching from 02:14 to 05:30. Look at every bed."),
        (
            True,
            "This screen was not watching from about 02:14 to 05:30 (it ended without saying so). Look at every bed.",
        ),
    ],
)
def test_on_start_it_says_since_when_nobody_watched(desk, qtbot, at_latest, words) -> None:
    until = NOON.replace(hour=5, minute=30)
    before = NotWatching(until - timedelta(hours=3, minutes=16), until, at_latest)
    window = MainWindow(desk, before)
    qtbot.addWidget(window)
    window.show()
    assert window.unwatched.label.text() == words
    assert window.unwatched.isVisible()
    window.close()


def test_the_demo_has_its_own_page_colour_and_its_mark_everywhere(demo, qtbot) -> None:
    window = open_quietly(demo)
    qtbot.addWidget(window)
    window.show()
    window.pulse.beat()
    window.open_bed(demo.beds()[0].session)
    QApplication.processEvents()
    assert look.theme().page not in (look.LIGHT.page, look.DARK.page)
    assert window.demo is not None
    assert window.demo.isVisible()
    assert window.demo.geometry() == window.rect()
    assert window.windowTitle().startswith("DEMO")
    sheet = window.open_session()
    QApplication.processEvents()
    assert sheet.demo.isVisible()
    assert sheet.demo.geometry() == sheet.rect()
    sheet.reject()
    window.close()


def test_the_ward_is_not_marked_as_demo(window) -> None:
    assert window.demo is None
    assert not window.windowTitle().startswith("DEMO")
    assert look.theme().page == look.LIGHT.page


def test_a_fault_that_the_desk_tells_stands_on_the_screen(window, desk, clock, monkeypatch) -> None:
    def gone(seq=0):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(desk.journal, "read_after", gone)
    clock.move(seconds=1)
    window.pulse.beat()
    assert window.fault.isVisible()


def test_none_keeps_its_references() -> None:
    # PySide6 6.12.0 drops a reference of None at every call that returns nothing, so that Python 3.11 dies in the end.
    from PySide6.QtWidgets import QLabel

    label = QLabel()
    label.setText("x")
    before = sys.getrefcount(None)
    for n in range(2000):
        label.setText(str(n))
    assert sys.getrefcount(None) > before - 1000


def test_that_nobody_watched_stays_until_it_is_put_away(window, desk, clock) -> None:
    clock.move(minutes=73)
    window.pulse.beat()
    window.board.focus_row()
    window.do("stop")
    window.do("going")
    assert window.unwatched.isVisible()
    window.unwatched.away.click()
    assert not window.unwatched.isVisible()
