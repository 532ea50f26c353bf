"""In and out as two curves, the net between them as a band of doubt, read out under the pointer or by arrow keys.

pyqtgraph is loaded when the first bedside chart is opened, not before.
"""

from __future__ import annotations

from bisect import bisect_right
from datetime import datetime, tzinfo

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, Qt, Signal
from PySide6.QtGui import QColor, QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QWidget

from cbi_monitor.screens import look
from cbi_monitor.screens.bedside.view import Curves
from cbi_monitor.wording import say

LEFT = 52
"""Width of the axis left of the curves; the tracks below keep the same, so that times stand above each other."""
RIGHT = 14
STEPS = (300, 900, 1800, 3600, 7200, 14400, 28800, 43200, 86400, 172800)


class Clock(pg.AxisItem):
    """The time axis, by the ward's clock."""

    def __init__(self) -> None:
        super().__init__("bottom")
        self.zone: tzinfo | None = None

    def tickValues(self, low: float, high: float, size: float) -> list[tuple[float, list[float]]]:
        """Whole quarters, hours or days of the ward's clock, so many that their words do not touch."""
        room = max(2.0, size / (58 * look.scale()))
        step = next((s for s in STEPS if (high - low) / s <= room), STEPS[-1])
        offset = 0.0
        if self.zone is not None:
            local = datetime.fromtimestamp(low, self.zone).utcoffset()
            offset = local.total_seconds() if local else 0.0
        first = (low + offset) // step * step - offset
        return [(step, [t for t in np.arange(first, high + 1, step) if low <= t <= high])]

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        """Clock times; at midnight the day."""
        texts = []
        for value in values:
            local = datetime.fromtimestamp(value, self.zone)
            if spacing >= 86400 or (local.hour == 0 and local.minute == 0):
                texts.append(f"{say(f'screens-weekday-{local.isoweekday()}')} {local.day}")
            else:
                texts.append(f"{local:%H:%M}")
        return texts


class Litres(pg.AxisItem):
    """The volume axis in litres."""

    def __init__(self) -> None:
        super().__init__("left")
        self.setWidth(LEFT)

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        """Litres with as many places as the step needs."""
        places = 0 if spacing >= 1000 else 1
        return [say("bedside-litres", n=f"{value / 1000:.{places}f}") for value in values]


