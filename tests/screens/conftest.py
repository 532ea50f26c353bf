"""Screens are tested with a real desk over a real journal; only the clock stands still until it is moved."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QSettings
from PySide6.QtWidgets import QApplication

from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.model.events import (
    BagHung,
    BagRead,
    DrainageBagPlaced,
    DrainageRead,
    EffluentGraded,
    Event,
    InflowSet,
    OutflowSeen,
    SessionOpened,
    Symptoms,
)
from cbi_monitor.screens import look
from cbi_monitor.screens.main_window import MainWindow
from cbi_monitor.ward.clock import FixedClock
from cbi_monitor.ward.demo import demo_desk
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.outcomes import Saved
from cbi_monitor.ward.settings_in_force import InForce

NOON = datetime(2026, 3, 4, 14, 2, tzinfo=UTC)


@pytest.fixture
def clock() -> FixedClock:
    return FixedClock(NOON)


@pytest.fixture
def desk(tmp_path: Path, clock: FixedClock) -> Desk:
    made = Desk(SqliteJournal(tmp_path / "ward.db", workstation="test"), InForce(), clock)
    made.start()
    return made


def visit(session: str, at: datetime, left: float, contents: float, **more: object) -> list[Event]:
    """One usual check: seen running steadily, comfortable, pink, no clots, both levels."""
    common = {"session": session, "at": at, "recorded": at, "by": "K.M."}
    return [
        OutflowSeen(**common, running=True, how="steady"),
        Symptoms(**common, pain=0),
        EffluentGraded(**common, grade=str(more.get("grade", "pink")), clots="none"),
        DrainageRead(**common, contents_ml=contents),
        BagRead(**common, line="A", left_ml=left),
    ]


def begun(session: str, at: datetime, bed: str = "7A") -> list[Event]:
    """An open session with one bag and a drainage bag, at 600 mL/h."""
    common = {"session": session, "at": at, "recorded": at, "by": "K.M."}
    return [
        SessionOpened(**common, patient="4471", bed=bed, weight_kg=78.0, operation="resection"),
        BagHung(**common, line="A", label_ml=3000.0, fluid="saline_0_9"),
        BagRead(**common, line="A", left_ml=3000.0, of="new"),
        DrainageBagPlaced(**common, capacity_ml=4000.0, contents_ml=0.0),
        InflowSet(**common, ml_per_h=600.0),
        OutflowSeen(**common, running=True, how="steady"),
        EffluentGraded(**common, grade="pink", clots="none"),
    ]


@pytest.fixture
def one_bed(desk: Desk, clock: FixedClock) -> str:
    """A bed with two hours of usual checks, the last one at 13:00."""
    session = "s-7A"
    start = NOON - timedelta(hours=3, minutes=2)
    events = begun(session, start)
    for hour in (1, 2):
        events += visit(session, start + timedelta(hours=hour), 3000 - 600 * hour, 680 * hour)
    assert isinstance(desk.save(events), Saved)
    return session


@pytest.fixture
def window(desk: Desk, one_bed: str, qtbot) -> Iterator[MainWindow]:
    made = open_quietly(desk)
    qtbot.addWidget(made)
    with qtbot.waitExposed(made):
        made.show()
    made.nurse = "K.M."
    made.pulse.beat()
    yield made
    made.close()


def open_quietly(desk: Desk) -> MainWindow:
    """A window whose beat the test gives itself."""
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    app.setStyle("Fusion")
    look.put_on(app, look.pick(False, desk.demo), 1.0)
    return MainWindow(desk)


@pytest.fixture(autouse=True)
def _own_settings(tmp_path: Path) -> None:
    QSettings.setPath(QSettings.Format.NativeFormat, QSettings.Scope.UserScope, str(tmp_path / "qt"))


@pytest.fixture(autouse=True)
def _nothing_left_open(qapp) -> Iterator[None]:
    """No window of one test may take the focus of the next."""
    yield
    for widget in QApplication.topLevelWidgets():
        widget.close()
        widget.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    QApplication.processEvents()


@pytest.fixture
def demo(clock: FixedClock) -> Desk:
    return demo_desk(clock.now(), clock)
