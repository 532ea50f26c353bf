"""The ward board: head line, column headings, a row a bed, the caution in the foot."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from datetime import datetime, timedelta, tzinfo

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from cbi_monitor.screens import icons, look, says
from cbi_monitor.screens.board.row import AHEAD, Columns, Row, column_words, quarter_hours
from cbi_monitor.screens.board.view import MARKS, Lane
from cbi_monitor.wording import say

STILL = timedelta(seconds=20)
"""How long an order of beds stands after a key or the pointer moved on the board: a bed does not jump while looked at."""


class Headings(QWidget):
    """The words over the columns and the clock times over the lanes."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.by = 1.0
        self.row_width = 0
        self.now: datetime | None = None
        self.zone: tzinfo | None = None
        self.setAccessibleName(say("board-headings-name"))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        return QSize(900, round(20 * self.by))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        columns = Columns.of(self.row_width or self.width(), self.by)
        theme = look.theme()
        small = look.font(look.SMALL, by=self.by)
        painter.setFont(small)
        painter.setPen(QColor(theme.soft))
        tall = self.height()
        words = column_words()
        for name, left in (("bed", columns.bed[0]), ("drainage", columns.tube[0]), ("seen", columns.seen[0]),
                           ("hold", columns.hold[0]), ("alert", columns.alert[0] + 10 * self.by)):  # fmt: skip
            painter.drawText(QRectF(left, 0, 240 * self.by, tall), Qt.AlignmentFlag.AlignVCenter, words[name])
        if self.now is None or self.zone is None:
            painter.end()
            return
        metrics = QFontMetricsF(small)
        text = words["lane"]
        half = metrics.horizontalAdvance(text) / 2
        left = columns.lane[0] - half
        painter.drawText(QRectF(left, 0, 2 * half + 2, tall), Qt.AlignmentFlag.AlignVCenter, text)
        end = left + 2 * half + 8 * self.by
        for line in quarter_hours(self.now):
            x = columns.x_of(line, self.now)
            text = f"{line.astimezone(self.zone):%H:%M}"
            half = metrics.horizontalAdvance(text) / 2
            # Every second quarter at most, and never on top of the one before.
            if (
                x - half < end
                or x + half > columns.alert[0] - 2
                or (line.minute % 30 and half * 2 > 32 * self.by)
            ):
                continue
            painter.drawText(QRectF(x - half, 0, 2 * half + 2, tall), Qt.AlignmentFlag.AlignVCenter, text)
            end = x + half + 8 * self.by
        painter.end()


class Legend(QWidget):
    """What the marks mean, and the caution."""

    KINDS = ("dry", "full", "look", "check")

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.by = 1.0
        self.setAccessibleName(say("caution-short"))
        self.setToolTip(say("caution-aid"))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        return QSize(900, round(26 * self.by))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        theme, by, tall = look.theme(), self.by, self.height()
        small = look.font(look.SMALL, by=by)
        metrics = QFontMetricsF(small)
        painter.setFont(small)
        entries = [(kind, say(f"board-legend-{kind}")) for kind in self.KINDS]
        wide = sum(26 * by + metrics.horizontalAdvance(text) + 14 * by for _, text in entries)
        x = self.width() - wide
        painter.setPen(QColor(theme.ink))
        room = QRectF(8 * by, 0, x - 24 * by, tall)
        caution = metrics.elidedText(say("caution-short"), Qt.TextElideMode.ElideRight, room.width())
        painter.drawText(room, Qt.AlignmentFlag.AlignVCenter, caution)
        inks = {"dry": theme.irrigant, "full": theme.effluent}
        for kind, text in entries:
            icons.draw(painter, kind, x, (tall - 18 * by) / 2, 18 * by, QColor(inks.get(kind, theme.ink)))
            x += 24 * by
            painter.setPen(QColor(theme.soft))
            wide = metrics.horizontalAdvance(text) + 2
            painter.drawText(QRectF(x, 0, wide, tall), Qt.AlignmentFlag.AlignVCenter, text)
            x += wide + 14 * by
        painter.end()