class Chart(pg.PlotWidget):
    """The curves. ``read`` carries the time under the pointer (None: none), ``chosen`` a click or Enter."""

    read = Signal(object)
    chosen = Signal(float)
    moved = Signal(float, float)

    def __init__(self, parent: QWidget | None = None) -> None:
        self.clock = Clock()
        super().__init__(parent, axisItems={"bottom": self.clock, "left": Litres()}, background=None)
        self.curves = Curves((), (), (), (), (), (), frozenset())
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(say("bedside-chart-name"))
        self.setMenuEnabled(False)
        self.hideButtons()
        self.setFrameShape(self.Shape.NoFrame)
        box = self.plotItem.getViewBox()
        box.setMouseEnabled(x=True, y=False)
        box.setLimits(minXRange=900)
        box.sigXRangeChanged.connect(lambda _, ends: self.moved.emit(float(ends[0]), float(ends[1])))
        self.plotItem.layout.setContentsMargins(0, 6, RIGHT, 0)
        self.plotItem.layout.setSpacing(0)
        self._items: list[object] = []
        self._at: int | None = None
        self.line = pg.InfiniteLine(angle=90, movable=False)
        self.line.setVisible(False)
        self.now_line = pg.InfiniteLine(angle=90, movable=False)
        self.plotItem.addItem(self.line, ignoreBounds=True)
        self.plotItem.addItem(self.now_line, ignoreBounds=True)
        self.words = {
            name: pg.TextItem(say(f"bedside-curve-{name}"), anchor=(0.5, 0.5)) for name in ("in", "out")
        }
        for item in self.words.values():
            self.plotItem.addItem(item, ignoreBounds=True)
        self.scene().sigMouseMoved.connect(self._hover)
        self.scene().sigMouseClicked.connect(self._click)

    def draw_curves(self, curves: Curves, zone: tzinfo, now: datetime, ends: tuple[float, float]) -> None:
        """Draw anew; ``ends`` are the first and last second to be shown."""
        theme = look.theme()
        self.setBackground(theme.panel)
        self.clock.zone = zone
        for item in self._items:
            self.plotItem.removeItem(item)
        self._items = []
        self.curves = curves
        for axis in ("left", "bottom"):
            shown = self.plotItem.getAxis(axis)
            shown.setPen(pg.mkPen(theme.line))
            shown.setTextPen(pg.mkPen(theme.soft))
            shown.setStyle(tickFont=look.font(look.SMALL), tickLength=0)
        self.plotItem.showGrid(y=True, x=False, alpha=0.12 if theme.name == "light" else 0.2)
        self.line.setPen(pg.mkPen(theme.ink, width=1))
        self.now_line.setPen(pg.mkPen(theme.soft, width=1, style=Qt.PenStyle.DotLine))
        self.now_line.setPos(now.timestamp())
        self.now_line.setPos(now.timestamp())
        times = np.asarray(curves.times)
        starts = sorted(curves.breaks)
        for start, stop in zip(starts, [*starts[1:], len(times)], strict=False):
            self._stretch(curves, times, start, stop)
        self._fit(times, ends)
        self._name_curves(times, ends)
        said = say("bedside-chart-name")
        if len(times):
            said = f"{said}. {self.read_out(len(times) - 1)}"
        self.setAccessibleName(said)

    def move_on(self, now: datetime, ends: tuple[float, float]) -> None:
        """A minute later: the same curves on a time axis that has moved."""
        self.now_line.setPos(now.timestamp())
        self.setXRange(*ends, padding=0)

    def _stretch(self, curves: Curves, times: np.ndarray, start: int, stop: int) -> None:
        theme = look.theme()
        x = times[start:stop]
        low = pg.PlotCurveItem(x, np.asarray(curves.low[start:stop]), pen=None)
        high = pg.PlotCurveItem(x, np.asarray(curves.high[start:stop]), pen=None)
        band = pg.FillBetweenItem(low, high, brush=pg.mkBrush(QColor(theme.doubt)))
        band.setZValue(-5)
        drained = pg.PlotCurveItem(
            x, np.asarray(curves.drained[start:stop]), pen=pg.mkPen(theme.effluent, width=2.5), antialias=True
        )
        run_in = pg.PlotCurveItem(
            x, np.asarray(curves.run_in[start:stop]), pen=pg.mkPen(theme.irrigant, width=2.5), antialias=True
        )
        for item in (low, high, band, run_in, drained):
            self.plotItem.addItem(item)
            self._items.append(item)

    def _fit(self, times: np.ndarray, ends: tuple[float, float]) -> None:
        self.setXRange(*ends, padding=0)
        if not len(times):
            self.setYRange(0, 1000, padding=0)
            return
        first = max(0, int(np.searchsorted(times, ends[0])) - 1)
        last = max(first + 1, int(np.searchsorted(times, ends[1], side="right")))
        c = self.curves
        low = min(*c.run_in[first:last], *c.low[first:last], c.run_in[first])
        high = max(*c.run_in[first:last], *c.high[first:last], low + 200)
        margin = (high - low) * 0.06
        self.setYRange(low - margin * 0.4, high + margin, padding=0)

    def _name_curves(self, times: np.ndarray, ends: tuple[float, float]) -> None:
        """The words stand beside the curves on their outer sides, clear of the lines."""
        theme = look.theme()
        c = self.curves
        if len(times) < 2:
            for item in self.words.values():
                item.setVisible(False)
            return
        span = ends[1] - ends[0]
        (x0, x1), (y0, y1) = self.plotItem.viewRange()
        lift = (y1 - y0) * 0.13
        for name, part, ink in (("out", 0.42, theme.effluent), ("in", 0.62, theme.irrigant)):
            x = ends[0] + part * span
            low, ins, high = (float(np.interp(x, times, side)) for side in (c.low, c.run_in, c.high))
            y = max(high, ins) + lift if name == "out" else min(low, ins) - lift
            item = self.words[name]
            item.setVisible(x0 < x < x1)
            item.setFont(look.font(look.TEXT, bold=True))
            item.setColor(QColor(ink))
            item.setPos(x, min(y1 - lift * 0.4, max(y0 + lift * 0.4, y)))

    # --- reading out --------------------------------------------------------------------------------------------

    def read_out(self, place: int) -> str:
        """The figures at a point of the curves, in words."""
        c = self.curves
        at = datetime.fromtimestamp(c.times[place], self.clock.zone)
        net = c.drained[place] - c.run_in[place]
        low, high = c.low[place] - c.run_in[place], c.high[place] - c.run_in[place]
        from cbi_monitor.screens import says

        return say(
            "bedside-read-out", at=f"{at:%H:%M}", run_in=says.number(c.run_in[place]), out=says.number(c.drained[place]),
            net=says.signed(net), low=says.signed(round(low / 10) * 10), high=says.signed(round(high / 10) * 10),
        )  # fmt: skip

    def _hover(self, where: QPointF) -> None:
        if not self.plotItem.sceneBoundingRect().contains(where) or not self.curves.times:
            self._point_at(None)
            return
        x = self.plotItem.getViewBox().mapSceneToView(where).x()
        place = bisect_right(self.curves.times, x)
        near = [p for p in (place - 1, place) if 0 <= p < len(self.curves.times)]
        self._point_at(min(near, key=lambda p: abs(self.curves.times[p] - x)) if near else None)

    def _point_at(self, place: int | None) -> None:
        self._at = place
        self.line.setVisible(place is not None)
        if place is None:
            self.read.emit(None)
            return
        self.line.setPos(self.curves.times[place])
        self.read.emit(self.read_out(place))

    def _click(self, event: object) -> None:
        if self._at is not None:
            self.chosen.emit(self.curves.times[self._at])

    def leaveEvent(self, event: object) -> None:
        self._point_at(None)
        super().leaveEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        last = len(self.curves.times) - 1
        key = event.key()
        if last < 0 or event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            event.ignore()
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            here = self._at if self._at is not None else last + 1
            step = -1 if key == Qt.Key.Key_Left else 1
            self._point_at(min(last, max(0, here + step)))
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._at is not None:
            self.chosen.emit(self.curves.times[self._at])
        else:
            event.ignore()

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.viewport().update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self._point_at(None)

    def wheelEvent(self, event: object) -> None:
        event.ignore()  # type: ignore[attr-defined]
