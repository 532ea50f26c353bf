"""The check slip: single keys, nothing prefilled, few keys, typed text never lost, nothing shown as saved that is not."""

from __future__ import annotations

from datetime import timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from cbi_monitor.model.events import (
    BagRead,
    DrainageEmptied,
    DrainageRead,
    EffluentGraded,
    OutflowSeen,
    Symptoms,
)
from cbi_monitor.screens.fields import KeyField

SAVE = "\x13"


def press(keys: str) -> int:
    r"""Type for real at whatever has the focus: ``\\r`` is Enter, SAVE is Ctrl+Enter. Returns the number of keystrokes."""
    for key in keys:
        target = QApplication.focusWidget()
        assert target is not None, f"nothing has the focus at {key!r}"
        if key == "\r":
            QTest.keyClick(target, Qt.Key.Key_Return)
        elif key == SAVE:
            QTest.keyClick(target, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
        elif key == "\b":
            QTest.keyClick(target, Qt.Key.Key_Backspace)
        else:
            QTest.keyClick(target, key)
        QApplication.processEvents()
    return len(keys)


@pytest.fixture
def slip(window, one_bed):
    window.open_bed(one_bed)
    QApplication.processEvents()
    return window.bedside.slip


def test_a_check_without_volumes_takes_five_keys(window, desk, one_bed, slip, clock) -> None:
    # the target: four fields and one to save (design of the ward's check plan)
    assert press("sc3n" + SAVE) <= 5
    ledger = desk.bed(one_bed).ledger
    now = clock.now()
    assert ledger.of(OutflowSeen)[-1].at == now
    assert ledger.of(OutflowSeen)[-1].how == "steady"
    assert ledger.of(Symptoms)[-1].pain == 0
    assert (ledger.of(EffluentGraded)[-1].grade, ledger.of(EffluentGraded)[-1].clots) == ("pink", "none")
    assert ledger.of(OutflowSeen)[-1].by == "K.M."


def test_an_hourly_check_takes_fourteen_keys(window, desk, one_bed, slip, clock) -> None:
    clock.move(minutes=-2)  # the hour since the last levels: 600 in, 680 out
    assert press("sc3n" + "2040" + "\r" + "1200" + SAVE) <= 14
    ledger = desk.bed(one_bed).ledger
    assert ledger.of(DrainageRead)[-1].contents_ml == 2040
    assert ledger.of(BagRead)[-1].left_ml == 1200
    row = ledger.rows[-1]
    assert (row.state, row.irrigant_in_ml, row.drained_ml, row.net_ml) == ("closed", 600, 680, 80)


def test_nothing_is_prefilled_and_the_last_value_is_a_ghost(slip) -> None:
    for cell in slip.cells.values():
        if isinstance(cell.field, KeyField):
            assert cell.field.value is None
        else:
            assert cell.field.text() == ""
    assert slip.cells["grade"].field.last.word == "pink"
    assert slip.cells["drainage"].field.placeholderText() == "last: 1,360"
    assert slip.cells["left.A"].field.placeholderText() == "last: 1,800"
    assert not slip.save()
    assert slip.cells["running"].error.isVisible()


def test_same_as_before_is_its_own_key(slip) -> None:
    press("s=")
    assert slip.value("comfort") == "comfortable"
    press("==")
    assert (slip.value("grade"), slip.value("clots")) == ("pink", "none")


def test_pain_is_asked_only_when_not_comfortable(desk, one_bed, slip) -> None:
    assert slip.cells["pain"].box.isHidden()
    press("sn")
    assert not slip.cells["pain"].box.isHidden()
    press("4")
    press("3n" + SAVE)
    assert desk.bed(one_bed).ledger.of(Symptoms)[-1].pain == 4


def test_pain_ten_can_be_typed(slip) -> None:
    press("sn10")
    assert slip.value("pain") == "10"
    assert QApplication.focusWidget() is slip.cells["grade"].field


def test_the_switch_key_makes_it_an_emptying(desk, one_bed, slip, clock) -> None:
    clock.move(minutes=-2)
    press("sc3n" + "e" + "2040" + "\r" + "1200" + SAVE)
    assert desk.bed(one_bed).ledger.of(DrainageEmptied)[-1].volume == 2040


def test_the_preview_shows_net_with_its_range_and_what_the_bladder_may_hold(slip, clock) -> None:
    clock.move(minutes=-2)
    press("sc3n2040\r1200")
    slip.preview()
    words = slip.message.text()
    assert words.startswith("If this is right: net +80 (")
    assert "bladder may hold" in words
    assert slip.message.isVisible()


def test_an_unreadable_level_is_refused_beside_its_field_and_the_text_stays(desk, one_bed, slip) -> None:
    before = len(desk.bed(one_bed).ledger.of(OutflowSeen))
    press("sc3n" + "12.5.1" + SAVE)
    cell = slip.cells["drainage"]
    assert cell.field.text() == "12.5.1"
    assert cell.error.isVisible()
    assert "write mL like 1200" in cell.error.text()
    assert slip.value("running") == "steady"
    assert len(desk.bed(one_bed).ledger.of(OutflowSeen)) == before


def test_an_unlikely_level_is_questioned_and_kept_with_a_reason(desk, one_bed, slip) -> None:
    # the level rises though no new bag was hung
    press("sc3n" + "2040" + "\r" + "2700" + SAVE)
    assert desk.bed(one_bed).ledger.of(BagRead)[-1].left_ml == 1800
    assert slip._kept, "it was not questioned"
    assert slip.cells["left.A"].field.text() == "2700"
    press("read twice" + "\r")
    ledger = desk.bed(one_bed).ledger
    assert ledger.of(BagRead)[-1].left_ml == 2700
    assert "confirmed" in [finding.answer for finding in ledger.findings]


def test_a_failed_disk_says_not_saved_and_keeps_every_word(desk, one_bed, slip, monkeypatch) -> None:
    def full(events):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(desk.journal, "append", full)
    press("sc3n" + SAVE)
    assert "NOT SAVED. Write it on paper." in slip.message.text()
    assert slip.message.property("part") == "fault"
    reference = slip.message.text().split()[-1].strip(".")
    assert len(reference) == 6
    assert slip.value("running") == "steady"


def test_no_name_no_check_but_the_text_stays(window, desk, one_bed, slip, qtbot) -> None:
    window.nurse = ""
    before = len(desk.bed(one_bed).ledger.of(OutflowSeen))
    press("sc3n" + SAVE)
    assert len(desk.bed(one_bed).ledger.of(OutflowSeen)) == before
    press("J.O.\r")
    assert window.nurse == "J.O."
    slip.save()
    assert desk.bed(one_bed).ledger.of(OutflowSeen)[-1].by == "J.O."


def test_a_check_left_for_the_board_comes_back_with_its_text(window, one_bed, slip) -> None:
    press("sc")
    window.show_board()
    window.open_bed(one_bed)
    assert window.bedside.slip is slip
    assert (slip.value("running"), slip.value("comfort")) == ("steady", "comfortable")


def test_a_late_entry_is_marked(desk, one_bed, slip, clock) -> None:
    slip.when.setFocus()
    press("-40\r")
    assert slip.late.text() == "late entry"
    press("sc3n" + SAVE)
    seen = desk.bed(one_bed).ledger.of(OutflowSeen)[-1]
    assert clock.now() - seen.at == timedelta(minutes=40)


def test_a_time_that_is_no_time_is_refused(slip) -> None:
    slip.when.setFocus()
    press("2561\rsc3n" + SAVE)
    assert "no time" in slip.message.text()
    assert slip.when.text() == "2561"


def test_letters_in_a_field_are_no_commands(window, one_bed, slip) -> None:
    # every printable key in a single-key field and in a volume field: nothing else of the window may move
    for name in ("running", "drainage", "rate"):
        field = slip.cells[name].field
        for key in "qxzplmoe!#":
            field.setFocus()
            QTest.keyClick(field, key)
            QApplication.processEvents()
            assert window.bedside.slip is slip
            assert window.pages.currentWidget() is window.bedside
            assert QApplication.activeModalWidget() is None


def test_the_word_of_a_saved_check_says_who_saw_it_and_when(slip, window) -> None:
    press("sc3n" + SAVE)
    words = window.bedside.slip.message.text()
    assert words.startswith("Saved: seen draining 14:02, K.M.; next by 14:")


def test_an_untouched_check_asks_anew_after_another_entry(window, desk, one_bed, slip) -> None:
    assert slip.cells["running"].field.last.value == "steady"
    desk.look(one_bed, "J.O.", "slow")
    window.pulse.beat()
    assert window.bedside.slip.cells["running"].field.last.value == "slow"


def test_a_check_that_was_begun_is_not_laid_out_anew(window, desk, one_bed, slip) -> None:
    press("s")
    desk.look(one_bed, "J.O.", "slow")
    window.pulse.beat()
    window.bedside.show_slip("check")
    assert window.bedside.slip is slip
    assert slip.value("running") == "steady"


def test_a_stopped_line_is_not_asked_for_its_level(window, desk, one_bed, slip, clock) -> None:
    assert "left.A" in slip.cells
    desk.stop_inflow(one_bed, "K.M.")
    window.pulse.beat()
    assert "left.A" not in window.bedside.slip.cells
    clock.move(minutes=1)
    desk.start_inflow(one_bed, "K.M.")
    window.pulse.beat()
    assert "left.A" in window.bedside.slip.cells


def test_the_time_is_one_key_up_and_tab_walks_the_fields(slip) -> None:
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Up)
    assert QApplication.focusWidget() is slip.when
    walked = []
    for _ in range(5):
        QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
        walked.append(QApplication.focusWidget().objectName())
    assert walked == ["running", "comfort", "grade", "clots", "drainage"]
