"""The demo ward: invented sessions that end now, in a journal of their own, watched all the time."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from cbi_monitor.journal.codec import read_session_file
from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.model.events import AlertShown, Corrected, Event, Note, SessionOpened
from cbi_monitor.model.instants import utc
from cbi_monitor.resources import demo_sessions
from cbi_monitor.ward.clock import FixedClock
from cbi_monitor.ward.demo import demo_desk, shifted
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.places import journal_file
from cbi_monitor.ward.settings_in_force import InForce

TIMES = {
    "at",
    "recorded",
    "operation_ended",
    "until",
    "block_until",
    "since",
    "next_due",
    "arrived_at",
    "back_by",
    "traction_until",
}
NOW = datetime(2031, 7, 14, 10, 3, 27, tzinfo=UTC)


@pytest.fixture(scope="module")
def demo() -> Desk:
    return demo_desk(NOW, FixedClock(NOW))


def entries(desk: Desk, session: str) -> list[Event]:
    return desk.journal.events(session)


def test_every_shipped_session_is_there_and_ends_now(demo: Desk) -> None:
    assert len(demo.sessions) == len(demo_sessions()) >= 7
    for session in demo.sessions:
        last = max(
            utc(event.typed_at) for event in entries(demo, session) if not isinstance(event, AlertShown)
        )
        assert NOW - timedelta(hours=1) < last <= NOW


def test_only_times_are_shifted(demo: Desk) -> None:
    file = demo_sessions()[0]
    charted = read_session_file(file)
    shown = {event.id: event for event in entries(demo, charted[0].session)}
    steps = {utc(shown[event.id].at) - utc(event.at) for event in charted}
    assert len(steps) == 1
    assert steps.pop() % timedelta(minutes=1) == timedelta(0)
    for event in charted:
        assert shown[event.id].model_dump(exclude=TIMES) == event.model_dump(exclude=TIMES)


def test_every_instant_of_an_entry_is_shifted_also_inside_a_correction(demo: Desk) -> None:
    day = timedelta(days=1)
    at = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
    zone = demo.in_force.zone
    opened = SessionOpened(
        session="s", at=at, recorded=at, patient="P-1", operation_ended=at - timedelta(hours=2)
    )
    moved = shifted(opened, day, zone)
    assert (moved.at, moved.recorded, moved.operation_ended) == (
        at + day,
        at + day,
        at + day - timedelta(hours=2),
    )
    corrected = Corrected(
        session="s", at=at, target="x", fields={"at": at.isoformat(), "text": "late"}, reason="r"
    )
    fields = shifted(corrected, day, zone).fields
    assert datetime.fromisoformat(fields["at"]) == at + day
    assert fields["text"] == "late"


def test_the_screen_was_open_all_the_time(demo: Desk) -> None:
    shown = [
        event
        for session in demo.sessions
        for event in entries(demo, session)
        if isinstance(event, AlertShown)
    ]
    assert {event.condition for event in shown} >= {"no_outflow", "bleeding_on", "low_urine"}
    assert any(event.at < NOW - timedelta(hours=6) for event in shown)
    # What stands now is on the record already: starting showed nothing a second time.
    for bed in demo.beds():
        for state in bed.raised:
            own = [event for event in shown if event.alert == state.id and event.priority == state.priority]
            assert own


def test_the_board_is_in_order_and_wears_the_demo_mark(demo: Desk) -> None:
    assert demo.demo
    beds = demo.beds()
    assert len(beds) >= 5
    assert [bed.need for bed in beds] == sorted(bed.need for bed in beds)


def test_the_wards_journal_is_never_opened(demo: Desk) -> None:
    own = journal_file()
    assert not own.exists()
    assert isinstance(demo.journal, SqliteJournal)
    assert demo.journal.path.resolve() != own.resolve()


def test_a_fuller_ward(rules: InForce) -> None:
    whole = demo_desk(NOW, FixedClock(NOW), in_force=rules, beds=9)
    assert len(whole.sessions) == 9
    labels = [bed.label for bed in whole.beds()]
    assert len(set(labels)) == len(labels)


def test_what_is_charted_in_the_demo_is_saved_there(demo: Desk) -> None:
    session = demo.beds()[0].session
    demo.save([Note(session=session, at=NOW, text="tried")])
    assert any(isinstance(event, Note) and event.text == "tried" for event in entries(demo, session))


def test_own_files_instead_of_the_shipped_ones(rules: InForce, tmp_path: Path) -> None:
    file = tmp_path / "own.jsonl"
    file.write_bytes(demo_sessions()[0].read_bytes())
    assert len(demo_desk(NOW, FixedClock(NOW), in_force=rules, files=[file]).sessions) == 1
