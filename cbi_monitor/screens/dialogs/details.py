"""What is still to ask after the opening: details, the catheter, the order."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from pydantic import ValidationError
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QWidget

from cbi_monitor.model.events import CatheterPlaced, Event, Ordered, SessionDetails
from cbi_monitor.screens.bedside.bedside import still_to_ask
from cbi_monitor.screens.dialogs.sheet import Sheet
from cbi_monitor.screens.fields import Choice, KeyField, TextField, VolumeField
from cbi_monitor.screens.slips import choices
from cbi_monitor.screens.slips.slip import Nurse
from cbi_monitor.ward.desk import Desk
from cbi_monitor.wording import say

CHOICES: dict[str, tuple[str, ...]] = {
    "sex": ("male", "female", "other", "unknown"),
    "kidney": ("usual", "chronic", "dialysis", "single"),
    "ways": ("2", "3"),
    "tip": ("straight", "coude"),
    "how": ("written", "phone", "spoken"),
    "washout": ("nurse", "doctor_only", "never"),
    "expected_urine": ("usual", "low", "none", "diverted"),
}
YES_NO = frozenset({"heart_failure", "can_say_pain", "blood_thinners"})
NUMBERS = frozenset({"weight_kg", "age_years", "french", "bladder_limit_ml"})
CATHETER = ("french", "ways", "tip", "material")
ORDER = ("by_whom", "how", "washout", "expected_urine", "bladder_limit_ml")


class DetailsSheet(Sheet):
    """Any of it may be left for later; what is typed is saved, the rest stays on the list."""

    form_name = "details"

    def __init__(self, desk: Desk, nurse: Nurse, session: str, parent: QWidget | None = None) -> None:
        self.session = session
        super().__init__(desk, nurse, parent)

    def build(self) -> None:
        """A field for everything that is missing."""
        grid = self.form.findChild(QGridLayout, "fields")
        missing = still_to_ask(self.desk.bed(self.session))
        names = [name for name in missing if name not in ("catheter", "order")]
        self.catheter = CATHETER if "catheter" in missing else ()
        self.order = ORDER if "order" in missing else ()
        names += [*self.catheter, *self.order]
        self.inputs: dict[str, KeyField | TextField] = {}
        for place, name in enumerate(names):
            words = say(f"fieldname-{name.replace('_', '-')}")
            field = self._field(name, words)
            label = QLabel(words)
            label.setProperty("part", "soft")
            label.setBuddy(field)
            row, column = divmod(place, 4)
            grid.addWidget(label, row * 2, column)
            grid.addWidget(field, row * 2 + 1, column)
            self.inputs[name] = field
        self.in_order(*self.inputs.values())
        self.get(QPushButton, "keep").clicked.connect(self.keep)

    def _field(self, name: str, words: str) -> KeyField | TextField:
        if name in CHOICES or name in YES_NO:
            field = KeyField(self.form)
            offered: tuple[Choice, ...] = choices.yes_no("plain")
            if name in CHOICES:
                offered = choices.choices(name.replace("_", "-"), *CHOICES[name])
            field.ask(words, offered)
            return field
        made = VolumeField(self.form) if name in NUMBERS else TextField(self.form)
        if isinstance(made, VolumeField):
            made.doubtful = False
        ghost = say("details-ended-ghost") if name == "operation_ended" else ""
        made.ask(words, ghost=ghost)
        return made

    def _value(self, name: str) -> Any:
        field = self.inputs.get(name)
        if field is None:
            return None
        if isinstance(field, KeyField):
            return int(str(field.value)) if name == "ways" and field.value is not None else field.value
        text = field.text().strip()
        if not text:
            return None
        if name in NUMBERS:
            try:
                return float(text.replace(",", ""))
            except ValueError:
                raise _Unread(name, say("write-number")) from None
        if name == "allergies":
            return tuple(part.strip() for part in text.split(",") if part.strip())
        if name == "operation_ended":
            try:
                return datetime.strptime(text, "%Y-%m-%d %H:%M").replace(tzinfo=self.desk.in_force.zone)
            except ValueError:
                raise _Unread(name, say("write-date-time")) from None
        return text

    def keep(self) -> None:
        """Write what was typed."""
        if not self.named():
            return
        try:
            events = self._events()
        except _Unread as wrong:
            self.refuse(self.inputs[wrong.name], wrong.words)
            return
        except ValidationError as wrong:
            self.show_invalid(wrong)
            return
        if not events:
            self.tell(say("refuse-empty-check"))
            return
        self.finish(self.desk.save(events), say("details-saved"))

    def _events(self) -> list[Event]:
        at = self.desk.clock.now()
        made: list[Event] = []
        rest = {name: self._value(name) for name in self.inputs if name not in (*self.catheter, *self.order)}
        if any(value is not None for value in rest.values()):
            made.append(self.make(SessionDetails, "details", self.session, at, **rest))
        for kind, names, key in ((CatheterPlaced, self.catheter, "catheter"), (Ordered, self.order, "order")):
            said = {name: self._value(name) for name in names}
            if any(value is not None for value in said.values()):
                made.append(self.make(kind, key, self.session, at, **said))
        return made


class _Unread(ValueError):
    """A field of the sheet that can't be read."""

    def __init__(self, name: str, words: str) -> None:
        super().__init__(words)
        self.name, self.words = name, words
