"""The check slip, from the patient outwards: running, comfort, colour, clots, drainage, levels, rate if changed."""

from __future__ import annotations

from datetime import datetime

from PySide6.QtWidgets import QPushButton

from cbi_monitor.model.events import EffluentGraded, Event, OutflowSeen, Symptoms
from cbi_monitor.model.findings import Refusal
from cbi_monitor.screens import says
from cbi_monitor.screens.fields import PainField
from cbi_monitor.screens.slips import choices
from cbi_monitor.screens.slips.slip import Slip
from cbi_monitor.ward.checks import CheckEntry
from cbi_monitor.ward.outcomes import Preview
from cbi_monitor.wording import say


class CheckSlip(Slip):
    """One check. A check without volumes takes four keys and Ctrl+Enter."""

    kind = "check"
    known = 0
    """How many entries the chart had when the slip was laid out."""

    def build(self) -> None:
        """The fields that are in use at this bed, in the order of the bedside."""
        bed = self.desk.bed(self.session)
        ledger, standing, ward = bed.ledger, bed.standing, self.desk.in_force.ward
        self._entry: CheckEntry | None = None
        self._mode = ward.drainage_habit
        seen = standing.seen.how if standing.seen is not None else None
        self.add_keys("running", say("check-running"), choices.running(), seen)
        said = ledger.of(Symptoms)
        last = None
        if said:
            pain = said[-1].pain
            last = "cannot_say" if pain == "cannot_say" else "comfortable" if pain == 0 else "not_comfortable"
        self.add_keys("comfort", say("check-comfort"), choices.comfort(), last)
        pain = PainField(self)  # type: ignore[assignment]
        known = next((event.pain for event in reversed(said) if isinstance(event.pain, int)), None)
        pain.ask(say("check-pain"), last="" if known is None else str(known))
        self.add("pain", pain, say("check-pain"))  # type: ignore[arg-type]
        self.show_field("pain", False)
        graded = ledger.of(EffluentGraded)
        self.add_keys(
            "grade",
            say("check-colour"),
            choices.colours(self.desk.in_force.scale),
            graded[-1].grade if graded else None,
        )
        clots = next((event.clots for event in reversed(graded) if event.clots is not None), None)
        self.add_keys("clots", say("check-clots"), choices.clots(), clots)
        contents = standing.drainage.contents_ml
        drainage = self.add_volume("drainage", "", last="" if contents is None else says.number(contents))
        drainage.switches = (say("slip-switch-key-emptied"), say("slip-switch-key-in-bag"))
        drainage.switched.connect(self._switch)
        self._name_drainage()
        self.lines = [line.name for line in standing.lines if line.running]
        if ward.reading_habit == "levels" and standing.lines:
            for line in standing.lines:
                if line.running:
                    ghost = "" if line.level_ml is None else says.number(line.level_ml)
                    self.add_volume(f"left.{line.name}", say("check-left", line=line.name), last=ghost)
        elif ward.reading_habit == "volumes" or not standing.lines:
            self.add_volume("run_in", say("check-run-in"))
        rate = standing.inflow.mid if standing.inflow_basis not in ("not_known", "off") else None
        ghost = "" if rate is None else say("check-rate-ghost", rate=says.about_ten(rate))
        self.add_volume("rate", say("check-rate"), ghost=ghost, doubtful=False)
        self.cells["comfort"].field.changed.connect(self._ask_pain)
        self.other_bed = QPushButton()
        self.other_bed.setVisible(False)
        self.other_bed.clicked.connect(self._to_other_bed)
        self._questions.addWidget(self.other_bed)
        self._other: str | None = None

    def empty_words(self) -> str:
        """Nothing is prefilled, and the preview says what it waits for."""
        return say("check-empty")

    def _ask_pain(self) -> None:
        self.show_field("pain", self.value("comfort") == "not_comfortable")

    def _switch(self, key: str) -> None:
        self._mode = "emptied" if key == say("slip-switch-key-emptied") else "in_bag"
        self._name_drainage()
        self._typed()

    def _name_drainage(self) -> None:
        words = say(f"check-drainage-{self._mode.replace('_', '-')}")
        cell = self.cells["drainage"]
        cell.label.setText(words)
        cell.field.setAccessibleName(words)
        cell.box.setAccessibleName(words)

    def entry(self, now: datetime) -> CheckEntry | None:
        """What stands in the fields, as the ward's check entry; None where the time can't be read."""
        at = self.at(now)
        if at is None:
            return None
        if self._entry is None:
            self._entry = CheckEntry(self.session, self.nurse(), at)
        entry = self._entry
        entry.at, entry.by = at, self.nurse()
        entry.running, entry.comfort = self.value("running"), self.value("comfort")
        entry.pain = self.value("pain") if self.value("comfort") == "not_comfortable" else ""
        entry.grade, entry.clots = self.value("grade"), self.value("clots")
        entry.drainage, entry.drainage_mode = self.value("drainage"), self._mode
        entry.left = {line: self.value(f"left.{line}") for line in self.lines if f"left.{line}" in self.cells}
        entry.run_in = self.value("run_in") if "run_in" in self.cells else ""
        entry.rate = self.value("rate")
        entry.kept = {
            finding: reason.text() for finding, reason in self._kept.items() if reason.text().strip()
        }
        return entry

    def events(self, now: datetime) -> tuple[list[Event], list[Refusal]]:
        """The events of this visit."""
        entry = self.entry(now)
        if entry is None:
            return [], [self.refusal("when", say("refuse-when"), say("write-when"))]
        return entry.to_events(now)

    def preview(self) -> Preview | None:
        """As every slip's; and where the levels fit another bed better, it asks."""
        seen = super().preview()
        other = seen.wrong_bed if seen is not None else None
        self._other = other.session if other is not None else None
        self.other_bed.setVisible(other is not None)
        if other is not None:
            self.other_bed.setText(say("check-other-bed", bed=other.label))
            self.other_bed.setAccessibleName(self.other_bed.text())
        return seen

    def _to_other_bed(self) -> None:
        if self._other is not None:
            self.asks_bed.emit(self._other)

    def move_to(self, session: str) -> None:
        """The whole check belongs to another bed; what was typed stays."""
        self.session = session
        if self._entry is not None:
            self._entry.move_to(session)
        self._ids = {}
        self.show_questions(())
        self.other_bed.setVisible(False)
        self._typed()

    def saved_words(self) -> str:
        """A check that saw it run steadily says who saw it, and when; never more."""
        now = self.desk.clock.now()
        bed = self.desk.bed(self.session)
        due = bed.next_due
        zone = self.desk.in_force.zone
        seen = bed.ledger.of(OutflowSeen)
        words = super().saved_words()
        if seen and seen[-1].how == "steady" and self.value("running") == "steady":
            words = say(
                "check-saved", at=says.clock(seen[-1].at, zone, now), by=seen[-1].by or say("screens-no-name")
            )
        return words if due is None else say("check-saved-next", words=words, at=says.clock(due, zone, now))
