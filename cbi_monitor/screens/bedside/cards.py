"""The figures beside the curves: each with its as-of, its range, and in words what it is."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from cbi_monitor.screens import look
from cbi_monitor.screens.bedside.view import Card


class CardView(QWidget):
    """One card."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.card: Card | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)

    def show_card(self, card: Card) -> None:
        """Take a figure."""
        if card != self.card:
            self.card = card
            self.setAccessibleName(", ".join(part for part in (card.title, card.value, card.beside) if part))
            self.setToolTip(card.what)
            self.setAccessibleDescription(card.what)
            self.update()

    def sizeHint(self) -> QSize:
        return QSize(look.px(280), look.px(46))

    def minimumSizeHint(self) -> QSize:
        return QSize(look.px(200), look.px(38))

    def paintEvent(self, event: QPaintEvent) -> None:
        card = self.card
        if card is None:
            return
        painter = QPainter(self)
        theme = look.theme()
        small, bold = look.font(look.SMALL), look.font(look.STRONG, bold=True)
        wide, top = self.width(), max(0.0, (self.height() - look.px(41)) / 2)
        painter.setFont(small)
        painter.setPen(QColor(theme.soft))
        painter.drawText(QRectF(0, top, wide, look.px(17)), Qt.AlignmentFlag.AlignVCenter, card.title)
        # The figure comes first; what stands beside it gets what is left, and moves up beside the title where it must.
        line = QRectF(0, top + look.px(17), wide, look.px(24))
        metrics, beside = QFontMetricsF(bold), QFontMetricsF(small)
        value = metrics.elidedText(card.value, Qt.TextElideMode.ElideRight, wide)
        used = metrics.horizontalAdvance(value)
        painter.setFont(bold)
        painter.setPen(QColor(theme.late if card.matters else theme.ink))
        painter.drawText(line, Qt.AlignmentFlag.AlignVCenter, value)
        painter.setFont(small)
        painter.setPen(QColor(theme.soft))
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        if beside.horizontalAdvance(card.beside) <= wide - used - 10:
            painter.drawText(line, right, card.beside)
        else:
            title = beside.horizontalAdvance(card.title) + 12
            shown = beside.elidedText(card.beside, Qt.TextElideMode.ElideLeft, wide - title)
            painter.drawText(QRectF(title, top, wide - title, look.px(17)), right, shown)
        painter.end()


class Cards(QFrame):
    """All cards, from who saw it draining to what runs out when."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "panel")
        self._views: list[CardView] = []
        outer = QVBoxLayout(self)
        outer.setContentsMargins(2, 2, 2, 2)
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        inner = QWidget()
        inner.setAutoFillBackground(False)
        self._column = QVBoxLayout(inner)
        self._column.setContentsMargins(14, 4, 14, 4)
        self._column.setSpacing(1)
        scroll.setWidget(inner)
        scroll.viewport().setAutoFillBackground(False)
        inner.setAutoFillBackground(False)
        outer.addWidget(scroll)

    def show_cards(self, cards: Sequence[Card]) -> None:
        """Take the figures; a view is made or dropped only where their number changes."""
        while len(self._views) < len(cards):
            view = CardView()
            self._views.append(view)
            self._column.addWidget(view)
        while len(self._views) > len(cards):
            view = self._views.pop()
            self._column.removeWidget(view)
            view.deleteLater()
        for view, card in zip(self._views, cards, strict=True):
            view.show_card(card)

    def card(self, name: str) -> Card | None:
        """The card of that name as shown."""
        return next(
            (view.card for view in self._views if view.card is not None and view.card.name == name), None
        )
