"""Correcting an entry: fields said anew, or the whole struck out; always with a reason, never erased."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from PySide6.QtWidgets import QFormLayout, QLabel, QPushButton, QWidget

from cbi_monitor.model.canonical import payload_of
from cbi_monitor.model.events import Event
from cbi_monitor.screens.bedside.view import EntryLine
from cbi_monitor.screens.dialogs.sheet import Sheet
from cbi_monitor.screens.fields import TextField
from cbi_monitor.screens.slips.slip import Nurse
from cbi_monitor.ward.desk import Desk
from cbi_monitor.wording import say

FIXED = frozenset({"event", "session", "id", "recorded", "by", "check", "source", "for_whom"})


class CorrectionSheet(Sheet):
    """One entry: what it says, each field to be said anew, a reason, or struck out."""

    form_name = "correction"

    def __init__(
        self, desk: Desk, nurse: Nurse, session: str, line: EntryLine, parent: QWidget | None = None
    ) -> None:
        self.session, self.line = session, line
        super().__init__(desk, nurse, parent)

    def build(self) -> None:
        """A field for every one that was written."""
        event: Event = self.line.event
        self.get(QLabel, "text").setText(
            say(
                "correction-entry",
                time=self.line.time,
                kind=self.line.kind,
                text=self.line.text or self.line.struck,
            )
        )
        form = self.form.findChild(QFormLayout, "fields")
        payload = payload_of(event)
        self.old: dict[str, str] = {}
        self.inputs: dict[str, TextField] = {}
        for name in ("at", *(n for n in payload if n not in FIXED and n != "at")):
            field = TextField(self.form)
            text = self._text(name, payload[name])
            words = say(f"fieldname-{name.replace('_', '-')}")
            field.ask(words)
            field.setText(text)
            label = QLabel(words)
            label.setProperty("part", "soft")
            label.setBuddy(field)
            form.addRow(label, field)
            self.old[name], self.inputs[name] = text, field
        self.reason = self.get(TextField, "reason")
        self.reason.ask(say("correction-reason"), ghost=say("correction-reason-ghost"))
        self.in_order(*self.inputs.values(), self.reason)
        self.get(QPushButton, "keep").clicked.connect(self.keep)
        strike = self.get(QPushButton, "strike")
        strike.clicked.connect(self.strike)
        if self.line.struck_out:
            strike.setEnabled(False)
            self.get(QPushButton, "keep").setEnabled(False)
            self.tell(say("correction-already-struck"), "soft")

    def _text(self, name: str, value: Any) -> str:
        if isinstance(value, str) and name in ("at", "since", "until", "operation_ended", "block_until", "traction_until",
                                               "back_by", "arrived_at", "next_due"):  # fmt: skip
            return f"{datetime.fromisoformat(value).astimezone(self.desk.in_force.zone):%Y-%m-%d %H:%M}"
        if isinstance(value, bool):
            return say("correction-yes") if value else say("correction-no")
        if isinstance(value, list):
            return ", ".join(str(one) for one in value)
        return str(value)

    def _read(self, name: str, text: str) -> Any:
        """The typed text as the kind of value the field had. Raises ValueError."""
        old = payload_of(self.line.event)[name]
        text = text.strip()
        if not text:
            return None
        if isinstance(old, bool):
            if text not in (say("correction-yes"), say("correction-no")):
                raise ValueError(say("write-yes-no"))
            return text == say("correction-yes")
        if isinstance(old, (int, float)):
            try:
                return float(text.replace(",", ""))
            except ValueError:
                raise ValueError(say("write-number")) from None
        if isinstance(old, list):
            return [part.strip() for part in text.split(",") if part.strip()]
        if self._text(name, old) != old:
            try:
                local = datetime.strptime(text, "%Y-%m-%d %H:%M").replace(tzinfo=self.desk.in_force.zone)
            except ValueError:
                raise ValueError(say("write-date-time")) from None
            return local.isoformat()
        return text

    def keep(self) -> None:
        """Write what was said anew."""
        if self.line.struck_out or not self.named() or not self._reasoned():
            return
        changed: dict[str, Any] = {}
        for name, field in self.inputs.items():
            if field.text().strip() == self.old[name].strip():
                continue
            try:
                changed[name] = self._read(name, field.text())
            except ValueError as wrong:
                self.refuse(field, str(wrong))
                return
        if not changed:
            self.tell(say("correction-nothing"))
            return
        outcome = self.desk.correct(
            self.session, self.line.id, changed, self.reason.text().strip(), self.nurse()
        )
        self.finish(outcome, say("correction-saved"))

    def strike(self) -> None:
        """Strike the entry out."""
        if self.line.struck_out or not self.named() or not self._reasoned():
            return
        outcome = self.desk.strike_out(self.session, self.line.id, self.reason.text().strip(), self.nurse())
        self.finish(outcome, say("correction-struck"))

    def _reasoned(self) -> bool:
        if self.reason.text().strip():
            return True
        self.refuse(self.reason, f"{say('refuse-reason-missing')}; {say('write-reason')}")
        return False
