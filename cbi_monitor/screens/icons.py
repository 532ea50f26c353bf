"""Icons that we draw ourselves, as paths in a 24 by 24 box: one stroke, no fill, in the ink of what they mean."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen


def _bag() -> QPainterPath:
    path = QPainterPath()
    path.moveTo(6, 3)
    path.lineTo(18, 3)
    path.lineTo(18, 14)
    path.lineTo(14, 18)
    path.lineTo(10, 18)
    path.lineTo(6, 14)
    path.closeSubpath()
    path.moveTo(12, 18)
    path.lineTo(12, 22)
    return path


def _jug() -> QPainterPath:
    path = QPainterPath()
    path.addRoundedRect(QRectF(5, 3, 14, 18), 4, 4)
    path.moveTo(5, 9)
    path.lineTo(19, 9)
    return path


def _eye() -> QPainterPath:
    path = QPainterPath()
    path.moveTo(1.5, 12)
    path.cubicTo(6, 5, 18, 5, 22.5, 12)
    path.cubicTo(18, 19, 6, 19, 1.5, 12)
    path.addEllipse(QPointF(12, 12), 3, 3)
    return path


def _clock() -> QPainterPath:
    path = QPainterPath()
    path.addEllipse(QPointF(12, 12), 9.5, 9.5)
    path.moveTo(12, 6.5)
    path.lineTo(12, 12.5)
    path.lineTo(16.5, 12.5)
    return path


def _syringe() -> QPainterPath:
    path = QPainterPath()
    path.addRect(QRectF(7, 6, 10, 11))
    path.moveTo(12, 17)
    path.lineTo(12, 23)
    path.moveTo(12, 6)
    path.lineTo(12, 2)
    path.moveTo(8, 2)
    path.lineTo(16, 2)
    path.moveTo(7, 11)
    path.lineTo(12, 11)
    return path


def _bell() -> QPainterPath:
    path = QPainterPath()
    path.moveTo(12, 3)
    path.lineTo(22, 21)
    path.lineTo(2, 21)
    path.closeSubpath()
    path.moveTo(12, 9)
    path.lineTo(12, 15)
    path.moveTo(12, 18)
    path.lineTo(12, 18.6)
    return path


def _stop() -> QPainterPath:
    path = QPainterPath()
    path.addRoundedRect(QRectF(4, 4, 16, 16), 2, 2)
    path.moveTo(8, 8)
    path.lineTo(16, 16)
    path.moveTo(16, 8)
    path.lineTo(8, 16)
    return path


def _start() -> QPainterPath:
    path = QPainterPath()
    path.moveTo(7, 4)
    path.lineTo(19, 12)
    path.lineTo(7, 20)
    path.closeSubpath()
    return path


def _scan() -> QPainterPath:
    path = QPainterPath()
    path.moveTo(9, 2)
    path.lineTo(15, 2)
    path.lineTo(17, 9)
    path.lineTo(7, 9)
    path.closeSubpath()
    path.moveTo(4, 14)
    path.cubicTo(8, 18, 16, 18, 20, 14)
    path.moveTo(2, 18)
    path.cubicTo(8, 24, 16, 24, 22, 18)
    return path


def _leak() -> QPainterPath:
    path = QPainterPath()
    path.moveTo(12, 3)
    path.cubicTo(16, 9, 19, 12, 19, 16)
    path.cubicTo(19, 24, 5, 24, 5, 16)
    path.cubicTo(5, 12, 8, 9, 12, 3)
    return path


_DRAWN: dict[str, Callable[[], QPainterPath]] = {
    "dry": _bag, "full": _jug, "look": _eye, "check": _clock, "washout": _syringe, "alert": _bell,
    "stop": _stop, "start": _start, "scan": _scan, "leak": _leak,
}  # fmt: skip
NAMES = tuple(_DRAWN)


@cache
def path(name: str) -> QPainterPath:
    """The path of an icon in a box of 24 by 24. Raises KeyError for a name that is not among ``NAMES``."""
    return _DRAWN[name]()


def draw(
    painter: QPainter, name: str, left: float, top: float, size: float, ink: QColor, width: float = 1.8
) -> None:
    """Draw an icon with its top left corner there, ``size`` pixels wide and high."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(left, top)
    painter.scale(size / 24, size / 24)
    pen = QPen(ink, width * 24 / size if size < 24 else width)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPath(path(name))
    if name == "look":
        painter.setBrush(ink)
        painter.drawEllipse(QPointF(12, 12), 2.2, 2.2)
    painter.restore()


_CLOTS = {
    "specks": ((0.35, 0.35, 0.06), (0.62, 0.52, 0.06), (0.42, 0.72, 0.06)),
    "small": ((0.40, 0.36, 0.13), (0.60, 0.62, 0.14)),
    "large": ((0.48, 0.42, 0.26), (0.52, 0.72, 0.22)),
}


def draw_tube(
    painter: QPainter, box: QRectF, swatch: str | None, clots: str | None, outline: QColor, clot_ink: QColor
) -> None:
    """A piece of tubing with the drainage colour in it and the clots that were seen; hatched where no colour is known."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    round_by = box.width() / 2
    painter.setPen(QPen(outline, 1.4))
    if swatch is None:
        painter.setBrush(QColor(0, 0, 0, 0))
        painter.drawRoundedRect(box, round_by, round_by)
        painter.setBrush(outline)
        painter.setPen(QPen(outline, 1.2))
        middle = box.center()
        painter.drawLine(QPointF(box.left() + 6, middle.y()), QPointF(box.right() - 6, middle.y()))
        painter.restore()
        return
    painter.setBrush(QColor(swatch))
    painter.drawRoundedRect(box, round_by, round_by)
    for across, down, size in _CLOTS.get(clots or "", ()):
        radius = size * box.width()
        centre = QPointF(box.left() + across * box.width(), box.top() + down * box.height())
        painter.setPen(QPen(QColor("#ffffff"), 1))
        painter.setBrush(clot_ink)
        painter.drawEllipse(centre, radius, radius * 1.2)
    painter.restore()