class Board(QWidget):
    """Who needs someone, and when? ``opened`` carries the session of the bed that was chosen."""

    opened = Signal(str)
    used = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "page")
        self.setAccessibleName(say("board-name"))
        self.by = 1.0
        self._lanes: list[Lane] = []
        self._now: datetime | None = None
        self._order: list[str] = []
        self._touched: datetime | None = None
        self._waits = False
        self._rows: dict[str, Row] = {}

        outer = QVBoxLayout(self)
        outer.setContentsMargins(20, 10, 20, 8)
        outer.setSpacing(6)
        self.head = QHBoxLayout()
        self.head.setSpacing(look.GAP_3)
        outer.addLayout(self.head)
        self.ward = _label("ward")
        self.clock = _label("clock")
        self.counts = {name: _label("nil") for name in MARKS}
        self.due = _label("soft")
        self.bags = _label("soft")
        self.signed = _label("soft")
        for widget in (self.ward, self.clock, *self.counts.values()):
            self.head.addWidget(widget)
        self.head.addSpacing(look.GAP_4)
        self.head.addWidget(self.due)
        self.head.addSpacing(look.GAP_4)
        self.head.addWidget(self.bags)
        self.head.addStretch(1)
        self.head.addWidget(self.signed)
        self.headings = Headings()
        outer.addWidget(self.headings)
        self.sheet_of_lanes = QScrollArea()
        self.sheet_of_lanes.setWidgetResizable(True)
        self.sheet_of_lanes.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.sheet_of_lanes.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.sheet_of_lanes.setAccessibleName(say("board-name"))
        self.list = QWidget()
        self.list.setProperty("part", "page")
        self.list.setAccessibleName(say("board-name"))
        self.rows = QVBoxLayout(self.list)
        self.rows.setContentsMargins(0, 0, 0, 0)
        self.rows.setSpacing(6)
        self.empty = _label("title")
        self.empty.setText(say("board-empty"))
        self.empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.empty.setWordWrap(True)
        self.rows.addWidget(self.empty)
        self.rows.addStretch(1)
        self.sheet_of_lanes.setWidget(self.list)
        self.sheet_of_lanes.verticalScrollBar().valueChanged.connect(lambda _: self.used.emit())
        outer.addWidget(self.sheet_of_lanes, 1)
        self.legend = Legend()
        outer.addWidget(self.legend)

    # --- what is shown ------------------------------------------------------------------------------------------

    def show_ward(self, name: str, signed: str, zone: tzinfo) -> None:
        """The ward's name and who is signed in."""
        self.ward.setText(name)
        self.signed.setText(signed)
        self.headings.zone = zone

    def show_clock(self, now: datetime, zone: tzinfo) -> None:
        """The clock, to the second."""
        self.clock.setText(says.ticking(now, zone))

    def show_counts(self, counts: dict[str, int], due: tuple[str, int] | None, bags: str) -> None:
        """Alerts by priority, checks due by when, bags that the shift still needs (empty: not known)."""
        for name, label in self.counts.items():
            n = counts.get(name, 0)
            look.set_part(label, name if n else "nil")
            label.setText(say("board-count", mark=MARKS[name], n=n))
            label.setAccessibleName(say(f"board-count-{name}", n=n))
        self.due.setText("" if due is None else say("board-checks-due", at=due[0], n=due[1]))
        self.bags.setText(bags)

    def show_lanes(self, lanes: Sequence[Lane], now: datetime, told: Sequence[str] | None = None) -> int:
        """The rows, in order of need but not jumping while the board is in use. Returns how many were repainted.

        ``told``: the sessions whose lanes are new (None: all); the others stand as they were painted.
        """
        self._now = now
        self._lanes = list(lanes)
        self._order_rows(now)
        if self.headings.now is None or abs((now - self.headings.now).total_seconds()) >= 30:
            self.headings.now = now
            self.headings.update()
        fresh = None if told is None else set(told)
        painted = 0
        for lane in lanes:
            if fresh is None or lane.session in fresh:
                painted += self._rows[lane.session].show_lane(lane, now, self.by)
        return painted

    def settle(self, now: datetime) -> None:
        """Once nobody has touched the board for a while, an order that was held back is taken."""
        if self._waits:
            self._order_rows(now)

    def touched(self, now: datetime) -> None:
        """A key or the pointer moved on the board: the order stands for a while."""
        self._touched = now

    @property
    def order(self) -> list[str]:
        """The sessions from top to bottom."""
        return list(self._order)

    def row(self, session: str) -> Row:
        """The row of a session. Raises KeyError."""
        return self._rows[session]

    def _order_rows(self, now: datetime) -> None:
        wanted = [lane.session for lane in sorted(self._lanes, key=lambda lane: lane.need)]
        gone = set(self._rows) - set(wanted)
        for session in gone:
            row = self._rows.pop(session)
            self.rows.removeWidget(row)
            row.deleteLater()
        fresh = [session for session in wanted if session not in self._rows]
        held = self._touched is not None and now - self._touched < STILL and now >= self._touched
        self._waits = held and not fresh and wanted != self._order
        if held and not fresh:
            wanted = [session for session in self._order if session in self._rows]
        for session in fresh:
            row = Row(self.list)
            row.opened.connect(self.opened)
            row.used.connect(self.used)
            row.stepped.connect(lambda step, session=session: self._step(session, step))
            self._rows[session] = row
        if wanted != self._order or gone or fresh:
            focused = next((s for s, row in self._rows.items() if row.hasFocus()), None)
            for place, session in enumerate(wanted):
                row = self._rows[session]
                self.rows.removeWidget(row)
                self.rows.insertWidget(place, row)
            self._order = wanted
            for one, other in itertools.pairwise(wanted):
                QWidget.setTabOrder(self._rows[one], self._rows[other])
            if focused in self._rows:
                self._rows[focused].setFocus()
        self.empty.setVisible(not wanted)
        self._fit()

    def _step(self, session: str, step: int) -> None:
        place = self._order.index(session) + step
        if 0 <= place < len(self._order):
            self.focus_row(self._order[place])

    def focus_row(self, session: str | None = None) -> None:
        """Put the focus on a bed, the first one where none is named."""
        if session is None and self._order:
            session = self._order[0]
        row = self._rows.get(session or "")
        if row is not None:
            row.setFocus(Qt.FocusReason.TabFocusReason)
            self.sheet_of_lanes.ensureWidgetVisible(row, 0, 12)

    # --- size ---------------------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        self._fit()
        super().resizeEvent(event)

    def fit_again(self) -> None:
        """Fit anew after the type scale or the theme changed."""
        self._fit()
        for row in self._rows.values():
            row.update()

    def _fit(self) -> None:
        """Larger windows have larger letters, so that the board can be read from two metres."""
        by = max(1.0, min(2.5, self.width() / 1280, self.height() / 720)) * look.scale()
        by = min(by, max(1.0, self.width() / 1180))
        changed = abs(by - self.by) > 0.01
        self.by = by
        tallest = 118 * by
        for row in self._rows.values():
            row.setMaximumHeight(round(tallest))
            if changed and row.lane is not None and row.now is not None:
                row.show_lane(row.lane, row.now, by)
        bar = self.sheet_of_lanes.verticalScrollBar()
        needed = sum(row.minimumSizeHint().height() + 6 for row in self._rows.values())
        scrolls = needed > self.sheet_of_lanes.viewport().height()
        width = self.sheet_of_lanes.width() - (bar.sizeHint().width() if scrolls else 0)
        for strip in (self.headings, self.legend):
            strip.by = by
            strip.updateGeometry()
            strip.update()
        self.headings.row_width = width
        if changed:
            self._scale_head(by)

    def _scale_head(self, by: float) -> None:
        for label, size in ((self.ward, look.TITLE), (self.clock, look.TITLE), *((one, look.TEXT) for one in (
                *self.counts.values(), self.due, self.bags, self.signed))):  # fmt: skip
            label.setStyleSheet(f"font-size: {round(size * by)}px;")


def _label(part: str) -> QLabel:
    made = QLabel()
    made.setProperty("part", part)
    made.setTextFormat(Qt.TextFormat.PlainText)
    return made


__all__ = ["AHEAD", "Board"]
