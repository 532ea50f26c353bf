"""Sheets: opening a session, what is still to ask, corrections, answers, the name, the report. None blocks the program."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

import cbi_monitor.screens
from cbi_monitor.model.events import (
    BagHung,
    BagRead,
    CatheterPlaced,
    DrainageBagPlaced,
    DrainageRead,
    EffluentGraded,
    InflowSet,
    Ordered,
    OutflowSeen,
    SessionDetails,
)
from cbi_monitor.screens.bedside.bedside import still_to_ask
from tests.screens.test_check_slip import SAVE, press


def settle() -> None:
    for _ in range(3):
        QApplication.processEvents()
    # without a window manager nobody gives the window its focus back when a sheet closes
    if QApplication.activeWindow() is None:
        top = QApplication.activeModalWidget()
        for widget in [top] if top is not None else QApplication.topLevelWidgets():
            if widget.isVisible():
                widget.activateWindow()
        QApplication.processEvents()


def test_a_session_is_open_within_thirty_keys(window, desk) -> None:
    QTest.keyClick(window, Qt.Key.Key_N, Qt.KeyboardModifier.ControlModifier)
    settle()
    keys = press(
        "3B\r" + "5120\r" + "3" + "2950\r" + "\r" + "4" + "0\r" + "800\r" + "s" + "4" + "n" + "c" + SAVE
    )
    settle()
    assert keys + 1 <= 30
    session = window.bedside.session
    bed = desk.bed(session)
    assert (bed.label, bed.reference) == ("3B", "5120")
    ledger = bed.ledger
    assert ledger.of(BagHung)[-1].label_ml == 3000
    assert (ledger.of(BagRead)[-1].left_ml, ledger.of(BagRead)[-1].of) == (2950, "new")
    placed = ledger.of(DrainageBagPlaced)[-1]
    assert (placed.capacity_ml, placed.contents_ml) == (4000, 0)
    assert (ledger.of(EffluentGraded)[-1].grade, ledger.of(OutflowSeen)[-1].how) == ("red", "steady")
    assert ledger.of(InflowSet)[-1].ml_per_h == 800
    assert window.pages.currentWidget() is window.bedside
    missing = still_to_ask(bed)
    assert {"weight_kg", "catheter", "order", "allergies"} <= set(missing)
    assert window.bedside.missing.text() == f"still to ask: {len(missing)}"


def test_opening_keeps_the_typed_text_where_something_is_missing(window, desk) -> None:
    sheet = window.open_session()
    settle()
    press("3B\r" + SAVE)
    assert sheet.isVisible()
    assert sheet.bed.text() == "3B"
    assert "reference" in sheet.message.text()
    press("5120\r" + "3" + "2.9.5\r" + SAVE)
    assert sheet.isVisible()
    assert sheet.volumes["left_a"].text() == "2.9.5"
    assert "write mL like 1200" in sheet.message.text()
    sheet.reject()


def test_what_is_still_to_ask_can_be_said_in_part(window, desk, one_bed) -> None:
    window.open_bed(one_bed)
    before = still_to_ask(desk.bed(one_bed))
    window.do("details")
    settle()
    sheet = window.sheet
    sheet.inputs["age_years"].setText("71")
    sheet.inputs["sex"].choose("male", move_on=False)
    sheet.inputs["french"].setText("22")
    sheet.inputs["ways"].choose("3", move_on=False)
    sheet.inputs["tip"].choose("straight", move_on=False)
    sheet.inputs["material"].setText("silicone")
    sheet.inputs["by_whom"].setText("Dr R.")
    sheet.inputs["how"].choose("written", move_on=False)
    sheet.inputs["washout"].choose("nurse", move_on=False)
    sheet.keep()
    settle()
    ledger = desk.bed(one_bed).ledger
    assert ledger.of(SessionDetails)[-1].age_years == 71
    assert (ledger.of(CatheterPlaced)[-1].ways, ledger.of(CatheterPlaced)[-1].french) == (3, 22)
    assert ledger.of(Ordered)[-1].washout == "nurse"
    after = still_to_ask(desk.bed(one_bed))
    assert set(before) - set(after) == {"age_years", "sex", "catheter", "order"}
    assert "three-way 22 Ch (Fr)" in window.bedside.facts.toolTip()
    assert "washout: nurse may" in window.bedside.facts.toolTip()


def test_half_a_catheter_is_not_taken_and_the_text_stays(window, desk, one_bed) -> None:
    window.open_bed(one_bed)
    window.do("details")
    settle()
    sheet = window.sheet
    sheet.inputs["french"].setText("22")
    sheet.keep()
    assert sheet.isVisible()
    assert "ways" in sheet.message.text()
    assert sheet.inputs["french"].text() == "22"
    sheet.reject()


def entry_line(window, desk, session, kind):
    window.open_bed(session)
    window.bedside.tabs.setCurrentIndex(1)
    settle()
    return next(line for line in window.bedside.entries.lines if isinstance(line.event, kind))


def test_a_correction_keeps_the_old_words_with_the_reason(window, desk, one_bed) -> None:
    line = entry_line(window, desk, one_bed, DrainageRead)
    sheet = window.correct(line)
    settle()
    sheet.inputs["contents_ml"].setText("1,340")
    sheet.keep()
    assert sheet.isVisible(), "saved without a reason"
    assert "reason" in sheet.message.text()
    sheet.reason.setText("misread the mark")
    sheet.keep()
    settle()
    assert desk.bed(one_bed).ledger.of(DrainageRead)[-1].contents_ml == 1340
    window.bedside.refresh(desk.now)
    corrected = next(one for one in window.bedside.entries.lines if one.id == line.id)
    assert "1,360" in corrected.struck
    assert "1,340" in corrected.text
    assert corrected.note == "corrected by K.M.: misread the mark"


def test_a_corrected_time_is_the_wards(window, desk, one_bed, clock) -> None:
    line = entry_line(window, desk, one_bed, DrainageRead)
    sheet = window.correct(line)
    settle()
    assert sheet.inputs["at"].text() == "2026-03-04 13:00"
    sheet.inputs["at"].setText("2026-03-04 12:58")
    sheet.reason.setText("read before the walk")
    sheet.keep()
    settle()
    assert desk.bed(one_bed).ledger.of(DrainageRead)[-1].at.isoformat() == "2026-03-04T12:58:00+00:00"


def test_nothing_changed_is_no_correction(window, desk, one_bed) -> None:
    sheet = window.correct(entry_line(window, desk, one_bed, DrainageRead))
    settle()
    sheet.reason.setText("x")
    sheet.keep()
    assert sheet.isVisible()
    assert "Nothing is changed" in sheet.message.text()
    sheet.reject()


def test_a_struck_out_entry_stays_readable_and_counts_no_more(window, desk, one_bed) -> None:
    line = entry_line(window, desk, one_bed, DrainageRead)
    sheet = window.correct(line)
    settle()
    sheet.reason.setText("belongs to bed 9")
    sheet.strike()
    settle()
    assert desk.bed(one_bed).ledger.of(DrainageRead)[-1].contents_ml == 680
    window.bedside.refresh(desk.now)
    struck = next(one for one in window.bedside.entries.lines if one.id == line.id)
    assert struck.struck_out
    assert "1,360" in struck.struck
    assert struck.note == "struck out by K.M.: belongs to bed 9"


def test_a_struck_out_entry_is_painted_with_a_line_through_it(window, desk, one_bed) -> None:
    line = entry_line(window, desk, one_bed, DrainageRead)
    desk.strike_out(one_bed, line.id, "wrong bed", "K.M.")
    window.bedside.refresh(desk.now)
    window.bedside.entry_table.grab()
    model = window.bedside.entries
    place = next(n for n, one in enumerate(model.lines) if one.id == line.id)
    said = model.data(model.index(place, 2), Qt.ItemDataRole.AccessibleTextRole)
    assert said.startswith("struck out: ")
    assert model.data(model.index(place, 0), Qt.ItemDataRole.FontRole).strikeOut()


def test_going_is_one_key(window, desk, one_bed) -> None:
    desk.not_draining(one_bed, "K.M.")
    window.open_bed(one_bed)
    QTest.keyClick(window, Qt.Key.Key_F2)
    settle()
    state = desk.bed(one_bed).raised[0]
    assert state.going is not None
    assert state.going.by == "K.M."
    assert "K.M. going, 14:02" in window.bedside.banner.second.toolTip()


def test_seen_goes_with_what_was_done(window, desk, one_bed) -> None:
    desk.not_draining(one_bed, "K.M.")
    window.open_bed(one_bed)
    QTest.keyClick(window, Qt.Key.Key_F12)
    settle()
    sheet = window.sheet
    assert sheet.list.count() >= 1
    assert sheet.text.text()
    press("turned the patient" + SAVE)
    settle()
    answers = [answer for state in desk.bed(one_bed).raised for answer in state.answers]
    assert [(answer.kind, answer.action) for answer in answers] == [("seen", "turned the patient")]
    assert desk.bed(one_bed).raised, "an answer cleared the alert"


def test_a_question_is_answered_with_a_reason(window, desk, one_bed) -> None:
    window.open_bed(one_bed)
    desk.save(slip_events(desk, one_bed, 2700))
    window.bedside.refresh(desk.now)
    window.bedside.tabs.setCurrentIndex(2)
    settle()
    assert window.bedside.questions.count() >= 1
    assert "(" in window.bedside.tabs.tabText(2)
    asked = window.bedside.questions.item(0).data(Qt.ItemDataRole.UserRole)
    sheet = window.answer_finding(asked)
    settle()
    press("w")
    press("misread\r" + SAVE)
    settle()
    answered = [finding.answer for finding in desk.bed(one_bed).ledger.findings if finding.id == asked]
    assert set(answered) <= {"wrong"}
    assert not sheet.isVisible() if _alive(sheet) else True


def _alive(widget) -> bool:
    from shiboken6 import isValid

    return isValid(widget)


def slip_events(desk, session, left):
    from cbi_monitor.ward.entries import entry

    return [entry(BagRead, session, desk.clock.now(), "K.M.", line="A", left_ml=float(left))]


def test_the_report_of_the_shift_is_written_and_never_over_another(
    window, desk, one_bed, tmp_path: Path
) -> None:
    folder = tmp_path / "papers"
    folder.mkdir()
    window.open_bed(one_bed)
    paths = window.write_report(one_bed, folder)
    assert {path.suffix for path in paths} >= {".pdf", ".csv"}
    pdf = next(path for path in paths if path.suffix == ".pdf")
    assert pdf.read_bytes().startswith(b"%PDF")
    assert str(pdf.parent) in window.warn.label.text()
    before = pdf.read_bytes()
    assert window.write_report(one_bed, folder) == []
    assert "not overwritten" in window.warn.label.text()
    assert pdf.read_bytes() == before


def test_a_folder_that_takes_no_report_says_so(window, one_bed, tmp_path) -> None:
    window.open_bed(one_bed)
    taken = tmp_path / "a file"
    taken.write_text("")
    assert window.write_report(one_bed, taken) == []
    assert "No report was written" in window.warn.label.text()


def test_no_sheet_blocks_the_program() -> None:
    room = Path(cbi_monitor.screens.__file__).parent
    callers = {
        path.name
        for path in room.rglob("*.py")
        for line in path.read_text("utf-8").splitlines()
        if ".exec(" in line and not line.strip().endswith(("application().exec()", "app.exec()"))
    }
    assert callers == set()


@pytest.mark.parametrize("name", ["J.O.", "  A.R.  "])
def test_the_name_stands_on_every_entry_from_then_on(window, desk, one_bed, name) -> None:
    QTest.keyClick(window, Qt.Key.Key_U, Qt.KeyboardModifier.ControlModifier)
    settle()
    press(name + "\r")
    settle()
    window.open_bed(one_bed)
    settle()
    press("sc3n" + SAVE)
    assert desk.bed(one_bed).ledger.of(OutflowSeen)[-1].by == name.strip()
