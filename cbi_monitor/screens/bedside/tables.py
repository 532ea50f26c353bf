"""The rows of the balance as a table, and the entries with what was struck through."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QKeyEvent, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from cbi_monitor.screens import look
from cbi_monitor.screens.bedside.view import COLUMNS, EntryLine, TableRow
from cbi_monitor.wording import say

Index = QModelIndex | QPersistentModelIndex
RIGHT = frozenset({"in", "out", "net", "range", "behind", "hold"})
ENTRY_COLUMNS = ("time", "kind", "text", "by", "note")


class Rows(QAbstractTableModel):
    """The balance, newest first."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.lines: Sequence[TableRow] = ()

    def show_rows(self, lines: Sequence[TableRow]) -> None:
        """Take new rows; each is put into words when it is first shown."""
        self.beginResetModel()
        self.lines = lines
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own signature
        return 0 if parent.isValid() else len(self.lines)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own signature
        return len(COLUMNS)

    def headerData(self, section: int, way: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if way != Qt.Orientation.Horizontal:
            return None
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return say(f"table-{COLUMNS[section]}")
        if role == Qt.ItemDataRole.ToolTipRole:
            return say(f"table-{COLUMNS[section]}-what")
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignRight if COLUMNS[section] in RIGHT else Qt.AlignmentFlag.AlignLeft
            return side | Qt.AlignmentFlag.AlignVCenter
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        line = self.lines[index.row()]
        name = COLUMNS[index.column()]
        text = line.cells[index.column()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return text
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return say("table-cell", column=say(f"table-{name}"), value=text or say("field-empty"))
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignRight if name in RIGHT else Qt.AlignmentFlag.AlignLeft
            return side | Qt.AlignmentFlag.AlignVCenter
        if role == Qt.ItemDataRole.FontRole:
            return look.font(look.TEXT, bold=name in ("net", "behind"))
        if role == Qt.ItemDataRole.ForegroundRole and line.state != "closed":
            return QColor(look.theme().soft)
        return None


class Entries(QAbstractTableModel):
    """Every entry that a person made, newest first."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.lines: tuple[EntryLine, ...] = ()

    def show_entries(self, lines: Sequence[EntryLine]) -> None:
        """Take new entries."""
        if tuple(lines) == self.lines:
            return
        self.beginResetModel()
        self.lines = tuple(lines)
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own signature
        return 0 if parent.isValid() else len(self.lines)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own signature
        return len(ENTRY_COLUMNS)

    def headerData(self, section: int, way: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if way == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return say(f"entries-{ENTRY_COLUMNS[section]}")
        if way == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        line = self.lines[index.row()]
        name = ENTRY_COLUMNS[index.column()]
        if role == Qt.ItemDataRole.UserRole:
            return line
        struck = f"{line.struck} → " if line.struck and line.text else line.struck
        text = f"{struck}{line.text}" if name == "text" else getattr(line, name)
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return text
        if role == Qt.ItemDataRole.AccessibleTextRole:
            said = text
            if name == "text" and line.struck:
                said = say("entries-struck-name", old=line.struck, new=line.text or say("field-empty"))
            return said
        if role == Qt.ItemDataRole.FontRole:
            return look.font(look.TEXT, struck=line.struck_out and name in ("time", "kind"))
        if role == Qt.ItemDataRole.ForegroundRole and (line.struck_out or name in ("note", "by")):
            return QColor(look.theme().soft)
        return None


class StruckText(QStyledItemDelegate):
    """Draws what was struck out with a line through it, then what stands now."""

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        line = index.data(Qt.ItemDataRole.UserRole)
        if not isinstance(line, EntryLine) or not line.struck:
            super().paint(painter, option, index)
            return
        plain = QStyleOptionViewItem(option)
        self.initStyleOption(plain, index)
        plain.text = ""
        style = option.widget.style()
        style.drawControl(style.ControlElement.CE_ItemViewItem, plain, painter, option.widget)
        theme = look.theme()
        painter.save()
        room = QRectF(option.rect).adjusted(6, 0, -4, 0)
        old, new = look.font(look.TEXT, struck=True), look.font(look.TEXT)
        struck = QFontMetricsF(old).elidedText(line.struck, Qt.TextElideMode.ElideRight, room.width())
        painter.setFont(old)
        painter.setPen(QColor(theme.soft))
        painter.drawText(room, Qt.AlignmentFlag.AlignVCenter, struck)
        used = QFontMetricsF(old).horizontalAdvance(struck) + 10
        if line.text and used < room.width():
            painter.setFont(new)
            painter.setPen(QColor(theme.ink))
            left = room.adjusted(used, 0, 0, 0)
            shown = QFontMetricsF(new).elidedText(line.text, Qt.TextElideMode.ElideRight, left.width())
            painter.drawText(left, Qt.AlignmentFlag.AlignVCenter, shown)
        painter.restore()


class Table(QTableView):
    """A table that is read by row and whose rows are opened by Enter or a double click."""

    opened = Signal(int)

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.verticalHeader().setVisible(False)
        self.verticalHeader().setDefaultSectionSize(look.px(24))
        self.verticalHeader().setMinimumSectionSize(look.px(20))
        self.horizontalHeader().setHighlightSections(False)
        self.setCornerButtonEnabled(False)
        self.doubleClicked.connect(lambda index: self.opened.emit(index.row()))

    def fit(self, widths: Sequence[int]) -> None:
        """Column widths in pixels at scale 1; 0: takes what is left."""
        header = self.horizontalHeader()
        for column, wide in enumerate(widths):
            if wide:
                header.setSectionResizeMode(column, QHeaderView.ResizeMode.Interactive)
                header.resizeSection(column, look.px(wide))
            else:
                header.setSectionResizeMode(column, QHeaderView.ResizeMode.Stretch)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and not event.modifiers():
            if self.currentIndex().isValid():
                self.opened.emit(self.currentIndex().row())
            return
        if event.text().isalnum() and not event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            event.ignore()  # letters search nothing here
            return
        super().keyPressEvent(event)
