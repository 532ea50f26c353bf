"""Small slips: one key away, few keys, the events they become."""

from __future__ import annotations

from datetime import timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from cbi_monitor.model.events import (
    BagDown,
    BagHung,
    BagRead,
    BladderScanned,
    DrainageEmptied,
    InflowSet,
    InflowStarted,
    InflowStopped,
    Leaked,
    OutflowSeen,
    Symptoms,
    Washout,
)
from tests.screens.test_check_slip import SAVE, press


@pytest.fixture
def at_bed(window, one_bed):
    window.open_bed(one_bed)
    QApplication.processEvents()
    return window


def key(window, which: Qt.Key, modifiers=Qt.KeyboardModifier.NoModifier) -> None:
    QTest.keyClick(QApplication.focusWidget() or window, which, modifiers)
    QApplication.processEvents()


def last(desk, session, kind):
    found = desk.bed(session).ledger.of(kind)
    return found[-1] if found else None


def test_a_bag_change(at_bed, desk, one_bed, clock) -> None:
    key(at_bed, Qt.Key.Key_F6)
    press("a" + "1200\r" + "3" + "n" + "y" + SAVE)
    assert last(desk, one_bed, BagDown).left_ml == 1200
    hung = last(desk, one_bed, BagHung)
    assert (hung.label_ml, hung.line, hung.line_traced, hung.at) == (3000, "A", True, clock.now())
    assert at_bed.bedside.slip.kind == "check"
    assert "Bag change saved" in at_bed.bedside.slip.message.text()


def test_a_bag_found_empty_is_a_bound(at_bed, desk, one_bed) -> None:
    key(at_bed, Qt.Key.Key_F6)
    press("a" + "0\r" + "3" + "n" + "y" + SAVE)
    assert last(desk, one_bed, BagDown).found_empty is True


def test_a_bag_change_without_the_old_level_is_asked_for(at_bed, desk, one_bed) -> None:
    key(at_bed, Qt.Key.Key_F6)
    press("a" + "\r" + "3" + "n" + "y" + SAVE)
    assert at_bed.bedside.slip.cells["left"].error.isVisible()
    assert last(desk, one_bed, BagDown) is None
    press("?" + SAVE)  # "not measured" is an answer
    # a level that is not measured leaves the balance open: it is questioned, and kept with a reason
    press("bag thrown away" + SAVE)
    assert last(desk, one_bed, BagDown).not_measured is True
    answered = {finding.kind: finding.answer for finding in desk.bed(one_bed).ledger.findings}
    assert answered["rest_not_measured"] == "confirmed"


def test_an_emptying(at_bed, desk, one_bed) -> None:
    key(at_bed, Qt.Key.Key_F7)
    press("~1900\r" + "\r" + "n" + SAVE)
    emptied = last(desk, one_bed, DrainageEmptied)
    assert (emptied.volume, emptied.about, emptied.left_ml, emptied.found_full) == (1900, True, None, None)


def test_a_look_takes_three_keys(at_bed, desk, one_bed, clock) -> None:
    key(at_bed, Qt.Key.Key_F5)
    assert press("s" + SAVE) + 1 <= 3
    seen = last(desk, one_bed, OutflowSeen)
    assert (seen.how, seen.at) == ("steady", clock.now())


def test_a_washout(at_bed, desk, one_bed) -> None:
    key(at_bed, Qt.Key.Key_F8)
    press("150\r" + "140\r" + "s" + "t" + "w" + SAVE)
    done = last(desk, one_bed, Washout)
    assert (done.instilled_ml, done.returned_ml, done.returned_to) == (150, 140, "dish")
    assert (done.clots, done.resistance, done.draining_after) == ("small", "stiff", "slow")


def test_a_scan_and_a_leak(at_bed, desk, one_bed) -> None:
    key(at_bed, Qt.Key.Key_F9)
    press("340\r" + "y" + "p" + SAVE)
    assert last(desk, one_bed, BladderScanned).volume_ml == 340
    assert last(desk, one_bed, Leaked).extent == "pad"


def test_symptoms_are_never_refused(at_bed, desk, one_bed) -> None:
    key(at_bed, Qt.Key.Key_F10)
    press("9" + "h" + "y" + SAVE)
    said = last(desk, one_bed, Symptoms)
    assert (said.pain, said.abdomen, said.spasm) == (9, "hard", True)


def test_stop_is_one_key_needs_no_name_and_start_asks_for_a_look(at_bed, desk, one_bed, clock) -> None:
    at_bed.nurse = ""
    key(at_bed, Qt.Key.Key_F4)
    stopped = last(desk, one_bed, InflowStopped)
    assert (stopped.at, stopped.by) == (clock.now(), None)
    assert not desk.bed(one_bed).standing.inflow_on
    at_bed.nurse = "K.M."
    clock.move(minutes=3)
    key(at_bed, Qt.Key.Key_F4)
    assert at_bed.bedside.slip.kind == "start"
    press("s" + "400\r" + SAVE)
    assert last(desk, one_bed, InflowStarted).at == clock.now()
    assert last(desk, one_bed, InflowSet).ml_per_h == 400


def test_not_draining_is_one_key_and_says_the_order(at_bed, desk, one_bed, clock) -> None:
    at_bed.nurse = ""
    key(at_bed, Qt.Key.Key_F3)
    seen = last(desk, one_bed, OutflowSeen)
    assert (seen.running, seen.by, seen.at) == (False, None, clock.now())
    words = at_bed.warn.label.text()
    assert words.startswith("Not draining: 1 stop the inflow")
    assert any(state.condition == "no_outflow" for state in desk.bed(one_bed).raised)
    # stopping is an act of its own, with its own time
    assert last(desk, one_bed, InflowStopped) is None


def test_not_draining_from_the_board_goes_to_the_bed_in_hand(window, desk, one_bed) -> None:
    window.board.focus_row()
    key(window, Qt.Key.Key_F3)
    assert window.pages.currentWidget() is window.bedside
    assert last(desk, one_bed, OutflowSeen).running is False


def test_one_level_of_a_line(at_bed, desk, one_bed) -> None:
    key(at_bed, Qt.Key.Key_F11)
    press("a" + "1150" + SAVE)
    assert last(desk, one_bed, BagRead).left_ml == 1150


def test_escape_leaves_a_slip_for_the_check_and_the_check_for_the_board(at_bed) -> None:
    key(at_bed, Qt.Key.Key_F8)
    key(at_bed, Qt.Key.Key_Escape)
    assert at_bed.bedside.slip.kind == "check"
    key(at_bed, Qt.Key.Key_Escape)
    assert at_bed.pages.currentWidget() is at_bed.board


def test_a_time_of_a_slip_may_lie_back(at_bed, desk, one_bed, clock) -> None:
    key(at_bed, Qt.Key.Key_F7)
    at_bed.bedside.slip.when.setFocus()
    press("13:40\r" + "1700" + SAVE)
    assert last(desk, one_bed, DrainageEmptied).at == clock.now() - timedelta(minutes=22)


def test_the_same_check_can_not_be_saved_twice(at_bed, desk, one_bed) -> None:
    press("sc3n" + SAVE)
    before = len(desk.bed(one_bed).ledger.of(OutflowSeen))
    press(SAVE)  # a double key meets an empty slip
    assert len(desk.bed(one_bed).ledger.of(OutflowSeen)) == before
