"""One bed's row on the board, painted: bed, drainage, seen, bladder, the next two hours, the worst alert."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QEnterEvent,
    QFont,
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from cbi_monitor.screens import icons, look
from cbi_monitor.screens.board.stack import stack
from cbi_monitor.screens.board.view import HOLD_SCALE, MARKS, Lane, Mark
from cbi_monitor.wording import say

AHEAD = timedelta(hours=2)
STOREY = 22.0


@dataclass(frozen=True, slots=True)
class Columns:
    """Where the columns of the board begin and end, in pixels from the row's left, for one row width and scale."""

    by: float
    bed: tuple[float, float]
    tube: tuple[float, float]
    drainage: tuple[float, float]
    seen: tuple[float, float]
    hold: tuple[float, float]
    lane: tuple[float, float]
    alert: tuple[float, float]

    @classmethod
    def of(cls, width: float, by: float) -> Columns:
        """The columns in a row ``width`` pixels wide at type scale ``by``: the lane takes what the words leave."""

        def at(a: float, b: float) -> tuple[float, float]:
            return a * by, b * by

        right = width - 240 * by
        return cls(
            by, at(18, 112), at(118, 142), at(152, 292), at(302, 424), at(434, 618),
            (638 * by, right - 16 * by), (right, width - 8 * by),
        )  # fmt: skip

    def x_of(self, at: datetime, now: datetime) -> float:
        """Where an instant stands on the lane, held within its two ends."""
        left, right = self.lane
        part = (at - now) / AHEAD
        return left + max(0.0, min(1.0, part)) * (right - left)


PITCH = 14
"""From line to line of the words under an alert, at 100 % type; px."""


