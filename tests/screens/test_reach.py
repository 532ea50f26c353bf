"""Everything has an accessible name and can be reached by keyboard; the focus can be seen."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QComboBox,
    QHeaderView,
    QLabel,
    QLineEdit,
    QScrollBar,
    QWidget,
)

from cbi_monitor.screens.bedside.curves import Chart
from cbi_monitor.screens.board.row import Row
from cbi_monitor.screens.fields import KeyField
from cbi_monitor.screens.slips.small import SLIPS

MEANT = (QAbstractButton, QLineEdit, QComboBox, QAbstractItemView, KeyField, Chart)


def nameless(root: QWidget) -> list[str]:
    """Widgets that a screen reader would come to and could not name."""
    found = []
    for widget in root.findChildren(QWidget):
        if not widget.isVisible() or isinstance(widget, (QHeaderView, QScrollBar)):
            continue
        if isinstance(widget.parent(), QAbstractItemView) or "qt_" in widget.objectName():
            continue  # parts that Qt makes of its own widgets
        reads = isinstance(widget, MEANT) or type(widget).paintEvent is not _inherited(widget)
        if isinstance(widget, QLabel) or not reads:
            continue
        interface = QAccessible.queryAccessibleInterface(widget)
        name = widget.accessibleName() or (interface.text(QAccessible.Text.Name) if interface else "")
        if not name.strip():
            found.append(
                f"{type(widget).__name__} {widget.objectName()!r} in {type(widget.parent()).__name__}"
            )
    return found


def _inherited(widget: QWidget):
    """The paintEvent that Qt gives this kind of widget."""
    for kind in type(widget).__mro__:
        if kind.__module__.startswith("PySide6"):
            return kind.paintEvent
    return QWidget.paintEvent


def test_the_walk_can_fail(qtbot) -> None:
    page = QWidget()
    qtbot.addWidget(page)
    field = QLineEdit(page)
    page.show()
    assert nameless(page)
    field.setAccessibleName("left in A")
    assert not nameless(page)


def test_every_widget_of_the_board_has_a_name(window) -> None:
    assert nameless(window) == []
    assert window.findChildren(Row)


@pytest.mark.parametrize("kind", ["check", *SLIPS])
def test_every_widget_of_the_bedside_has_a_name(window, one_bed, kind) -> None:
    window.open_bed(one_bed)
    window.bedside.show_slip(kind)
    QApplication.processEvents()
    assert nameless(window) == []


def sheets(window, desk, one_bed):
    from cbi_monitor.model.events import DrainageRead

    window.open_bed(one_bed)
    window.bedside.tabs.setCurrentIndex(1)
    line = next(one for one in window.bedside.entries.lines if isinstance(one.event, DrainageRead))
    desk.not_draining(one_bed, "K.M.")
    yield window.open_session()
    yield window.ask_name()
    yield window.correct(line)
    window.do("details")
    yield window.sheet
    window.do("seen")
    yield window.sheet
    yield window.answer_finding("none:none")


def test_every_widget_of_every_sheet_has_a_name(window, desk, one_bed) -> None:
    seen = 0
    for sheet in sheets(window, desk, one_bed):
        QApplication.processEvents()
        assert nameless(sheet) == [], sheet.form_name
        seen += 1
        sheet.reject()
        QApplication.processEvents()
    assert seen == 6


def test_tab_reaches_every_control_of_the_bedside(window, one_bed) -> None:
    window.open_bed(one_bed)
    QApplication.processEvents()
    wanted = {
        widget
        for widget in window.bedside.findChildren(QWidget)
        if isinstance(widget, MEANT) and widget.isVisible() and widget.focusPolicy() & Qt.FocusPolicy.TabFocus
        and not isinstance(widget, QHeaderView) and widget.isEnabled()
    }  # fmt: skip
    reached = set()
    for _ in range(120):
        focused = QApplication.focusWidget()
        assert focused is not None
        reached.add(focused)
        QTest.keyClick(focused, Qt.Key.Key_Tab)
    missing = {f"{type(widget).__name__} {widget.accessibleName()}" for widget in wanted - reached}
    assert missing == set()


def test_the_focus_can_be_seen(window, one_bed) -> None:
    window.open_bed(one_bed)
    QApplication.processEvents()
    slip = window.bedside.slip
    for target in (
        slip.cells["running"].field,
        slip.cells["drainage"].field,
        slip.keep,
        window.bedside.acts["look"],
    ):
        slip.when.setFocus()
        QApplication.processEvents()
        before = target.grab().toImage()
        target.setFocus(Qt.FocusReason.TabFocusReason)
        QApplication.processEvents()
        assert target.grab().toImage() != before, target.accessibleName()


def test_no_key_that_is_live_everywhere_is_a_bare_letter(window) -> None:
    for action in window.actions():
        for shortcut in action.shortcuts():
            keys = shortcut.toString(QKeySequence.SequenceFormat.PortableText)
            bare = len(keys) == 1
            assert not bare, f"{action.text()}: {keys}"


def test_no_two_acts_share_a_key(window) -> None:
    keys = [shortcut.toString() for action in window.actions() for shortcut in action.shortcuts()]
    assert sorted({key for key in keys if keys.count(key) > 1}) == []


def test_touch_targets_are_tall_enough(window, one_bed) -> None:
    window.open_bed(one_bed)
    QApplication.processEvents()
    for kind in (QAbstractButton, QLineEdit, KeyField):
        for widget in window.bedside.findChildren(kind):
            if (
                widget.isVisible()
                and "qt_" not in widget.objectName()
                and not isinstance(widget.parent(), QAbstractItemView)
            ):
                if type(widget).__name__ not in ("QToolButton", "QTableCornerButton"):
                    assert widget.height() >= 28, f"{widget.accessibleName()}: {widget.height()}"
