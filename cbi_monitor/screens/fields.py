"""The fields of slips and forms: one key a choice, a volume, a time. Nothing prefilled; the last value is a ghost.

No field knows the chart. A field emits ``changed`` at every keystroke that changed it, ``done`` when the next field's
turn has come and ``back`` when the one before is wanted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFocusEvent,
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QLineEdit, QSizePolicy, QWidget

from cbi_monitor.screens import look, says
from cbi_monitor.wording import say

SAME = "="
"""The one key that takes the last value over, in every field."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer of a field: the key that gives it, its value, its word, and a swatch where it is a colour."""

    key: str
    value: object
    word: str
    swatch: str | None = None


class KeyField(QWidget):
    """A field that one key answers and that then moves on."""

    changed = Signal()
    done = Signal()
    back = Signal()
    focused = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.choices: tuple[Choice, ...] = ()
        self.last: Choice | None = None
        self.value: object = None
        self._label = ""
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def ask(self, label: str, choices: Sequence[Choice], last: object = None) -> None:
        """What is asked, with which answers; ``last`` is the value of the check before, shown as a ghost."""
        self._label = label
        self.choices = tuple(choices)
        self.last = (
            next((choice for choice in choices if choice.value == last), None) if last is not None else None
        )
        self._say()

    def sizeHint(self) -> QSize:
        return QSize(look.px(104), look.px(look.TOUCH))

    def minimumSizeHint(self) -> QSize:
        return QSize(look.px(64), look.px(look.TOUCH))

    @property
    def chosen(self) -> Choice | None:
        """The answer that stands."""
        return next(
            (choice for choice in self.choices if choice.value == self.value and self.value is not None), None
        )

    def choose(self, value: object, *, move_on: bool = True) -> None:
        """Take an answer; the field then moves on."""
        self.value = value
        self._say()
        self.update()
        self.changed.emit()
        if move_on and value is not None:
            self.done.emit()

    def clear(self) -> None:
        """No answer."""
        self.choose(None, move_on=False)

    def _say(self) -> None:
        standing = self.chosen
        text = say("field-empty") if standing is None else standing.word
        self.setAccessibleName(say("field-name", label=self._label, value=text))
        keys = "; ".join(f"{choice.key} {choice.word}" for choice in self.choices)
        ghost = say("field-last", value=self.last.word) if self.last else ""
        self.setAccessibleDescription("; ".join(part for part in (keys, ghost) if part))
        self.setToolTip(keys)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.modifiers() & (Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier):
            event.ignore()
            return
        key, text = event.key(), event.text().lower()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Right, Qt.Key.Key_Down):
            self.done.emit()
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Up):
            self.back.emit()
        elif key in (Qt.Key.Key_Backspace, Qt.Key.Key_Delete):
            self.clear()
        elif text == SAME:
            if self.last is not None:
                self.choose(self.last.value)
        elif text and any(choice.key == text for choice in self.choices):
            self.choose(next(choice.value for choice in self.choices if choice.key == text))
        elif text and text.isprintable():
            pass  # a key that answers nothing here is swallowed, so that it can't be taken for a command elsewhere
        else:
            event.ignore()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.setFocus(Qt.FocusReason.MouseFocusReason)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.focused.emit()
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme = look.theme()
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        painter.setPen(QPen(QColor(theme.ink if self.hasFocus() else theme.line), 2))
        painter.setBrush(QColor(theme.panel if self.hasFocus() else theme.field))
        painter.drawRoundedRect(box, look.RADIUS_SMALL, look.RADIUS_SMALL)
        standing = self.chosen
        left = box.left() + 8
        swatch = standing.swatch if standing else None
        if swatch:
            tube = QRectF(left, box.top() + 5, 11, box.height() - 10)
            painter.setPen(QPen(QColor(theme.soft), 1.2))
            painter.setBrush(QColor(swatch))
            painter.drawRoundedRect(tube, 5.5, 5.5)
            left += 17
        if standing is not None:
            text, font, ink = standing.word, look.font(look.TEXT, bold=True), theme.ink
        elif self.last is not None:
            text, font, ink = say("field-last", value=self.last.word), look.font(look.SMALL), theme.soft
        else:
            text, font, ink = "", look.font(look.SMALL), theme.soft
        painter.setFont(font)
        painter.setPen(QColor(ink))
        room = QRectF(left, box.top(), box.right() - left - 4, box.height())
        shown = QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, room.width())
        painter.drawText(room, Qt.AlignmentFlag.AlignVCenter, shown)
        painter.end()


