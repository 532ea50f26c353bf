"""The watch: alerts come up and clear with the clock, what was shown is journalled, and a restart goes on as before."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

from cbi_monitor.alerts.replay import replay
from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.model.events import (
    AlertCleared,
    AlertShown,
    DrainageRead,
    Event,
    OutflowSeen,
    ThresholdsInForce,
    WatchStarted,
    WatchStopped,
)
from cbi_monitor.settings import THRESHOLDS
from cbi_monitor.ward.checks import CheckEntry
from cbi_monitor.ward.clock import FixedClock
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.heartbeat import Heartbeat
from cbi_monitor.ward.outcomes import Rejected, Saved
from cbi_monitor.ward.settings_in_force import InForce, WardFiles

Open = Callable[..., str]


def journalled(journal: SqliteJournal, session: str, kind: type[Event]) -> list[Any]:
    return [event for event in journal.events(session) if isinstance(event, kind)]


def standing(desk: Desk, session: str) -> set[str]:
    return {state.condition for state in desk.bed(session).raised}


def run(desk: Desk, clock: FixedClock, minutes: int) -> None:
    for _ in range(minutes * 2):
        clock.move(seconds=30)
        desk.tick(clock.now())


def test_not_draining_is_shown_at_once_and_journalled(
    desk: Desk, opened: Open, clock: FixedClock, journal: SqliteJournal
) -> None:
    session = opened()
    clock.move(minutes=10)
    assert isinstance(desk.not_draining(session, "K.M."), Saved)
    assert "no_outflow" in standing(desk, session)
    shown = [e for e in journalled(journal, session, AlertShown) if e.condition == "no_outflow"]
    assert len(shown) == 1
    assert shown[0].at == clock.now()
    assert shown[0].priority == "high"
    assert "Stop the inflow." in shown[0].text
    assert "may_hold_high_ml" in shown[0].numbers
    # Seen running again: cleared, and that too is on the record, once.
    clock.move(minutes=3)
    desk.look(session, "K.M.", "steady")
    assert "no_outflow" not in standing(desk, session)
    run(desk, clock, 2)
    cleared = [e for e in journalled(journal, session, AlertCleared) if e.condition == "no_outflow"]
    assert [e.alert for e in cleared] == [shown[0].alert]
    assert len([e for e in journalled(journal, session, AlertShown) if e.condition == "no_outflow"]) == 1


def test_time_alone_brings_alerts_up_at_the_instants_of_a_replay(
    desk: Desk, opened: Open, clock: FixedClock, journal: SqliteJournal, rules: InForce
) -> None:
    session = opened(rate=900)
    changed: list[frozenset[str]] = []
    desk.changed.append(changed.append)
    run(desk, clock, 200)
    assert standing(desk, session) >= {"look_due", "check_due"}
    assert changed
    told = replay(
        journal.events(session), rules.ward, rules.scale, rules.thresholds, until=clock.now(), session=session
    )
    now = clock.now()
    assert {s.id: (s.priority, s.cleared_at) for s in desk.watch(session).states if s.on_lane(now)} == {
        s.id: (s.priority, s.cleared_at) for s in told.alerts if s.on_lane(now)
    }
    shown = journalled(journal, session, AlertShown)
    raised = {(s.id, r.priority): r.at for s in told.alerts for r in s.raises}
    for event in shown:
        # Shown at the first tick at or after the instant at which it was raised.
        late = event.at - raised[event.alert, event.priority]
        assert timedelta(0) <= late <= timedelta(seconds=30)
    assert {(e.alert, e.priority) for e in shown} == set(raised)


def test_a_tick_with_nothing_due_changes_nothing(desk: Desk, opened: Open, clock: FixedClock) -> None:
    session = opened()
    judged = desk.bed(session).judgement
    clock.move(seconds=1)
    assert desk.tick(clock.now()) == frozenset()
    assert desk.bed(session).judgement is judged
    # The figures that the clock alone widens move on all the same.
    assert desk.bed(session).standing.now == clock.now()


def test_a_restart_stands_where_it_stood_and_shows_nothing_twice(
    desk: Desk, opened: Open, clock: FixedClock, journal: SqliteJournal, rules: InForce
) -> None:
    session = opened()
    clock.move(minutes=10)
    desk.not_draining(session, "K.M.")
    run(desk, clock, 40)
    before = desk.watch(session).states
    shown = len(journalled(journal, session, AlertShown))
    desk.stop()
    again = Desk(journal, rules, clock)
    again.start()
    assert again.watch(session).states == before
    assert len(journalled(journal, session, AlertShown)) == shown


def test_what_came_up_while_nobody_watched_is_shown_from_the_start_on(
    desk: Desk, opened: Open, clock: FixedClock, journal: SqliteJournal, rules: InForce
) -> None:
    session = opened()
    clock.move(minutes=10)
    stopped = clock.now()
    desk.stop()
    clock.move(hours=3)
    again = Desk(journal, rules, clock)
    told = again.start()
    assert (told.since, told.until, told.at_latest) == (stopped, clock.now(), False)
    assert told.gap == timedelta(hours=3)
    (overdue,) = [e for e in journalled(journal, session, AlertShown) if e.condition == "look_due"]
    assert overdue.at == clock.now()
    raised = next(s for s in again.watch(session).states if s.condition == "look_due").raised_at
    assert raised < overdue.at


def test_never_watched_before(desk: Desk) -> None:
    assert desk.not_watching is not None
    assert desk.not_watching.since is None
    assert desk.not_watching.gap is None


def test_after_a_power_cut_the_heartbeat_tells_since_when(
    journal: SqliteJournal, rules: InForce, clock: FixedClock, tmp_path: Path
) -> None:
    from tests.ward.conftest import opening

    beat = Heartbeat(tmp_path / "ward.db.watched")
    assert beat.last() is None
    desk = Desk(journal, rules, clock, heartbeat=beat)
    desk.start()
    desk.save(opening("s", clock.now()))
    run(desk, clock, 30)
    last = clock.now()
    clock.move(hours=2)
    told = Desk(journal, rules, clock, heartbeat=Heartbeat(tmp_path / "ward.db.watched")).start()
    assert told.at_latest
    assert told.since is not None
    assert timedelta(0) <= last - told.since <= timedelta(seconds=30)


def test_watch_and_thresholds_are_journalled(
    desk: Desk, opened: Open, journal: SqliteJournal, rules: InForce
) -> None:
    session = opened()
    (started,) = journalled(journal, session, WatchStarted)
    (in_force,) = journalled(journal, session, ThresholdsInForce)
    assert started.version
    assert in_force.text == THRESHOLDS.shipped
    assert in_force.hash == rules.thresholds_hash
    desk.stop()
    assert len(journalled(journal, session, WatchStopped)) == 1


def test_new_thresholds_come_into_force_while_it_runs_and_bad_ones_never(
    journal: SqliteJournal, clock: FixedClock, tmp_path: Path
) -> None:
    from tests.ward.conftest import opening

    file = tmp_path / "thresholds.toml"
    file.write_text(THRESHOLDS.shipped, "utf-8")
    rules = InForce(WardFiles(thresholds=file))
    desk = Desk(journal, rules, clock)
    desk.start()
    desk.save(opening("s", clock.now()))
    run(desk, clock, 24)
    assert "look_due" in standing(desk, "s")
    file.write_text("retention = 3\n", "utf-8")
    desk.tick(clock.now())
    assert rules.refusals
    assert rules.notices
    assert "look_due" in standing(desk, "s")
    lenient = re.sub(r"(_grace_minutes) = [\d.]+", r"\1 = 600", THRESHOLDS.shipped)
    file.write_text(lenient, "utf-8")
    assert desk.tick(clock.now()) == {"s"}
    assert not rules.refusals
    assert "look_due" not in standing(desk, "s")
    hashes = [event.hash for event in journalled(journal, "s", ThresholdsInForce)]
    assert len(hashes) == 2
    assert hashes[1] == rules.thresholds_hash != hashes[0]
    assert "look_due" in {event.condition for event in journalled(journal, "s", AlertCleared)}


def test_answers_name_an_alert_of_the_bed(desk: Desk, opened: Open, clock: FixedClock) -> None:
    session = opened()
    clock.move(minutes=10)
    desk.not_draining(session, "K.M.")
    (alert,) = [s for s in desk.bed(session).raised if s.condition == "no_outflow"]
    assert isinstance(desk.answer_alert(session, alert.id, "going", "R.D."), Saved)
    (answered,) = [s for s in desk.bed(session).raised if s.condition == "no_outflow"]
    assert answered.going is not None
    assert answered.going.by == "R.D."
    outcome = desk.answer_alert(session, "no_outflow/drip/x/y", "going", "R.D.")
    assert isinstance(outcome, Rejected)
    assert [refusal.field for refusal in outcome.refusals] == ["alert"]


def test_an_older_entry_of_another_workstation_is_taken_in(
    desk: Desk, opened: Open, clock: FixedClock, tmp_path: Path
) -> None:
    session = opened()
    run(desk, clock, 30)
    assert "look_due" in standing(desk, session)
    seen = clock.now() - timedelta(minutes=12)
    look = OutflowSeen(
        session=session, at=seen, recorded=seen, id=desk.new_id(), running=True, how="steady", by="R.D."
    )
    with SqliteJournal(tmp_path / "ward.db", workstation="bay 2") as other:
        other.append([look])
    desk.tick(clock.now())
    assert desk.bed(session).standing.seen is not None
    assert desk.bed(session).standing.seen.at == seen  # type: ignore[union-attr]


def test_the_order_of_need(desk: Desk, opened: Open, clock: FixedClock) -> None:
    quiet, overdue, blocked = opened("1"), opened("2"), opened("3")
    for _ in range(4):
        clock.move(minutes=10)
        for session in (quiet, blocked):
            slip = CheckEntry(
                session, "K.M.", clock.now(), running="steady", grade="pink", comfort="comfortable"
            )
            desk.save(slip.to_events(clock.now())[0])
        desk.tick(clock.now())
    clock.move(minutes=1)
    desk.not_draining(blocked, "K.M.")
    order = [bed.session for bed in desk.beds()]
    assert order[0] == blocked
    assert order.index(overdue) < order.index(quiet)
    assert {bed.label for bed in desk.beds()} == {"1", "2", "3"}


def test_hand_over_adds_the_taking_nurses_reading_and_corrects_nothing(
    desk: Desk, opened: Open, clock: FixedClock, journal: SqliteJournal
) -> None:
    session = opened()
    clock.move(hours=1)
    reading = DrainageRead(session=session, at=clock.now(), contents_ml=650, by="R.D.")
    outcome = desk.hand_over(
        session, "K.M.", "R.D.", True, open_questions=["CT at 14:00"], readings=[reading]
    )
    assert isinstance(outcome, Saved)
    handed = journal.get(outcome.ids[-1])
    assert handed is not None
    assert handed.by == "R.D."
    assert (handed.from_, handed.to, handed.open_questions) == ("K.M.", "R.D.", ("CT at 14:00",))  # type: ignore[attr-defined]
    assert isinstance(desk.hand_over(session, "", "R.D.", True), Rejected)
