"""Answering an alert, answering a question of the chart, saying who charts."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QListWidget, QListWidgetItem, QPushButton, QWidget

from cbi_monitor.screens.board.lanes import short_words
from cbi_monitor.screens.board.view import MARKS
from cbi_monitor.screens.dialogs.sheet import Sheet
from cbi_monitor.screens.fields import KeyField, TextField, VolumeField
from cbi_monitor.screens.slips import choices
from cbi_monitor.screens.slips.slip import Nurse
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.figures import Unreadable
from cbi_monitor.ward.telling import Words
from cbi_monitor.wording import say


class AlertSheet(Sheet):
    """Going, or seen with what was done. Neither clears the alert: only what is seen at the bed does."""

    form_name = "alert"

    def __init__(self, desk: Desk, nurse: Nurse, session: str, parent: QWidget | None = None) -> None:
        self.session = session
        super().__init__(desk, nurse, parent)

    def build(self) -> None:
        """The alerts that stand at this bed, the worst first."""
        self.list = self.get(QListWidget, "alerts")
        self.list.setAccessibleName(say("alert-list-name"))
        self.text = self.get(QLabel, "text")
        self.action = self.get(TextField, "action")
        self.action.ask(say("alert-action"), ghost=say("alert-action-ghost"))
        words = Words(self.desk.in_force.zone, self.desk.in_force.scale)
        now = self.desk.now
        self.states = [state for state in self.desk.bed(self.session).alerts if state.on_lane(now)]
        for state in self.states:
            text = f"{MARKS[state.priority]}  {short_words(state, words)}"
            if not state.stands:
                text = say("alert-cleared-line", text=text)
            self.list.addItem(QListWidgetItem(text))
        self.list.currentRowChanged.connect(
            lambda n: self.text.setText(words.alert(self.states[n]) if n >= 0 else "")
        )
        self.list.setMaximumHeight(130)
        self.in_order(self.action)
        self.get(QPushButton, "going").clicked.connect(lambda: self._answer("going"))
        self.get(QPushButton, "seen").clicked.connect(lambda: self._answer("seen"))
        if self.states:
            self.list.setCurrentRow(0)

    def keep(self) -> None:
        """Ctrl+Enter: seen, with what was done."""
        self._answer("seen")

    def _move(self, place: int) -> None:
        self.get(QPushButton, "seen").setFocus(Qt.FocusReason.TabFocusReason)

    def _answer(self, kind: str) -> None:
        row = self.list.currentRow()
        if row < 0 or not self.named():
            return
        state = self.states[row]
        action = self.action.text().strip() or None
        outcome = self.desk.answer_alert(self.session, state.id, kind, self.nurse(), action)  # type: ignore[arg-type]
        self.finish(outcome, say(f"alert-answered-{kind}", by=self.nurse() or ""))


class FindingSheet(Sheet):
    """A question that the chart asks: right, not written down, or wrong."""

    form_name = "finding"

    def __init__(
        self, desk: Desk, nurse: Nurse, session: str, finding: str, parent: QWidget | None = None
    ) -> None:
        self.session, self.finding = session, finding
        super().__init__(desk, nurse, parent)

    def build(self) -> None:
        """Answer, volume where it was not written down, reason."""
        words = Words(self.desk.in_force.zone, self.desk.in_force.scale)
        found = next(
            (one for one in self.desk.bed(self.session).ledger.findings if one.id == self.finding), None
        )
        self.get(QLabel, "text").setText("" if found is None else words.finding(found))
        self.answer = self.get(KeyField, "answer")
        self.answer.ask(
            say("finding-answer"), choices.choices("answer", "confirmed", "not_recorded", "wrong")
        )
        self.volume, self.reason = self.get(VolumeField, "volume"), self.get(TextField, "reason")
        self.volume.ask(say("finding-volume"))
        self.volume.doubtful = False
        self.reason.ask(say("finding-reason"))
        self.in_order(self.answer, self.volume, self.reason)
        self._show_volume()
        self.answer.changed.connect(self._show_volume)
        self.get(QPushButton, "keep").clicked.connect(self.keep)

    def _show_volume(self) -> None:
        shown = self.answer.value == "not_recorded"
        self.volume.setVisible(shown)
        label = self.form.findChild(QLabel, "volume_label")
        if label is not None:
            label.setVisible(shown)

    def keep(self) -> None:
        """Write the answer."""
        if not self.named():
            return
        if self.answer.value is None:
            self.refuse(self.answer, f"{say('refuse-missing')}; {say('write-missing')}")
            return
        if not self.reason.text().strip():
            self.refuse(self.reason, f"{say('refuse-reason-missing')}; {say('write-reason')}")
            return
        try:
            volume = (
                self.figure(self.volume, "ml", doubtful=False)
                if self.answer.value == "not_recorded"
                else None
            )
        except Unreadable:
            return
        outcome = self.desk.answer_finding(
            self.session, self.finding, self.answer.value, None if volume is None else volume["ml"],  # type: ignore[arg-type]
            self.reason.text().strip(), self.nurse(),
        )  # fmt: skip
        self.finish(outcome, say("finding-saved"))


class SignSheet(Sheet):
    """Who charts: initials or staff id stand on every entry from then on."""

    form_name = "sign"

    def __init__(
        self, desk: Desk, nurse: Nurse, taken: Callable[[str], None], parent: QWidget | None = None
    ) -> None:
        self.taken = taken
        super().__init__(desk, nurse, parent)

    def build(self) -> None:
        """One field."""
        self.name = self.get(TextField, "name")
        self.name.ask(say("sign-name"), ghost=say("sign-ghost"))
        self.in_order(self.name)
        self.get(QPushButton, "keep").clicked.connect(self.keep)

    def _move(self, place: int) -> None:
        if place > 0:
            self.keep()

    def keep(self) -> None:
        """Take the name."""
        name = self.name.text().strip()
        if not name:
            self.refuse(self.name, f"{say('refuse-missing')}; {say('write-missing')}")
            return
        self.taken(name)
        self.saved.emit(say("sign-saved", name=name))
        self.accept()
