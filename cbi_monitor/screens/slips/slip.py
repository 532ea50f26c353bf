"""What all slips share: fields in a row, the keys of the field in hand, errors beside fields, questions, preview, saving."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Any, ClassVar

from pydantic import ValidationError
from PySide6.QtCore import QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QIcon, QKeySequence, QPainter, QPixmap, QShortcut
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from cbi_monitor.model.events import Answered, Event
from cbi_monitor.model.findings import Finding, Refusal
from cbi_monitor.screens import forms, icons, look, says
from cbi_monitor.screens.fields import SAME, Choice, KeyField, TextField, VolumeField, WhenField
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.outcomes import Fault, Preview, Rejected, Saved
from cbi_monitor.ward.telling import Words
from cbi_monitor.wording import say

Field = KeyField | TextField
Nurse = Callable[[], str | None]


@dataclass
class Cell:
    """A field with its label and the place for what is wrong with it."""

    name: str
    field: Field
    label: QLabel
    error: QLabel
    box: QWidget


class Slip(QFrame):
    """One small form for one bed. Ctrl+Enter saves, Esc leaves; what was typed stays until it is saved."""

    saved = Signal(str)
    left = Signal()
    faulted = Signal(object)
    asks_name = Signal()
    asks_bed = Signal(str)

    kind = "slip"
    needs_name = True
    alias: ClassVar[dict[str, str]] = {}

    def __init__(self, desk: Desk, session: str, nurse: Nurse, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.session = session
        self.nurse = nurse
        self.cells: dict[str, Cell] = {}
        self._ids: dict[str, str] = {}
        self._kept: dict[str, TextField] = {}
        self._asked: dict[str, QWidget] = {}
        self.setProperty("part", "slip")
        self.setAccessibleName(say(f"slip-{self.kind}-title"))
        form = forms.fill("slip", self)
        self.form = form
        self.title = form.findChild(QLabel, "title")
        self.when = form.findChild(WhenField, "when")
        self.late = form.findChild(QLabel, "late")
        self.hint = form.findChild(QLabel, "hint")
        self.message = form.findChild(QLabel, "message")
        self.keep = form.findChild(QPushButton, "keep")
        self.leave_button = form.findChild(QPushButton, "leave")
        self._fields = form.findChild(QHBoxLayout, "fields")
        self._choice_row = form.findChild(QHBoxLayout, "choice_row")
        self._questions = form.findChild(QVBoxLayout, "questions")
        self.title.setText(say(f"slip-{self.kind}-title"))
        self.hint.setText(say("slip-hint"))
        self.message.setVisible(False)
        self.when.ask_when()
        self.when.changed.connect(self._typed)
        self.when.done.connect(self.focus_first)
        self.when.focused.connect(lambda: self._show_keys(self.when))  # type: ignore[arg-type]
        self.keep.clicked.connect(self.save)
        self.leave_button.clicked.connect(self.left)
        for keys in ("Ctrl+Return", "Ctrl+Enter"):
            self._shortcut(keys, self, self.save, Qt.ShortcutContext.WidgetWithChildrenShortcut)
        self._shortcut("Escape", self, self.left.emit, Qt.ShortcutContext.WidgetWithChildrenShortcut)
        for keys in ("Return", "Enter"):
            self._shortcut(keys, self.keep, self.save, Qt.ShortcutContext.WidgetShortcut)  # type: ignore[arg-type]
            self._shortcut(keys, self.leave_button, self.left.emit, Qt.ShortcutContext.WidgetShortcut)  # type: ignore[arg-type]
        self._wait = QTimer(self)
        self._wait.setSingleShot(True)
        self._wait.setInterval(150)
        self._wait.timeout.connect(self.preview)
        self.build()
        self._walk()
        self.show_late()

    @staticmethod
    def _shortcut(keys: str, on: QWidget, act: Callable[[], Any], context: Qt.ShortcutContext) -> None:
        made = QShortcut(QKeySequence(keys), on)
        made.setContext(context)
        made.activated.connect(act)

    # --- to be said by each slip --------------------------------------------------------------------------------

    def build(self) -> None:
        """Put the fields in. Each slip says which."""
        raise NotImplementedError

    def events(self, now: datetime) -> tuple[list[Event], list[Refusal]]:
        """What was typed as events, and what cannot be read, by field name. Each slip says how."""
        raise NotImplementedError

    def empty_words(self) -> str:
        """What stands in the preview before anything was typed."""
        return ""

    # --- fields -------------------------------------------------------------------------------------------------

    def add(self, name: str, field: Field, label: str, *, wide: int = 1) -> Field:
        """Put a field at the end of the row."""
        box = QWidget()
        box.setAccessibleName(label)
        column = QVBoxLayout(box)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        head = QLabel(label)
        head.setProperty("part", "small")
        head.setTextFormat(Qt.TextFormat.PlainText)
        head.setBuddy(field)
        error = QLabel()
        error.setProperty("part", "error")
        error.setWordWrap(True)
        error.setVisible(False)
        for widget in (head, field, error):
            column.addWidget(widget)
        column.addStretch(1)
        self._fields.addWidget(box, wide)
        self.cells[name] = Cell(name, field, head, error, box)
        field.setObjectName(name)
        field.changed.connect(self._typed)
        field.done.connect(lambda: self._move(name, 1))
        field.back.connect(lambda: self._move(name, -1))
        field.focused.connect(lambda: self._show_keys(field))
        return field

    def add_keys(
        self, name: str, label: str, choices: Sequence[Choice], last: object = None, *, wide: int = 1
    ) -> KeyField:
        """A field that one key answers."""
        field = KeyField(self)
        field.ask(label, choices, last)
        self.add(name, field, label, wide=wide)
        return field

    def add_volume(
        self, name: str, label: str, *, last: str = "", ghost: str = "", doubtful: bool = True
    ) -> VolumeField:
        """A field for a figure."""
        field = VolumeField(self)
        field.doubtful = doubtful
        field.ask(label, ghost=ghost, last=last)
        self.add(name, field, label)
        return field

    def add_text(self, name: str, label: str, *, ghost: str = "", wide: int = 2) -> TextField:
        """A field for words."""
        field = TextField(self)
        field.ask(label, ghost=ghost)
        self.add(name, field, label, wide=wide)
        return field

    def value(self, name: str) -> Any:
        """What a key field was answered."""
        field = self.cells[name].field
        return field.value if isinstance(field, KeyField) else field.text().strip()

    def show_field(self, name: str, shown: bool) -> None:
        """A field that is asked only when another was answered so."""
        self.cells[name].box.setVisible(shown)

    def _open(self) -> list[Cell]:
        return [cell for cell in self.cells.values() if not cell.box.isHidden()]

    def _walk(self) -> None:
        """Tab walks as the eye does: the time, the fields, the reasons, save, leave."""
        chain: list[Any] = [self.when, *(cell.field for cell in self.cells.values())]
        chain += [*self._kept.values(), self.keep, self.leave_button]
        for one, other in pairwise(chain):
            QWidget.setTabOrder(one, other)

    def _move(self, name: str, step: int) -> None:
        cells = self._open()
        names = [cell.name for cell in cells]
        place = names.index(name) + step if name in names else 0
        if place >= len(cells):
            self.keep.setFocus(Qt.FocusReason.TabFocusReason)
        elif place < 0:
            self.when.setFocus(Qt.FocusReason.BacktabFocusReason)
        else:
            cells[place].field.setFocus(Qt.FocusReason.TabFocusReason)

    def focus_first(self) -> None:
        """Put the focus on the first field that has no answer yet."""
        cells = self._open()
        for cell in cells:
            empty = cell.field.value is None if isinstance(cell.field, KeyField) else not cell.field.text()
            if empty:
                cell.field.setFocus(Qt.FocusReason.TabFocusReason)
                return
        self.keep.setFocus(Qt.FocusReason.TabFocusReason)

    @property
    def has_text(self) -> bool:
        """Whether anything was typed."""
        return any(
            cell.field.value is not None if isinstance(cell.field, KeyField) else bool(cell.field.text())
            for cell in self.cells.values()
        )

    # --- the keys of the field in hand --------------------------------------------------------------------------

    def _show_keys(self, field: Field) -> None:
        while (item := self._choice_row.takeAt(0)) is not None:
            if item.widget() is not None:
                item.widget().deleteLater()
        if isinstance(field, KeyField):
            for choice in field.choices:
                self._chip(
                    choice.key,
                    choice.word,
                    choice.swatch,
                    lambda value=choice.value: field.choose(value),  # type: ignore[misc]
                )
            if field.last is not None:
                self._chip(
                    SAME,
                    say("field-same", value=field.last.word),
                    None,
                    lambda: field.choose(field.last.value),
                )
        else:
            for key in getattr(field, "switches", ()):
                self._chip(key, say(f"slip-switch-{key}"), None, lambda key=key: field.switched.emit(key))  # type: ignore[attr-defined, misc]
            words = (
                say("field-keys-volume")
                if isinstance(field, VolumeField) and field.doubtful
                else say("field-keys-text")
            )
            label = QLabel(words if not isinstance(field, WhenField) else say("field-keys-when"))
            label.setProperty("part", "small")
            label.setTextFormat(Qt.TextFormat.PlainText)
            self._choice_row.addWidget(label)
        self._choice_row.addStretch(1)

    def _chip(self, key: str, word: str, swatch: str | None, act: Callable[[], Any]) -> None:
        button = QPushButton(f"{key}   {word}")
        button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        button.setAccessibleName(say("field-chip", key=key, word=word))
        if swatch:
            button.setIcon(tube_icon(swatch))
            button.setIconSize(QSize(14, 22))
        button.clicked.connect(act)
        self._choice_row.addWidget(button)

    # --- reading what was typed ---------------------------------------------------------------------------------

    def at(self, now: datetime) -> datetime | None:
        """When it was, with the ward's offset; None where the time can't be read."""
        zone = self.desk.in_force.zone
        at = self.when.read(now, zone)
        return None if at is None else at.astimezone(zone).replace(microsecond=0)

    def make(
        self, kind: Callable[..., Event], name: str, refusals: list[Refusal], now: datetime, **fields: Any
    ) -> Event | None:
        """An event of this slip, with the same id at every asking; what is wrong with it goes to ``refusals``."""
        at = self.at(now)
        if at is None:
            if not any(refusal.field == "when" for refusal in refusals):
                refusals.append(self.refusal("when", say("refuse-when"), say("write-when")))
            return None
        said = {key: value for key, value in fields.items() if value is not None and value != ""}
        by = self.nurse()
        author = {} if by is None else {"by": by}
        identity = self._ids.setdefault(name, self.desk.new_id())
        try:
            return kind(session=self.session, at=at, recorded=now, id=identity, **author, **said)
        except ValidationError as wrong:
            for fault in wrong.errors():
                words = str(fault["msg"]).removeprefix("Value error, ")
                refusals.append(self.refusal(str(fault["loc"][0]) if fault["loc"] else name, words, ""))
            return None

    @staticmethod
    def refusal(name: str, what: str, write: str) -> Refusal:
        """What is wrong with a field of this slip."""
        return Refusal(say("place-slip"), 0, 0, name, what, write)

    def answers(self, now: datetime, refusals: list[Refusal]) -> list[Event]:
        """The answers by which questioned values are kept, with their reasons."""
        made = []
        for finding, reason in self._kept.items():
            if reason.text().strip():
                # A ``check`` says that the question was asked by this very entry, so it is not on the chart yet.
                check = self._ids.setdefault("check", self.desk.new_check_id())
                event = self.make(
                    Answered, f"kept.{finding}", refusals, now, finding=finding, answer="confirmed",
                    reason=reason.text().strip(), check=check,
                )  # fmt: skip
                if event is not None:
                    made.append(event)
        return made

    def _typed(self) -> None:
        self._clear_errors()
        self.show_late()
        self._wait.start()

    def show_late(self) -> None:
        """Say "late entry" where what is typed lies half an hour back."""
        now = self.desk.clock.now()
        at = self.when.read(now, self.desk.in_force.zone)
        late = at is not None and (now - at).total_seconds() >= 30 * 60
        self.late.setText(say("slip-late") if late else "")
        self.late.setVisible(late)

    # --- errors, questions, preview -----------------------------------------------------------------------------

    def _clear_errors(self) -> None:
        for cell in self.cells.values():
            cell.error.setVisible(False)
            if isinstance(cell.field, TextField):
                cell.field.refuse(False)
        self.when.refuse(False)
        self.tell("", "soft")

    def show_refusals(self, refusals: Sequence[Refusal]) -> None:
        """Each beside its field; the typed text stays, the first such field gets the focus."""
        loose: list[str] = []
        first: Field | None = None
        for refusal in refusals:
            name = self.alias.get(refusal.field, refusal.field)
            words = "; ".join(part for part in (refusal.what, refusal.write) if part)
            if name in ("when", "at"):
                self.when.refuse(True)
                loose.append(words)
                first = first or self.when
                continue
            cell = self.cells.get(name)
            if cell is None or cell.box.isHidden():
                loose.append(words)
                continue
            cell.error.setText(words)
            cell.error.setVisible(True)
            if isinstance(cell.field, TextField):
                cell.field.refuse(True)
            first = first or cell.field
        if loose:
            self.tell(" · ".join(dict.fromkeys(loose)), "error")
        if first is not None:
            first.setFocus(Qt.FocusReason.OtherFocusReason)

    def show_questions(self, findings: Sequence[Finding]) -> None:
        """An unlikely value is asked about in place and may stay with a reason."""
        words = Words(self.desk.in_force.zone, self.desk.in_force.scale)
        wanted = {finding.id: finding for finding in findings}
        for gone in set(self._asked) - set(wanted):
            row = self._asked.pop(gone)
            self._kept.pop(gone, None)
            self._questions.removeWidget(row)
            row.deleteLater()
        for identity, finding in wanted.items():
            if identity in self._asked:
                continue
            row = QWidget()
            row.setAccessibleName(say("slip-question-name"))
            line = QHBoxLayout(row)
            line.setContentsMargins(0, 0, 0, 0)
            asked = QLabel(words.finding(finding))
            asked.setProperty("part", "question")
            asked.setWordWrap(True)
            reason = TextField(row)
            reason.ask(say("slip-question-reason"), ghost=say("slip-question-ghost"))
            reason.done.connect(self.save)
            reason.focused.connect(lambda asked_of=reason: self._show_keys(asked_of))
            line.addWidget(asked, 3)
            line.addWidget(reason, 2)
            self._questions.addWidget(row)
            self._asked[identity] = row
            self._kept[identity] = reason
            self._walk()

    def tell(self, words: str, part: str) -> None:
        """One line under the fields: preview, what was saved, what is wrong."""
        look.set_part(self.message, part)
        self.message.setText(words)
        self.message.setVisible(bool(words))

    def preview(self) -> Preview | None:
        """Show how the chart would stand if this were right; nothing is written."""
        now = self.desk.clock.now()
        if not self.has_text:
            self.show_questions(())
            self.tell(self.empty_words(), "preview")
            return None
        events, refusals = self.events(now)
        if refusals or not events:
            return None
        seen = self.desk.preview(self.session, [event for event in events if not isinstance(event, Answered)])
        if not seen.refusals:
            self.show_questions([finding for finding in seen.questions if finding.asks])
            self.tell(preview_words(seen, self.desk, now), "preview")
        return seen

    # --- saving -------------------------------------------------------------------------------------------------

    def save(self) -> bool:
        """Save; True when it is on disk. Whatever else happens, what was typed stays in its fields."""
        self._wait.stop()
        self._clear_errors()
        now = self.desk.clock.now()
        if self.needs_name and not self.nurse():
            self.tell(say("slip-needs-name"), "error")
            self.asks_name.emit()
            return False
        events, refusals = self.events(now)
        if refusals:
            self.show_refusals(refusals)
            return False
        if not events:
            self.tell(say("refuse-empty-check"), "error")
            return False
        seen = self.desk.preview(self.session, [event for event in events if not isinstance(event, Answered)])
        if seen.refusals:
            self.show_refusals(seen.refusals)
            return False
        self.show_questions([finding for finding in seen.questions if finding.asks])
        open_ones = [reason for reason in self._kept.values() if not reason.text().strip()]
        if open_ones:
            self.tell(say("slip-questioned"), "error")
            open_ones[0].setFocus(Qt.FocusReason.OtherFocusReason)
            return False
        return self._finish(self.desk.save(events))

    def _finish(self, outcome: object) -> bool:
        if isinstance(outcome, Saved):
            self.saved.emit(self.saved_words())
            return True
        if isinstance(outcome, Rejected):
            self.show_refusals(outcome.refusals)
        elif isinstance(outcome, Fault):
            self.tell(outcome.text, "fault")
            self.faulted.emit(outcome)
        return False

    def saved_words(self) -> str:
        """What is said once it is on disk."""
        at = says.clock(self.desk.clock.now(), self.desk.in_force.zone)
        return say("slip-saved", what=say(f"slip-{self.kind}-title"), at=at)


def preview_words(seen: Preview, desk: Desk, now: datetime) -> str:
    """In words: if this is right, net +35 (−60 to 110) mL, bladder may hold 0 to 160 mL."""
    parts = []
    row = seen.row
    if row is not None and row.net_ml is not None and row.net_low_ml is not None:
        low = says.signed(row.net_low_ml)
        high = say("preview-or-more") if row.net_high_ml is None else says.signed(row.net_high_ml)
        start = says.clock(row.start, desk.in_force.zone, now)
        parts.append(say("preview-net", net=says.signed(row.net_ml), low=low, high=high, since=start))
    elif row is not None and row.state == "open":
        parts.append(say("preview-open"))
    standing = seen.standing
    if standing is not None:
        may = standing.may_hold
        known = may.now or may.at_close
        if may.cannot_tell == "too_much":
            parts.append(say("preview-too-much"))
        elif known is not None and not may.cannot_tell:
            parts.append(say("preview-hold", range=says.hold_ml(known)))
        if standing.behind is not None and standing.behind.ml >= 50:
            since = says.clock(standing.behind.since, desk.in_force.zone, now)
            parts.append(say("preview-behind", ml=says.about_ten(standing.behind.ml), since=since))
    return say("preview-if-right", what=", ".join(parts)) if parts else say("preview-nothing")


def tube_icon(swatch: str) -> QIcon:
    """A piece of tubing in a colour of the scale."""
    picture = QPixmap(28, 44)
    picture.fill(QColor(0, 0, 0, 0))
    painter = QPainter(picture)
    icons.draw_tube(painter, QRectF(5, 2, 18, 40), swatch, None, QColor(look.theme().soft), QColor("#4a0f12"))
    painter.end()
    picture.setDevicePixelRatio(2)
    return QIcon(picture)
