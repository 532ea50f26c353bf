"""Opening a session: bed, reference, levels, drainage, colour, rate; the rest is asked later."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError
from PySide6.QtCore import Signal
from PySide6.QtWidgets import QPushButton

from cbi_monitor.model.events import (
    BagHung,
    BagRead,
    DrainageBagPlaced,
    EffluentGraded,
    Event,
    InflowSet,
    OutflowSeen,
    SessionOpened,
    Symptoms,
)
from cbi_monitor.screens.dialogs.sheet import Sheet
from cbi_monitor.screens.fields import KeyField, TextField, VolumeField, WhenField
from cbi_monitor.screens.slips import choices
from cbi_monitor.ward.figures import Unreadable
from cbi_monitor.ward.outcomes import Saved
from cbi_monitor.wording import say


class OpeningSheet(Sheet):
    """At most thirty keys from an empty sheet to an open session."""

    opened = Signal(str)
    form_name = "opening"

    def build(self) -> None:
        """The fields in the order in which they are met from the bag down to the patient."""
        sizes = self.desk.in_force.ward.sizes
        self.bed, self.patient = self.get(TextField, "bed"), self.get(TextField, "patient")
        self.when = self.get(WhenField, "when")
        self.when.ask_when()
        for field, key in ((self.bed, "opening-bed"), (self.patient, "opening-patient")):
            field.ask(say(key))
        self.keys: dict[str, KeyField] = {}
        asked: tuple[tuple[str, str, tuple[Any, ...]], ...] = (
            ("size_a", "opening-size-a", choices.sizes(sizes.irrigant_ml)),
            ("size_b", "opening-size-b", choices.sizes(sizes.irrigant_ml)),
            ("capacity", "opening-capacity", choices.sizes(sizes.drainage_ml)),
            ("grade", "check-colour", choices.colours(self.desk.in_force.scale)),
            ("clots", "check-clots", choices.clots()),
            ("running", "check-running", choices.running()),
            ("comfort", "check-comfort", choices.comfort()[:1] + choices.comfort()[2:]),
            ("traced", "bag-traced", choices.yes_no("traced")),
        )
        for name, key, offered in asked:
            self.keys[name] = self.get(KeyField, name)
            self.keys[name].ask(say(key), offered)
        self.volumes = {
            name: self.get(VolumeField, name) for name in ("left_a", "left_b", "contents", "rate")
        }
        for name, key in (("left_a", "opening-left-a"), ("left_b", "opening-left-b"), ("contents", "opening-contents"),
                          ("rate", "opening-rate")):  # fmt: skip
            self.volumes[name].ask(say(key))
        self.volumes["rate"].doubtful = False
        self.in_order(
            self.bed, self.patient, self.keys["size_a"], self.volumes["left_a"], self.keys["size_b"], self.volumes["left_b"],
            self.keys["capacity"], self.volumes["contents"], self.volumes["rate"], self.keys["running"], self.keys["grade"],
            self.keys["clots"], self.keys["comfort"], self.keys["traced"], self.when,
        )  # fmt: skip
        self._show_b(False)
        self.keys["size_b"].changed.connect(lambda: self._show_b(self.keys["size_b"].value is not None))
        self.get(QPushButton, "keep").clicked.connect(self.keep)
        self.session = self.desk.new_session_id()

    def _show_b(self, shown: bool) -> None:
        self.volumes["left_b"].setVisible(shown)
        label = self.form.findChild(type(self.message), "left_b_label")
        if label is not None:
            label.setVisible(shown)

    def keep(self) -> None:
        """Write the opening and the first readings together."""
        if not self.named():
            return
        for field in (self.bed, self.patient):
            if not field.text().strip():
                self.refuse(field, f"{say('refuse-missing')}; {say('write-missing')}")
                return
        if self.keys["clots"].value is not None and self.keys["grade"].value is None:
            self.refuse(self.keys["grade"], f"{say('refuse-clots-without-colour')}; {say('write-colour')}")
            return
        try:
            events = self._events()
        except Unreadable:
            return
        except ValidationError as wrong:
            self.show_invalid(wrong)
            return
        if not events:
            return
        outcome = self.desk.save(events)
        bed = self.bed.text().strip()
        if isinstance(outcome, Saved):
            self.opened.emit(self.session)
        self.finish(outcome, say("opening-saved", bed=bed))

    def _events(self) -> list[Event]:
        at = self.when.read(self.desk.clock.now(), self.desk.in_force.zone)
        if at is None:
            self.refuse(self.when, f"{say('refuse-when')}; {say('write-when')}")
            return []
        key = {name: field.value for name, field in self.keys.items()}

        def put(kind: Any, name: str, **fields: Any) -> None:
            made.append(self.make(kind, name, self.session, at, **fields))

        made: list[Event] = []
        put(SessionOpened, "opened", patient=self.patient.text().strip(), bed=self.bed.text().strip())
        fluid = self.desk.in_force.ward.default_fluid
        for line, size in (("A", key["size_a"]), ("B", key["size_b"])):
            left = self.figure(self.volumes[f"left_{line.lower()}"], "left_ml")
            if size is None:
                continue
            put(BagHung, f"hung.{line}", line=line, label_ml=size, fluid=fluid, line_traced=key["traced"])
            if left is not None:
                put(BagRead, f"left.{line}", line=line, of="new", **left)
        contents = self.figure(self.volumes["contents"], "contents_ml", doubtful=False)
        if key["capacity"] is not None:
            put(DrainageBagPlaced, "drainage", capacity_ml=key["capacity"], **(contents or {}))
        if key["grade"] is not None:
            put(EffluentGraded, "grade", grade=key["grade"], clots=key["clots"])
        if key["running"] is not None:
            put(OutflowSeen, "running", running=key["running"] != "none", how=key["running"])
        if key["comfort"] is not None:
            pain: int | str = 0 if key["comfort"] == "comfortable" else "cannot_say"
            made.append(self.make(Symptoms, "comfort", self.session, at, pain=pain))
        rate = self.figure(self.volumes["rate"], "ml_per_h", doubtful=False)
        if rate is not None:
            put(InflowSet, "rate", **rate)
        return made
