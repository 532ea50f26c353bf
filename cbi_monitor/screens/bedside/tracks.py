"""Under the curves, on the same time axis: how far behind, the colour of the drainage with its rate, what was done."""

from __future__ import annotations

import math
from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from cbi_monitor.screens import icons, look, says
from cbi_monitor.screens.bedside.curves import LEFT, RIGHT
from cbi_monitor.screens.bedside.view import ChartMark, Curves, Strip
from cbi_monitor.wording import say

BEHIND, COLOUR, WORDS, MARKS = 34.0, 16.0, 17.0, 22.0


class Tracks(QWidget):
    """Behind-by with its limits, colour strip, marks."""

    read = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(say("bedside-tracks-name"))
        self.curves = Curves((), (), (), (), (), (), frozenset())
        self.strips: tuple[Strip, ...] = ()
        self.marks: tuple[ChartMark, ...] = ()
        self.limits: tuple[float, ...] = ()
        self.ends = (0.0, 1.0)
        self.with_behind = True
        self.now = 0.0

    def sizeHint(self) -> QSize:
        tall = (BEHIND + 6 if self.with_behind else 0) + COLOUR + WORDS + MARKS
        return QSize(300, round(tall * look.scale()))

    def minimumSizeHint(self) -> QSize:
        return QSize(100, self.sizeHint().height())

    def show_tracks(
        self, curves: Curves, strips: Sequence[Strip], marks: Sequence[ChartMark], limits: Sequence[float]
    ) -> None:
        """What is to be drawn; ``limits`` in mL are drawn across the behind-by track."""
        self.curves, self.strips, self.marks, self.limits = curves, tuple(strips), tuple(marks), tuple(limits)
        words = [strip.words for strip in self.strips[-3:]] + [mark.words for mark in self.marks[-5:]]
        self.setAccessibleName(". ".join([say("bedside-tracks-name"), *words]))
        self.update()

    def show_ends(self, first: float, last: float) -> None:
        """The first and last second shown, as the curves above have it."""
        self.ends = (first, last)
        self.update()

    def _x(self, at: float) -> float:
        first, last = self.ends
        return LEFT + (at - first) / max(1.0, last - first) * (self.width() - LEFT - RIGHT)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        by = look.scale()
        top = 2.0
        if self.with_behind:
            self._behind(painter, top, BEHIND * by)
            top += (BEHIND + 6) * by
        self._colour(painter, top, COLOUR * by)
        self._marks(painter, top + (COLOUR + WORDS) * by)
        painter.end()

    def _label(self, painter: QPainter, top: float, tall: float, text: str) -> None:
        painter.setFont(look.font(look.SMALL - 1))
        painter.setPen(QColor(look.theme().soft))
        painter.drawText(
            QRectF(0, top, LEFT - 6, tall), Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, text
        )

    def _behind(self, painter: QPainter, top: float, tall: float) -> None:
        theme = look.theme()
        left, right = LEFT, self.width() - RIGHT
        self._label(painter, top, tall, say("bedside-track-behind"))
        painter.fillRect(QRectF(left, top, right - left, tall), QColor(theme.lane))
        shown = [
            (t, b) for t, b in zip(self.curves.times, self.curves.behind, strict=True)
            if self.ends[0] - 3600 <= t <= self.ends[1] and not math.isnan(b)
        ]  # fmt: skip
        most = max([*(b for _, b in shown), *(limit * 1.15 for limit in self.limits), 100.0])
        painter.save()
        painter.setClipRect(QRectF(left, top, right - left, tall))

        def y(ml: float) -> float:
            return top + tall - 1 - ml / most * (tall - 3)

        if shown:
            line = [QPointF(self._x(t), y(b)) for t, b in shown]
            area = QPolygonF([QPointF(line[0].x(), y(0)), *line, QPointF(line[-1].x(), y(0))])
            painter.setPen(Qt.PenStyle.NoPen)
            high = bool(self.limits) and max(b for _, b in shown) >= min(self.limits)
            painter.setBrush(QColor(theme.over if high else theme.doubt))
            painter.drawPolygon(area)
            painter.setPen(QPen(QColor(theme.high if high else theme.net), 1.5))
            painter.drawPolyline(QPolygonF(line))
        painter.restore()
        painter.setFont(look.font(look.SMALL - 1))
        for limit in self.limits:
            painter.setPen(QPen(QColor(theme.soft), 1, Qt.PenStyle.DashLine))
            painter.drawLine(QPointF(left, y(limit)), QPointF(right, y(limit)))
            painter.setPen(QColor(theme.soft))
            text = say("screens-ml", ml=says.number(limit))
            wide = QFontMetricsF(painter.font()).horizontalAdvance(text) + 4
            painter.fillRect(QRectF(left + 2, y(limit) - 6, wide, 12), QColor(theme.lane))
            painter.drawText(QRectF(left + 4, y(limit) - 8, wide, 16), Qt.AlignmentFlag.AlignVCenter, text)

    def _colour(self, painter: QPainter, top: float, tall: float) -> None:
        theme = look.theme()
        left, right = LEFT, self.width() - RIGHT
        self._label(painter, top, tall, say("bedside-track-colour"))
        painter.save()
        painter.setClipRect(QRectF(left, top, right - left, tall + 20 * look.scale()))
        shown = [strip for strip in self.strips if strip.end > self.ends[0] and strip.start < self.ends[1]]
        before = ""
        for strip in shown:
            x0, x1 = (
                max(left, self._x(strip.start)),
                min(self._x(self.now) if self.now else right, self._x(strip.end)),
            )
            painter.fillRect(QRectF(x0, top, x1 - x0, tall), QColor(strip.swatch))
            if strip.swatch != before:
                painter.setPen(QPen(QColor(theme.panel), 1))
                painter.drawLine(QPointF(x0, top), QPointF(x0, top + tall))
            before = strip.swatch
        if shown:
            x0, x1 = (
                max(left, self._x(shown[0].start)),
                min(self._x(self.now) if self.now else right, self._x(shown[-1].end)),
            )
            painter.setPen(QPen(QColor(theme.soft), 1))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(x0, top, x1 - x0 - 1, tall))
        # The newest word always stands; older ones where there is room left of it.
        edge = right + 1.0
        small = look.font(look.SMALL - 1)
        for n, strip in enumerate(reversed(shown)):
            font = look.font(look.SMALL - 1, bold=strip.strong or n == 0)
            wide = QFontMetricsF(font).horizontalAdvance(strip.words) + 6
            x = max(left, self._x(strip.start))
            if n == 0:
                x = min(x, right - wide)
            if x + wide > edge or x < left:
                continue
            painter.setFont(font if n == 0 or strip.strong else small)
            painter.setPen(QColor(theme.ink if n == 0 or strip.strong else theme.soft))
            painter.drawText(
                QRectF(x, top + tall, wide, WORDS * look.scale()), Qt.AlignmentFlag.AlignVCenter, strip.words
            )
            edge = x - 8
        painter.restore()

    def _marks(self, painter: QPainter, top: float) -> None:
        by = look.scale()
        self._label(painter, top, MARKS * by, say("bedside-track-done"))
        for mark, x, size in self._placed():
            icons.draw(painter, mark.kind.split("-")[0], x, top + 3 * by, size, self._ink(mark))

    def _ink(self, mark: ChartMark) -> QColor:
        theme = look.theme()
        inks = {"dry": theme.irrigant, "full": theme.effluent, "alert-high": theme.high, "alert-medium": theme.ink,
                "alert-low": theme.low, "stop": theme.high}  # fmt: skip
        return QColor(inks.get(mark.kind, theme.ink))

    def _placed(self) -> list[tuple[ChartMark, float, float]]:
        """Marks with their left edge and size. Where they would touch, looks give way: checks have so many of them."""
        size = 16 * look.scale()
        left, right = LEFT, self.width() - RIGHT
        taken: list[tuple[float, float]] = []
        placed: list[tuple[ChartMark, float, float]] = []
        for mark in sorted(self.marks, key=lambda m: (m.kind == "look", -m.at)):
            x = self._x(mark.at)
            if not left - 1 <= x <= right + 1:
                continue
            x = min(right - size, max(left, x - size / 2))
            if any(a - 1 < x + size and x < b + 1 for a, b in taken):
                continue
            taken.append((x, x + size))
            placed.append((mark, x, size))
        return placed

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        x = event.position().x()
        by = look.scale()
        colour_top = ((BEHIND + 6) * by if self.with_behind else 0) + 2
        y = event.position().y()
        if y >= colour_top + (COLOUR + WORDS) * by:
            for mark, left, size in self._placed():
                if left - 3 <= x <= left + size + 3:
                    self.read.emit(mark.words)
                    return
        elif y >= colour_top:
            for strip in self.strips:
                if self._x(strip.start) <= x < self._x(strip.end):
                    self.read.emit(strip.words)
                    return
        self.read.emit(None)

    def leaveEvent(self, event: object) -> None:
        self.read.emit(None)
