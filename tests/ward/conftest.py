"""A desk over a real journal, a clock that stands until it is moved, and one bed to open."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.model.events import (
    BagHung,
    DrainageBagPlaced,
    EffluentGraded,
    Event,
    InflowSet,
    OutflowSeen,
    SessionOpened,
    Symptoms,
)
from cbi_monitor.ward.clock import FixedClock
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.outcomes import Saved
from cbi_monitor.ward.settings_in_force import InForce

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)


@pytest.fixture
def clock() -> FixedClock:
    return FixedClock(START)


@pytest.fixture(scope="session")
def rules() -> InForce:
    return InForce()


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[SqliteJournal]:
    with SqliteJournal(tmp_path / "ward.db") as journal:
        yield journal


@pytest.fixture
def desk(journal: SqliteJournal, rules: InForce, clock: FixedClock) -> Desk:
    desk = Desk(journal, rules, clock)
    desk.start()
    return desk


def opening(session: str, at: datetime, bed: str = "4", *, rate: float = 600) -> list[Event]:
    """A patient of 78 kg from theatre: a fresh 3 L bag on line A at a rate, an empty 4 L drainage bag, seen steady."""
    common = {"session": session, "at": at, "by": "K.M."}
    return [
        SessionOpened(
            patient=f"P-{bed}", bed=bed, weight_kg=78, operation="resection of the prostate", **common
        ),
        BagHung(line="A", label_ml=3000, fluid="saline_0_9", **common),
        DrainageBagPlaced(capacity_ml=4000, contents_ml=0, **common),
        InflowSet(ml_per_h=rate, **common),
        OutflowSeen(running=True, how="steady", **common),
        Symptoms(pain=0, **common),
        EffluentGraded(grade="pink", clots="none", **common),
    ]


@pytest.fixture
def opened(desk: Desk, clock: FixedClock) -> Callable[..., str]:
    """Opens a session at the desk and gives its id."""

    def open_one(bed: str = "4", *, rate: float = 600) -> str:
        session = desk.new_session_id()
        outcome = desk.save(opening(session, clock.now(), bed, rate=rate))
        assert isinstance(outcome, Saved), outcome
        return session

    return open_one
