"""The preview "if this is right": the row, the questions, the other bed; nothing is written."""

from __future__ import annotations

from collections.abc import Callable

from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.ward.checks import CheckEntry
from cbi_monitor.ward.clock import FixedClock
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.outcomes import Preview, Saved

Open = Callable[..., str]


def previewed(desk: Desk, check: CheckEntry) -> Preview:
    events, refusals = check.to_events(check.at)
    assert refusals == []
    return desk.preview(check.session, events)


def saved(desk: Desk, check: CheckEntry) -> None:
    events, refusals = check.to_events(check.at)
    assert refusals == []
    assert isinstance(desk.save(events), Saved)


def test_a_preview_shows_the_row_and_writes_nothing(
    desk: Desk, opened: Open, clock: FixedClock, journal: SqliteJournal
) -> None:
    session = opened()
    clock.move(hours=1)
    entries, rows = len(journal.events(session)), len(desk.bed(session).ledger.rows)
    check = CheckEntry(session, "K.M.", clock.now(), drainage="700", left={"A": "2400"})
    preview = previewed(desk, check)
    assert preview.row is not None
    assert (preview.row.irrigant_in_ml, preview.row.drained_ml, preview.row.net_ml) == (600, 700, 100)
    assert preview.standing is not None
    assert preview.standing.may_hold.at_close is not None
    assert preview.questions == ()
    assert (len(journal.events(session)), len(desk.bed(session).ledger.rows)) == (entries, rows)
    saved(desk, check)
    assert desk.bed(session).ledger.rows[-1] == preview.row


def test_an_odd_value_is_a_question_with_the_id_that_it_will_have(
    desk: Desk, opened: Open, clock: FixedClock
) -> None:
    session = opened()
    clock.move(hours=1)
    check = CheckEntry(session, "K.M.", clock.now(), drainage="700", left={"A": "9000"})
    preview = previewed(desk, check)
    assert preview.questions
    check.kept = {finding.id: "read twice" for finding in preview.questions}
    saved(desk, check)
    findings = {finding.id: finding for finding in desk.bed(session).ledger.findings}
    for question in preview.questions:
        assert findings[question.id].answer == "confirmed"


def test_what_cannot_be_read_is_refused_in_the_preview_too(
    desk: Desk, opened: Open, clock: FixedClock
) -> None:
    session = opened()
    preview = previewed(desk, CheckEntry(session, "K.M.", clock.now(), left={"C": "900"}))
    assert [refusal.field for refusal in preview.refusals] == ["line"]
    assert preview.row is None


def test_levels_that_fit_another_bed_are_questioned(desk: Desk, opened: Open, clock: FixedClock) -> None:
    here, there = opened("4", rate=200), opened("7", rate=900)
    clock.move(hours=2)
    typed = {"drainage": "1900", "left": {"A": "1250"}}
    preview = previewed(desk, CheckEntry(here, "K.M.", clock.now(), **typed))  # type: ignore[arg-type]
    assert preview.wrong_bed is not None
    assert (preview.wrong_bed.session, preview.wrong_bed.label) == (there, "7")
    assert set(preview.wrong_bed.fields) == {"left.A", "drainage"}
    # Where it belongs nothing is asked, and an odd level that fits nowhere names no other bed.
    right = CheckEntry(there, "K.M.", clock.now(), **typed)  # type: ignore[arg-type]
    assert previewed(desk, right).wrong_bed is None
    odd = CheckEntry(here, "K.M.", clock.now(), drainage="3500", left={"A": "100"})
    assert previewed(desk, odd).wrong_bed is None