class TextField(QLineEdit):
    """Free text, an initial, a reason. Enter moves on."""

    changed = Signal()
    done = Signal()
    back = Signal()
    focused = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.choices: tuple[Choice, ...] = ()
        self.last_text = ""
        self.textEdited.connect(lambda _: self.changed.emit())
        self.setMinimumWidth(look.px(56))

    def ask(self, label: str, *, ghost: str = "", last: str = "") -> None:
        """What is asked; ``ghost`` stands in the empty field, ``last`` is what the same key takes over."""
        self.last_text = last
        self.setAccessibleName(label)
        self.setPlaceholderText(ghost or (say("field-last", value=last) if last else ""))
        self.setAccessibleDescription(self.placeholderText())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        plain = not event.modifiers() & (
            Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier
        )
        if plain and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Down):
            self.done.emit()
        elif plain and event.key() == Qt.Key.Key_Up:
            self.back.emit()
        elif plain and event.text() == SAME and self.last_text and not self.text():
            self.setText(self.last_text)
            self.changed.emit()
            self.done.emit()
        elif not plain and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            event.ignore()
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.focused.emit()

    def refuse(self, wrong: bool) -> None:
        """Mark the field as one that could not be read; the typed text stays."""
        self.setProperty("wrong", "true" if wrong else "false")
        self.style().unpolish(self)
        self.style().polish(self)


class VolumeField(TextField):
    """A figure: digits, ``~`` about, ``?`` not measured. A letter among ``switches`` flips what is meant."""

    switched = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.switches: tuple[str, ...] = ()
        self.doubtful = True

    def keyPressEvent(self, event: QKeyEvent) -> None:
        text = event.text().lower()
        plain = not event.modifiers() & (
            Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier
        )
        if plain and text and text in self.switches:
            self.switched.emit(text)
        elif (
            plain
            and text
            and text.isprintable()
            and text not in "0123456789.," + SAME + ("~?" if self.doubtful else "")
        ):
            pass  # no figure holds it; swallowed, so that it can't be taken for a command elsewhere
        else:
            super().keyPressEvent(event)


class PainField(VolumeField):
    """A pain score 0 to 10: one digit moves on, except 1, which may become 10."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.doubtful = False
        self.setMaxLength(2)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        before = self.text()
        super().keyPressEvent(event)
        text = self.text()
        if text != before and text.isdigit() and (text != "1" or len(text) == 2):
            self.done.emit()


class WhenField(TextField):
    """When it was: empty is now; ``13:40``, ``1340``, or ``-10`` for ten minutes ago."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setMaximumWidth(look.px(110))

    def ask_when(self) -> None:
        """Say what an empty field means."""
        self.ask(say("field-when"), ghost=say("field-when-ghost"))

    def read(self, now: datetime, zone: tzinfo) -> datetime | None:
        """The instant that was typed (now where nothing was), None where it can't be read.

        A clock time means the latest such time that is not ahead of the clock by more than five minutes.
        """
        text = self.text().strip().replace(MINUS_SIGN, "-")
        if not text:
            return now
        if text.startswith("-") and text[1:].isdigit() and len(text) <= 4:
            return now - timedelta(minutes=int(text[1:]))
        digits = text.replace(":", "").replace(".", "")
        if not digits.isdigit() or len(digits) not in (3, 4):
            return None
        hour, minute = int(digits[:-2]), int(digits[-2:])
        if hour > 23 or minute > 59:
            return None
        local = now.astimezone(zone)
        at = local.replace(hour=hour, minute=minute, second=0, microsecond=0)
        if at - now > timedelta(minutes=5):
            at = (local - timedelta(days=1)).replace(hour=hour, minute=minute, second=0, microsecond=0)
        return at


MINUS_SIGN = says.MINUS
FIELDS = (KeyField, TextField, VolumeField, PainField, WhenField)