class Row(QAbstractButton):
    """A bed on the board. Enter, space or a click goes to the bed."""

    opened = Signal(str)
    stepped = Signal(int)
    used = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.lane: Lane | None = None
        self.now: datetime | None = None
        self.by = 1.0
        self._storeys = 2
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.clicked.connect(self._go)

    def show_lane(self, lane: Lane, now: datetime, by: float) -> bool:
        """Take what is to be shown; repaints only where something differs. True when it did."""
        if (
            lane == self.lane
            and by == self.by
            and self.now is not None
            and (now - self.now).total_seconds() < 15
        ):
            return False
        said = lane.spoken
        if self.lane is None or said != self.lane.spoken:
            self.setAccessibleName(said)
            self.setToolTip(said)
        self.lane, self.now, self.by = lane, now, by
        needed = self._needed()
        if needed != self._storeys:
            self._storeys = needed
            self.updateGeometry()
        self.update()
        return True

    def sizeHint(self) -> QSize:
        return QSize(round(1200 * self.by), round(98 * self.by))

    def minimumSizeHint(self) -> QSize:
        lines = 3 if self.lane is None or self.lane.chip is None else 4
        tall = max(80.0, 16 + STOREY * self._storeys, 12 + 18.0 * lines)
        return QSize(round(900 * self.by), round(tall * self.by))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        self.used.emit()
        key = event.key()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._go()
        elif key == Qt.Key.Key_Down:
            self.stepped.emit(1)
        elif key == Qt.Key.Key_Up:
            self.stepped.emit(-1)
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.used.emit()
        super().mousePressEvent(event)

    def enterEvent(self, event: QEnterEvent) -> None:
        self.used.emit()
        super().enterEvent(event)

    def _go(self) -> None:
        if self.lane is not None:
            self.opened.emit(self.lane.session)

    # --- painting -----------------------------------------------------------------------------------------------

    def _placed(self) -> list[tuple[Mark, float, int]]:
        """Each mark with its x and its storey."""
        if self.lane is None or self.now is None:
            return []
        columns = Columns.of(self.width(), self.by)
        placed: list[tuple[Mark, float, float]] = []
        for mark in self.lane.marks:
            if mark.at - self.now > AHEAD:
                continue
            wide = QFontMetricsF(look.font(look.SMALL, bold=mark.urgent, by=self.by)).horizontalAdvance(
                mark.text
            )
            x = columns.x_of(mark.at, self.now)
            full = (22 + 4) * self.by + wide
            # A mark near the right end keeps its words on the lane: they stand left of the instant there.
            left = max(x - 9 * self.by, columns.lane[0] + 4 * self.by)
            left = left if left + full <= columns.lane[1] else columns.lane[1] - full
            placed.append((mark, left, full))
        storeys = stack([(left, left + full) for _, left, full in placed], 8 * self.by)
        return [(mark, left, storey) for (mark, left, _), storey in zip(placed, storeys, strict=True)]

    def _needed(self) -> int:
        placed = self._placed()
        return max((storey for *_, storey in placed), default=0) + 1

    def resizeEvent(self, event: object) -> None:
        needed = self._needed()
        if needed != self._storeys:
            self._storeys = needed
            self.updateGeometry()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme, by = look.theme(), self.by
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        painter.setPen(QPen(QColor(theme.line), 1))
        painter.setBrush(QColor(theme.lane if self.isDown() else theme.panel))
        painter.drawRoundedRect(box, look.RADIUS, look.RADIUS)
        lane = self.lane
        if lane is not None and self.now is not None:
            columns = Columns.of(self.width(), by)
            if lane.chip is not None and lane.chip.priority == "high":
                painter.save()
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(QColor(theme.high))
                painter.drawRoundedRect(QRectF(box.left(), box.top(), 6 * by, box.height()), 3, 3)
                painter.restore()
            self._bed(painter, columns, lane)
            self._drainage(painter, columns, lane)
            self._seen(painter, columns, lane)
            self._hold(painter, columns, lane)
            self._lane(painter, columns, lane)
            self._alert(painter, columns, lane)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(theme.ink), 2))
            painter.drawRoundedRect(box, look.RADIUS, look.RADIUS)
        painter.end()

    def _top(self, lines: float = 3) -> float:
        """The top of a block of text of three lines, in the middle of the row."""
        return (self.height() - (24 + 18 * (lines - 1)) * self.by) / 2

    def _write(
        self, painter: QPainter, place: tuple[float, float], top: float, text: str, font: QFont, ink: str,
        *, right: bool = False, tall: float = 20,
    ) -> None:  # fmt: skip
        """One line of text within a column, with dots where it does not fit (the tooltip has it whole)."""
        if not text:
            return
        painter.setFont(font)
        painter.setPen(QColor(ink))
        wide = place[1] - place[0]
        shown = QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, wide + 0.5)
        side = Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag.AlignLeft
        painter.drawText(
            QRectF(place[0], top, wide, tall * self.by), side | Qt.AlignmentFlag.AlignVCenter, shown
        )

    def _bed(self, painter: QPainter, columns: Columns, lane: Lane) -> None:
        theme, by = look.theme(), self.by
        top = self._top()
        size = look.LARGE
        wide = columns.bed[1] - columns.bed[0]
        while (
            size > look.TEXT
            and QFontMetricsF(look.font(size, bold=True, by=by)).horizontalAdvance(lane.bed) > wide
        ):
            size -= 2
        large = look.font(size, bold=True, by=by)
        self._write(painter, columns.bed, top - 4 * by, lane.bed, large, theme.ink, tall=30)
        small = look.font(look.SMALL, by=by)
        beside = columns.bed[0] + QFontMetricsF(large).horizontalAdvance(lane.bed) + 8 * by
        if beside + QFontMetricsF(small).horizontalAdvance(lane.day) <= columns.bed[1] + 2 * by:
            self._write(
                painter, (beside, columns.bed[1] + 4 * by), top + by, lane.day, small, theme.soft, tall=24
            )
            lines = self._wrapped(lane.operation, small, wide, 2)
        else:
            lines = [*self._wrapped(lane.operation, small, wide, 1), lane.day]
        for n, line in enumerate(lines):
            self._write(painter, columns.bed, top + (27 + 16 * n) * by, line, small, theme.soft, tall=16)

    @staticmethod
    def _wrapped(text: str, font: QFont, wide: float, most: int) -> list[str]:
        """A text in at most so many lines; the last one is left to be cut with dots."""
        metrics, lines, rest = QFontMetricsF(font), [], text.split()  # type: ignore[var-annotated]
        while rest and len(lines) < most - 1:
            line = rest.pop(0)
            while rest and metrics.horizontalAdvance(f"{line} {rest[0]}") <= wide:
                line = f"{line} {rest.pop(0)}"
            lines.append(line)
        return [*lines, " ".join(rest)] if rest else lines

    def _drainage(self, painter: QPainter, columns: Columns, lane: Lane) -> None:
        theme, by = look.theme(), self.by
        tall = min(self.height() - 20 * by, 60 * by)
        tube = QRectF(columns.tube[0], (self.height() - tall) / 2, columns.tube[1] - columns.tube[0], tall)
        icons.draw_tube(painter, tube, lane.swatch, lane.clots, QColor(theme.soft), QColor("#4a0f12"))
        top = self._top()
        bold = look.font(look.STRONG if len(lane.colour_word) < 15 else look.TEXT, bold=True, by=by)
        self._write(painter, columns.drainage, top, lane.colour_word, bold, theme.ink, tall=22)
        small = look.font(look.SMALL, by=by)
        self._write(painter, columns.drainage, top + 24 * by, lane.colour_rate, small, theme.soft, tall=17)
        heavy = look.font(look.SMALL, bold=lane.clots_matter, by=by)
        ink = theme.ink if lane.clots_matter else theme.soft
        self._write(painter, columns.drainage, top + 42 * by, lane.clots_text, heavy, ink, tall=17)

    def _seen(self, painter: QPainter, columns: Columns, lane: Lane) -> None:
        theme, by = look.theme(), self.by
        top = self._top()
        bold = look.font(look.STRONG if len(lane.seen) < 13 else look.TEXT, bold=True, by=by)
        self._write(
            painter, columns.seen, top, lane.seen, bold, theme.late if lane.seen_late else theme.ink, tall=22
        )
        small = look.font(look.SMALL, by=by)
        ink = theme.ink if lane.seen_late else theme.soft
        self._write(painter, columns.seen, top + 24 * by, lane.seen_how, small, ink, tall=17)
        heavy = look.font(look.SMALL, bold=lane.comfort_matters, by=by)
        ink = theme.ink if lane.comfort_matters else theme.soft
        self._write(painter, columns.seen, top + 42 * by, lane.comfort, heavy, ink, tall=17)

    def _hold(self, painter: QPainter, columns: Columns, lane: Lane) -> None:
        theme, by = look.theme(), self.by
        top = self._top()
        known = lane.hold_high is not None
        bold = look.font(look.STRONG if known else look.TEXT, bold=True, by=by)
        small = look.font(look.SMALL, by=by)
        # The words may need the whole column; where the figure is short, its age stands beside it.
        used = QFontMetricsF(bold).horizontalAdvance(lane.hold)
        age = QFontMetricsF(small).horizontalAdvance(lane.hold_as_of)
        column = columns.hold
        self._write(painter, column, top, lane.hold, bold, theme.ink, tall=22)
        below = not known or used + age + 8 * by > column[1] - column[0]
        if not below:
            self._write(
                painter, column, top + 2 * by, lane.hold_as_of, small, theme.soft, right=True, tall=20
            )
        if not known:
            self._write(painter, column, top + 24 * by, lane.hold_as_of, small, theme.soft, tall=17)
            self._write(painter, column, top + 42 * by, lane.limit_text, small, theme.soft, tall=17)
            return
        left, right = column
        y = top + 31 * by
        painter.setPen(QPen(QColor(theme.line), 2))
        painter.drawLine(QPointF(left, y), QPointF(right, y))
        wide = right - left

        def x(ml: float) -> float:
            return left + max(0.0, min(1.0, ml / HOLD_SCALE)) * wide

        low, high = lane.hold_low or 0.0, lane.hold_high or 0.0
        band = QRectF(x(low), y - 5 * by, max(6 * by, x(high) - x(low)), 10 * by)
        painter.setPen(QPen(QColor(theme.high if lane.over_limit else theme.net), 1))
        painter.setBrush(QColor(theme.over if lane.over_limit else theme.doubt))
        painter.drawRoundedRect(band, 5 * by, 5 * by)
        if high > HOLD_SCALE:
            painter.drawLine(QPointF(right - 5 * by, y - 4 * by), QPointF(right, y))
            painter.drawLine(QPointF(right - 5 * by, y + 4 * by), QPointF(right, y))
        if lane.limit is not None:
            at = x(lane.limit)
            painter.setPen(QPen(QColor(theme.ink), 2))
            painter.drawLine(QPointF(at, y - 9 * by), QPointF(at, y + 9 * by))
            text = lane.limit_text
            half = QFontMetricsF(small).horizontalAdvance(text) / 2 + 1
            middle = max(left + half, min(right - half, at))
            if below:
                middle = left + half
            self._write(
                painter, (middle - half, middle + half), top + 42 * by, text, small, theme.soft, tall=17
            )
        if below:
            self._write(
                painter, column, top + 42 * by, lane.hold_as_of, small, theme.soft, right=True, tall=17
            )

    def _lane(self, painter: QPainter, columns: Columns, lane: Lane) -> None:
        theme, by = look.theme(), self.by
        left, right = columns.lane
        top, bottom = 9 * by, self.height() - 9 * by
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(theme.lane))
        painter.drawRoundedRect(QRectF(left - 8 * by, top, right - left + 8 * by, bottom - top), 6, 6)
        assert self.now is not None
        painter.setPen(QPen(QColor(theme.line), 1))
        for line in quarter_hours(self.now):
            x = columns.x_of(line, self.now)
            painter.drawLine(QPointF(x, top), QPointF(x, bottom))
        painter.setPen(QPen(QColor(theme.ink), 2))
        painter.drawLine(QPointF(left, top - 4 * by), QPointF(left, bottom + 4 * by))
        placed = self._placed()
        used = (max((storey for *_, storey in placed), default=0) + 1) * STOREY * by
        base = top + 3 * by if used + 8 * by > bottom - top else top + 4 * by
        inks = {"dry": theme.irrigant, "full": theme.effluent}
        for mark, x, storey in placed:
            y = base + storey * STOREY * by
            ink = theme.soft if mark.waits else inks.get(mark.kind, theme.ink)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(theme.lane))
            painter.drawEllipse(QPointF(x + 9 * by, y + 9 * by), 10 * by, 10 * by)
            icons.draw(painter, mark.kind, x, y, 18 * by, QColor(ink))
            font = look.font(look.SMALL, bold=mark.urgent, by=by)
            place = (x + 22 * by, self.width())
            self._write(painter, place, y, mark.text, font, theme.ink if mark.urgent else theme.soft, tall=18)

    def _alert(self, painter: QPainter, columns: Columns, lane: Lane) -> None:
        theme, by = look.theme(), self.by
        small = look.font(look.SMALL, by=by)
        place = (columns.alert[0] + 10 * by, columns.alert[1])
        if lane.chip is None:
            lines = [*lane.quiet, *([lane.cleared] if lane.cleared else [])]
            top = self._top(len(lines))
            for n, line in enumerate(lines):
                self._write(painter, place, top + n * 20 * by, line, look.font(look.TEXT if n == 0 else look.SMALL, by=by),
                            theme.soft, tall=20)  # fmt: skip
            return
        chip = lane.chip
        lines = [line for line in (*chip.lines, lane.cleared) if line]
        wrapped = [part for line in lines for part in self._wrapped(line, small, place[1] - place[0], 3)]
        # The first act is never cut where a line more can hold it: it ends in "stop the inflow".
        room = int((self.height() - 29 * by) // (PITCH * by))
        lines = (wrapped if len(wrapped) <= room else lines)[: max(2, room)]
        top = max(2 * by, (self.height() - (26 + PITCH * len(lines)) * by) / 2)
        box = QRectF(columns.alert[0], top, columns.alert[1] - columns.alert[0], 24 * by)
        fill = {"high": theme.high, "medium": theme.medium, "low": theme.panel}[chip.priority]
        ink = {"high": theme.on_high, "medium": theme.on_medium, "low": theme.ink}[chip.priority]
        edge = {"high": theme.high, "medium": theme.medium, "low": theme.low}[chip.priority]
        painter.setPen(QPen(QColor(edge), 2))
        painter.setBrush(QColor(fill))
        painter.drawRoundedRect(box, look.RADIUS_SMALL, look.RADIUS_SMALL)
        bold = look.font(look.TEXT, bold=True, by=by)
        mark = MARKS[chip.priority]
        self._write(painter, place, top, mark, bold, ink, tall=24)
        indent = place[0] + QFontMetricsF(bold).horizontalAdvance(mark) + 8 * by
        words, font = chip.text, bold
        end = columns.alert[1] - 6 * by
        if chip.more:
            more = say("board-plus", n=chip.more)
            wide = QFontMetricsF(bold).horizontalAdvance(more)
            self._write(painter, (end - wide - 2, end), top, more, bold, ink, tall=24)
            end -= wide + 8 * by
        if QFontMetricsF(bold).horizontalAdvance(words) > end - indent:
            font = look.font(look.SMALL, bold=True, by=by)
        self._write(painter, (indent, end), top, words, font, ink, tall=24)
        for n, line in enumerate(lines):
            line_top = top + (26 + PITCH * n) * by
            self._write(painter, place, line_top, line, small, theme.ink if n == 0 else theme.soft, tall=16)


def quarter_hours(now: datetime) -> list[datetime]:
    """The quarter hours that lie ahead within the lane."""
    first = now.replace(minute=now.minute // 15 * 15, second=0, microsecond=0) + timedelta(minutes=15)
    lines = []
    while first <= now + AHEAD:
        lines.append(first)
        first += timedelta(minutes=15)
    return lines


def column_words() -> dict[str, str]:
    """The headings over the columns."""
    names = ("bed", "drainage", "seen", "hold", "lane", "alert")
    return {name: say(f"board-column-{name}") for name in names}
