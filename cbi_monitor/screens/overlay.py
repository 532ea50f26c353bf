"""What lies over the screens: the DEMO mark, the NOT LIVE cover, the line for faults and for times nobody watched."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from cbi_monitor.screens import look
from cbi_monitor.wording import say


class Over(QWidget):
    """A widget that always covers the whole of another one."""

    def __init__(self, under: QWidget) -> None:
        super().__init__(under)
        self._under = under
        under.installEventFilter(self)
        self._cover()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self._under and event.type() in (
            QEvent.Type.Resize,
            QEvent.Type.Show,
            QEvent.Type.ChildAdded,
        ):
            self._cover()
        return False

    def _cover(self) -> None:
        self.setGeometry(self._under.rect())
        self.raise_()


class DemoMark(Over):
    """DEMO across every screen. It takes no click and no key."""

    def __init__(self, under: QWidget) -> None:
        super().__init__(under)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAccessibleName(say("demo-name"))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        word = say("demo-mark")
        font = look.font(max(60, min(self.width(), self.height() * 2) / 7), bold=True, by=1.0)
        painter.setFont(font)
        ink = look.colour(look.theme().ink, 11 if look.theme().name == "light" else 15)
        painter.setPen(ink)
        wide = QFontMetricsF(font).horizontalAdvance(word)
        tall = QFontMetricsF(font).height()
        painter.translate(self.width() / 2, self.height() / 2)
        painter.rotate(-20)
        times = (-0.5, 0.5) if self.height() > tall * 2.2 else (0,)
        for n in times:
            painter.drawText(
                QRectF(-wide / 2 + n * wide * 0.5, n * tall * 2.1 - tall / 2, wide + 4, tall),
                Qt.AlignmentFlag.AlignCenter,
                word,
            )
        painter.end()


class NotLive(Over):
    """Old figures must not be read as new ones: this covers them and says since when they stand."""

    def __init__(self, under: QWidget) -> None:
        super().__init__(under)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        column = QVBoxLayout(self)
        column.addStretch(1)
        self.words, self.second = QLabel(), QLabel(say("not-live-what"))
        for label, size in ((self.words, 56), (self.second, 20)):
            label.setAlignment(Qt.AlignmentFlag.AlignCenter)
            label.setWordWrap(True)
            label.setStyleSheet(f"font-size: {size}px; font-weight: bold; color: {look.LIGHT.on_high};")
            column.addWidget(label)
        column.addStretch(1)
        self.setVisible(False)

    def cover(self, since: str) -> None:
        """Cover the screen; ``since`` is the clock time of the newest figure."""
        self.words.setText(say("not-live", since=since))
        self.setAccessibleName(self.words.text())
        self.show()
        self.raise_()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(120, 20, 14, 226))
        painter.end()


class Bar(QFrame):
    """One line over the screens that stays until it is taken away: a fault, a time without a watch, refused settings."""

    closed = Signal()

    def __init__(self, part: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._part = part
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 4, 8, 4)
        self.label = QLabel()
        self.label.setWordWrap(True)
        self.label.setTextFormat(Qt.TextFormat.PlainText)
        self.away = QPushButton(say("bar-away"))
        self.away.setAccessibleName(say("bar-away"))
        self.away.clicked.connect(self._close)
        row.addWidget(self.label, 1)
        row.addWidget(self.away)
        self.setVisible(False)

    def show_words(self, words: str) -> None:
        """Show this line; nothing hides it."""
        theme = look.theme()
        fill, ink = {
            "fault": (theme.high, theme.on_high), "warn": (theme.medium, theme.on_medium), "saved": (theme.doubt, theme.ink),
        }[self._part]  # fmt: skip
        self.setStyleSheet(
            f"Bar {{ background: {fill}; border: none; }} Bar > QLabel {{ color: {ink}; font-weight: bold; }}"
        )
        self.label.setText(words)
        self.setAccessibleName(words)
        self.setVisible(bool(words))

    def _close(self) -> None:
        self.setVisible(False)
        self.closed.emit()
