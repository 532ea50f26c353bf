"""What all sheets share: a form, the keys of the field in hand, errors with the typed text kept, saving."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any, TypeVar

from pydantic import ValidationError
from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QPushButton, QWidget

from cbi_monitor.model.events import Event
from cbi_monitor.model.findings import Refusal
from cbi_monitor.screens import forms, look
from cbi_monitor.screens.fields import KeyField, TextField, VolumeField, WhenField
from cbi_monitor.screens.overlay import DemoMark
from cbi_monitor.screens.slips.slip import Nurse, tube_icon
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.figures import Unreadable, read_figure
from cbi_monitor.ward.outcomes import Fault, Rejected, Saved
from cbi_monitor.wording import say

W = TypeVar("W", bound=QWidget)


class Sheet(QDialog):
    """A form in a window of its own; ``show_it`` opens it and returns at once."""

    saved = Signal(str)
    faulted = Signal(object)
    asks_name = Signal()

    form_name = ""

    def __init__(self, desk: Desk, nurse: Nurse, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk, self.nurse = desk, nurse
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.form = forms.fill(self.form_name, self)
        self.setWindowTitle(self.get(QLabel, "title").text())
        self.setAccessibleName(self.windowTitle())
        self.message = self.get(QLabel, "message")
        self.message.setVisible(False)
        self.fields: list[KeyField | TextField] = []
        self._ids: dict[str, str] = {}
        for button in self.form.findChildren(QPushButton):
            button.setAutoDefault(False)
            button.setAccessibleName(button.text())
        self.get(QPushButton, "leave").clicked.connect(self.reject)
        for keys in ("Ctrl+Return", "Ctrl+Enter"):
            QShortcut(QKeySequence(keys), self).activated.connect(self.keep)
        self.build()
        if desk.demo:
            self.demo = DemoMark(self)

    def build(self) -> None:
        """Ask the fields. Each sheet says which."""
        raise NotImplementedError

    def keep(self) -> None:
        """Save. Each sheet says how."""
        raise NotImplementedError

    def show_it(self) -> None:
        """Open it over the window; the program goes on."""
        self.open()
        if self.fields:
            self.fields[0].setFocus(Qt.FocusReason.TabFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        # Enter belongs to fields and buttons; the sheet itself is saved by Ctrl+Enter only.
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            focused = self.focusWidget()
            if isinstance(focused, QPushButton):
                focused.click()
            return
        super().keyPressEvent(event)

    def get(self, kind: type[W], name: str) -> W:
        """A widget of the form. Raises LookupError where the form has none."""
        found = self.form.findChild(kind, name)
        if found is None:
            raise LookupError(f"form {self.form_name}: no {kind.__name__} {name!r}")
        return found

    # --- fields -------------------------------------------------------------------------------------------------

    def in_order(self, *fields: KeyField | TextField) -> None:
        """The order in which Enter walks the fields; the last one leads to the saving button."""
        self.fields = list(fields)
        for place, field in enumerate(fields):
            field.done.connect(lambda place=place: self._move(place + 1))
            field.back.connect(lambda place=place: self._move(place - 1))
            field.changed.connect(self._clear)
            field.focused.connect(lambda field=field: self._show_keys(field))
            if place:
                QWidget.setTabOrder(fields[place - 1], field)

    def _move(self, place: int) -> None:
        shown = [n for n, field in enumerate(self.fields) if field.isVisibleTo(self)]
        later = [n for n in shown if n >= place]
        if place < 0:
            return
        if later:
            self.fields[later[0]].setFocus(Qt.FocusReason.TabFocusReason)
        else:
            self.get(QPushButton, "keep").setFocus(Qt.FocusReason.TabFocusReason)

    def _show_keys(self, field: KeyField | TextField) -> None:
        row = self.form.findChild(QHBoxLayout, "choice_row")
        if row is None:
            return
        while (item := row.takeAt(0)) is not None:
            if item.widget() is not None:
                item.widget().deleteLater()
        if isinstance(field, KeyField):
            for choice in field.choices:
                button = QPushButton(f"{choice.key}   {choice.word}")
                button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
                button.setAutoDefault(False)
                button.setAccessibleName(say("field-chip", key=choice.key, word=choice.word))
                if choice.swatch:
                    button.setIcon(tube_icon(choice.swatch))
                    button.setIconSize(QSize(14, 22))
                button.clicked.connect(lambda _=False, value=choice.value: field.choose(value))
                row.addWidget(button)
        else:
            words = "field-keys-text"
            if isinstance(field, WhenField):
                words = "field-keys-when"
            elif isinstance(field, VolumeField) and field.doubtful:
                words = "field-keys-volume"
            label = QLabel(say(words))
            label.setProperty("part", "small")
            row.addWidget(label)
        row.addStretch(1)

    def _clear(self) -> None:
        self.tell("")
        for field in self.fields:
            if isinstance(field, TextField):
                field.refuse(False)

    def tell(self, words: str, part: str = "error") -> None:
        """What is wrong, under the fields."""
        look.set_part(self.message, part)
        self.message.setText(words)
        self.message.setVisible(bool(words))

    def refuse(self, field: KeyField | TextField, words: str) -> None:
        """One field can't be read; its text stays and it gets the focus."""
        self.tell(f"{field.accessibleName()}: {words}" if isinstance(field, TextField) else words)
        if isinstance(field, TextField):
            field.refuse(True)
        field.setFocus(Qt.FocusReason.OtherFocusReason)

    def figure(self, field: VolumeField, called: str, *, doubtful: bool = True) -> dict[str, Any] | None:
        """A typed figure as fields of an event; None where nothing was typed. Raises Unreadable."""
        try:
            read = read_figure(field.text(), doubtful=doubtful)
        except Unreadable:
            write = "write-volume" if doubtful else "write-number"
            self.refuse(field, f"{say('refuse-no-figure', typed=field.text())}; {say(write)}")
            raise
        return None if read is None else dict(read.fields(called))

    def named(self) -> bool:
        """Whether somebody is signed in; asks for the name where not."""
        if self.nurse():
            return True
        self.tell(say("slip-needs-name"))
        self.asks_name.emit()
        return False

    def make(self, kind: Callable[..., Event], name: str, session: str, at: datetime, **fields: Any) -> Event:
        """An event with the same id at every asking. Raises ValidationError."""
        said = {key: value for key, value in fields.items() if value not in (None, "")}
        by = self.nurse()
        author = {} if by is None else {"by": by}
        identity = self._ids.setdefault(name, self.desk.new_id())
        at = at.astimezone(self.desk.in_force.zone).replace(microsecond=0)
        return kind(session=session, at=at, recorded=self.desk.clock.now(), id=identity, **author, **said)

    def show_invalid(self, wrong: ValidationError) -> None:
        """What an event says about its fields, in one line."""
        faults = [
            f"{'.'.join(map(str, f['loc']))}: {str(f['msg']).removeprefix('Value error, ')}"
            for f in wrong.errors()
        ]
        self.tell("; ".join(faults))

    def finish(self, outcome: object, words: str) -> bool:
        """Close where it is on disk; else say so, with the typed text kept."""
        if isinstance(outcome, Saved):
            self.saved.emit(words)
            self.accept()
            return True
        if isinstance(outcome, Rejected):
            self.tell(refusal_words(outcome.refusals))
        elif isinstance(outcome, Fault):
            self.tell(outcome.text, "fault")
            self.faulted.emit(outcome)
        return False


def refusal_words(refusals: Sequence[Refusal]) -> str:
    """Refusals in one line: what, and what to write."""
    return " · ".join("; ".join(p for p in (refusal.what, refusal.write) if p) for refusal in refusals)
