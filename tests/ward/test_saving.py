"""Saving at the desk: checked, on disk, then on the screen; or refused beside the field; or said to be not saved."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.model.events import (
    BagHung,
    BagRead,
    EffluentGraded,
    Event,
    IrrigantRunIn,
    LineClamped,
    Note,
    OutflowSeen,
    SessionClosed,
    SessionDetails,
    Symptoms,
)
from cbi_monitor.ward.checks import CheckEntry
from cbi_monitor.ward.clock import FixedClock
from cbi_monitor.ward.desk import Desk, UnknownSession
from cbi_monitor.ward.outcomes import Fault, Rejected, Saved
from cbi_monitor.ward.settings_in_force import InForce
from tests.ward.conftest import START, opening

Open = Callable[..., str]


def fields(outcome: object) -> list[str]:
    assert isinstance(outcome, Rejected), outcome
    assert all(refusal.what for refusal in outcome.refusals)
    return [refusal.field for refusal in outcome.refusals]


def check(desk: Desk, clock: FixedClock, session: str, **typed: Any) -> Saved:
    events, refusals = CheckEntry(session, "K.M.", clock.now(), **typed).to_events(clock.now())
    assert refusals == []
    outcome = desk.save(events)
    assert isinstance(outcome, Saved), outcome
    return outcome


def test_saved_is_on_disk_and_on_the_bed(desk: Desk, opened: Open, clock: FixedClock, tmp_path: Path) -> None:
    session = opened()
    clock.move(hours=1)
    saved = check(desk, clock, session, running="steady", drainage="700", left={"A": "2400"})
    with SqliteJournal(tmp_path / "ward.db", read_only=True, create=False) as other:
        kept = {event.id: event for event in other.events(session)}
    assert set(saved.ids) <= set(kept)
    assert all(kept[entry].recorded == clock.now() for entry in saved.ids)
    (row,) = desk.bed(session).ledger.rows
    assert (row.irrigant_in_ml, row.drained_ml, row.net_ml) == (600, 700, 100)


def test_screens_are_told_once_after_the_commit(desk: Desk, opened: Open, journal: SqliteJournal) -> None:
    session = opened()
    told: list[tuple[frozenset[str], bool]] = []
    note = Note(session=session, at=START, text="line traced", id=desk.new_id())
    desk.changed.append(lambda sessions: told.append((sessions, journal.get(note.id) is not None)))
    desk.save([note])
    assert told == [(frozenset({session}), True)]


def test_all_or_none(desk: Desk, opened: Open, journal: SqliteJournal) -> None:
    session = opened()
    before = len(journal.events(session))
    good = OutflowSeen(session=session, at=START, running=True, how="steady")
    bad = BagRead(session=session, at=START, line="C", left_ml=1000)
    assert fields(desk.save([good, bad])) == ["line"]
    assert len(journal.events(session)) == before


def test_refused_entries(desk: Desk, opened: Open) -> None:
    session = opened()
    common: dict[str, Any] = {"session": session, "at": START}
    later = START + timedelta(minutes=2, seconds=1)
    assert fields(desk.save([OutflowSeen(session=session, at=later, running=True)])) == ["at"]
    assert fields(desk.save([LineClamped(line="B", **common)])) == ["line"]
    assert fields(desk.save([IrrigantRunIn(volume=250, line="A", **common)])) == ["line"]
    assert fields(desk.save([IrrigantRunIn(volume=250, **common)])) == ["line"]
    assert fields(desk.save([EffluentGraded(grade="puce", **common)])) == ["grade"]
    assert fields(desk.save(opening(session, START))) == ["session"]
    assert fields(desk.save([Note(session="nobody", at=START, text="x")])) == ["session"]


def test_two_minutes_ahead_pass_and_late_entries_pass(desk: Desk, opened: Open, clock: FixedClock) -> None:
    session = opened()
    clock.move(hours=3)
    ahead = clock.now() + timedelta(minutes=2)
    assert isinstance(desk.save([OutflowSeen(session=session, at=ahead, running=True)]), Saved)
    late = OutflowSeen(session=session, at=START + timedelta(minutes=5), running=True, how="slow")
    assert isinstance(desk.save([late]), Saved)


def test_nothing_about_symptoms_or_looks_is_refused_for_being_unlikely(desk: Desk, opened: Open) -> None:
    session = opened()
    common: dict[str, Any] = {"session": session, "at": START}
    assert isinstance(desk.save([Symptoms(pain=10, abdomen="hard", confused=True, **common)]), Saved)
    assert isinstance(desk.not_draining(session, None), Saved)
    assert isinstance(desk.stop_inflow(session, None, "not_draining"), Saved)
    assert not desk.bed(session).standing.inflow_on


def test_a_bag_and_its_line_in_one_save(desk: Desk, opened: Open) -> None:
    session = opened()
    common: dict[str, Any] = {"session": session, "at": START}
    hung = BagHung(line="B", label_ml=3000, fluid="saline_0_9", clamped=True, **common)
    assert isinstance(desk.save([hung, BagRead(line="B", left_ml=3000, of="new", **common)]), Saved)
    assert {line.name for line in desk.bed(session).standing.lines} == {"A", "B"}


def test_an_opening_can_be_saved_only_with_its_session(desk: Desk) -> None:
    outcome = desk.save([SessionDetails(session="new", at=START, bed="4")])
    assert fields(outcome) == ["session"]
    with pytest.raises(UnknownSession):
        desk.bed("new")


def test_corrections_strike_outs_and_their_refusals(desk: Desk, opened: Open, clock: FixedClock) -> None:
    session = opened()
    clock.move(hours=1)
    saved = check(desk, clock, session, drainage="700", left={"A": "2400"})
    level = saved.ids[1]
    assert isinstance(desk.correct(session, level, {"left_ml": 2300}, "misread", "K.M."), Saved)
    assert desk.bed(session).ledger.rows[-1].irrigant_in_ml == 700
    correction = desk.watch(session).corrections_of(level)[0].id
    assert fields(desk.correct(session, level, {"left_ml": -5}, "misread", "K.M.")) == ["left_ml"]
    assert fields(desk.correct(session, level, {"colour": "red"}, "misread", "K.M.")) == ["colour"]
    assert fields(desk.correct(session, "no-such-entry", {"left_ml": 1}, "misread", "K.M.")) == ["target"]
    assert fields(desk.correct(session, correction, {"reason": "x"}, "misread", "K.M.")) == ["target"]
    assert fields(desk.correct(session, level, {"session": "x"}, "misread", "K.M.")) == [""]
    assert fields(desk.correct(session, level, {"left_ml": 2000}, "", "K.M.")) == ["reason"]
    assert isinstance(desk.strike_out(session, correction, "was right", "K.M."), Saved)
    assert desk.bed(session).ledger.rows[-1].irrigant_in_ml == 600
    assert isinstance(desk.strike_out(session, level, "other bed", "K.M."), Saved)
    assert fields(desk.correct(session, level, {"left_ml": 2000}, "misread", "K.M.")) == ["target"]
    assert fields(desk.strike_out(session, "no-such-entry", "x", "K.M.")) == ["target"]


def test_a_question_is_answered(desk: Desk, opened: Open, clock: FixedClock) -> None:
    session = opened()
    clock.move(hours=1)
    check(desk, clock, session, drainage="700", left={"A": "2400"})
    clock.move(hours=1)
    check(desk, clock, session, drainage="200", left={"A": "1800"})
    questions = [finding for finding in desk.bed(session).ledger.findings if finding.asks]
    assert questions, "contents fell without an emptying, and nobody is asked"
    finding = questions[0].id
    answered = desk.answer_finding(session, finding, "not_recorded", None, "emptied", "K.M.")
    assert fields(answered) == ["volume_ml"]
    assert fields(desk.answer_finding(session, "no:such", "wrong", None, "x", "K.M.")) == ["finding"]
    assert isinstance(desk.answer_finding(session, finding, "not_recorded", 1100, "emptied", "K.M."), Saved)
    assert desk.bed(session).ledger.rows[-1].state == "closed"


def test_a_closed_session_takes_corrections_only(desk: Desk, opened: Open) -> None:
    session = opened()
    desk.save([SessionClosed(session=session, at=START, reason="catheter out")])
    assert session not in desk.open_sessions
    assert fields(desk.look(session, "K.M.", "steady")) == ["session"]
    closing = next(entry for entry in desk.watch(session).by_id.values() if isinstance(entry, SessionClosed))
    assert isinstance(desk.strike_out(session, closing.id, "wrong bed", "K.M."), Saved)
    assert session in desk.open_sessions


def test_a_failed_save_is_never_shown_as_saved(
    desk: Desk, opened: Open, journal: SqliteJournal, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    session = opened()
    rows_before = len(desk.watch(session).by_id)
    # The real database says no: another program holds the journal for good.
    journal._connection.execute("PRAGMA busy_timeout = 0")  # type: ignore[union-attr]
    holder = sqlite3.connect(tmp_path / "ward.db", isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    try:
        outcome = desk.look(session, "K.M.", "steady")
    finally:
        holder.execute("ROLLBACK")
        holder.close()
    assert isinstance(outcome, Fault)
    assert outcome.text.startswith("NOT SAVED. Write it on paper.")
    assert outcome.reference in outcome.text
    assert len(desk.watch(session).by_id) == rows_before
    assert isinstance(desk.look(session, "K.M.", "steady"), Saved)


def test_a_fault_has_its_reference_in_the_log(
    desk: Desk, opened: Open, journal: SqliteJournal, tmp_path: Path
) -> None:
    from cbi_monitor.ward.log import log_to

    session = opened()
    log_to(tmp_path / "log" / "cbi_monitor.log")
    journal.close()
    outcome = desk.look(session, "K.M.", "steady")
    assert isinstance(outcome, Fault)
    assert outcome.reference in (tmp_path / "log" / "cbi_monitor.log").read_text()


def test_what_cannot_be_reckoned_is_still_saved_and_said(
    desk: Desk, opened: Open, journal: SqliteJournal, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = opened()
    faults: list[Fault] = []
    desk.faults.append(faults.append)

    def broken(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(desk.watch(session)._stepper, "step", broken)
    outcome = desk.look(session, "K.M.", "steady")
    assert isinstance(outcome, Saved)
    assert journal.get(outcome.ids[0]) is not None
    assert faults
    assert "Saved" in faults[0].text
    assert desk.bed(session).fault == faults[0].reference


def test_two_desks_on_one_journal(
    desk: Desk, opened: Open, clock: FixedClock, rules: InForce, tmp_path: Path
) -> None:
    session = opened()
    with SqliteJournal(tmp_path / "ward.db", workstation="bay 2") as other_journal:
        other = Desk(other_journal, rules, clock)
        other.start()
        assert other.bed(session).label == "4"
        clock.move(minutes=20)
        outcome = other.save([Note(session=session, at=clock.now(), text="turned")])
        assert isinstance(outcome, Saved)
        assert session in desk.tick(clock.now())
        assert outcome.ids[0] in desk.watch(session).by_id
        assert desk.tick(clock.now()) == frozenset()


def test_events_of_one_save_come_back_with_ids_in_their_order(desk: Desk, opened: Open) -> None:
    session = opened()
    events: list[Event] = [Note(session=session, at=START, text=str(n)) for n in range(5)]
    outcome = desk.save(events)
    assert isinstance(outcome, Saved)
    by_id = desk.watch(session).by_id
    assert [by_id[entry].text for entry in outcome.ids] == list("01234")  # type: ignore[attr-defined]
    assert sorted(outcome.ids) == list(outcome.ids)
