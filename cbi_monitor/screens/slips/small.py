"""Small slips, each one key away: bag, emptying, look, washout, scan, patient, inflow stopped and started."""

from __future__ import annotations

from datetime import datetime
from typing import ClassVar

from cbi_monitor.model.events import (
    BagDown,
    BagHung,
    BagRead,
    BladderScanned,
    DrainageEmptied,
    Event,
    InflowSet,
    InflowStarted,
    InflowStopped,
    Leaked,
    OutflowSeen,
    Symptoms,
    Washout,
)
from cbi_monitor.model.findings import Refusal
from cbi_monitor.screens import says
from cbi_monitor.screens.fields import PainField
from cbi_monitor.screens.slips import choices
from cbi_monitor.screens.slips.slip import Slip
from cbi_monitor.ward.figures import Unreadable, read_figure
from cbi_monitor.wording import say


class SmallSlip(Slip):
    """A slip whose fields become events one by one."""

    def figure(
        self, name: str, called: str, refusals: list[Refusal], *, doubtful: bool = True
    ) -> dict[str, object] | None:
        """A typed figure as fields of an event; None where nothing was typed or it can't be read."""
        try:
            read = read_figure(self.value(name), doubtful=doubtful)
        except Unreadable:
            write = "write-volume" if doubtful else "write-number"
            refusals.append(self.refusal(name, say("refuse-no-figure", typed=self.value(name)), say(write)))
            return None
        return None if read is None else dict(read.fields(called))

    def must(self, name: str, refusals: list[Refusal]) -> None:
        """A field that has to be answered is empty."""
        if not any(refusal.field == name for refusal in refusals):
            refusals.append(self.refusal(name, say("refuse-missing"), say("write-missing")))


class BagSlip(SmallSlip):
    """A bag change: which line, what was left in the old one, the new bag's size, the line traced."""

    kind = "bag"
    alias: ClassVar[dict[str, str]] = {"label_ml": "size", "left_ml": "left", "line": "line", "fluid": "size"}

    def build(self) -> None:
        """Line, old level, size, traced."""
        standing = self.desk.bed(self.session).standing
        hanging = {line.name: line for line in standing.lines}
        names = tuple(dict.fromkeys([*hanging, "A", "B"]))
        self.add_keys("line", say("bag-line"), choices.lines(names))
        self.add_volume("left", say("bag-left"))
        sizes = self.desk.in_force.ward.sizes.irrigant_ml
        last = next((line.label_ml for line in standing.lines), None)
        self.add_keys("size", say("bag-size"), choices.sizes(sizes), last)
        self.add_keys("clamped", say("bag-clamped"), choices.yes_no("clamped"))
        self.add_keys("traced", say("bag-traced"), choices.yes_no("traced"))
        self.hanging = hanging

    def events(self, now: datetime) -> tuple[list[Event], list[Refusal]]:
        """The old bag down, the new one hung."""
        refusals: list[Refusal] = []
        made: list[Event | None] = []
        line, size = self.value("line"), self.value("size")
        if line is None:
            self.must("line", refusals)
        if size is None:
            self.must("size", refusals)
        old = self.hanging.get(line)
        left = self.figure("left", "left_ml", refusals)
        if old is not None and left is None:
            self.must("left", refusals)
        if line is None or size is None or refusals:
            return [], refusals
        if old is not None and left is not None:
            empty = {"found_empty": True} if left.get("left_ml") == 0 else {}
            made.append(self.make(BagDown, "down", refusals, now, line=line, **left, **empty))
        facts = self.desk.bed(self.session).ledger.facts
        ordered = facts.order.get("fluid") or facts.details.get("fluid")
        # The same fluid as before is the usual change; another one is written by hand as a correction, and questioned.
        fluid = (old.fluid if old is not None else None) or ordered or self.desk.in_force.ward.default_fluid
        traced = self.value("traced")
        clamped = True if self.value("clamped") else None
        made.append(
            self.make(
                BagHung,
                "hung",
                refusals,
                now,
                line=line,
                label_ml=size,
                fluid=fluid,
                clamped=clamped,
                line_traced=traced,
            )
        )
        return [event for event in [*made, *self.answers(now, refusals)] if event is not None], refusals


class EmptiedSlip(SmallSlip):
    """The drainage bag was emptied."""

    kind = "emptied"
    alias: ClassVar[dict[str, str]] = {"volume": "volume", "left_ml": "left"}

    def build(self) -> None:
        """Volume, what stayed in, whether it was full."""
        self.add_volume("volume", say("emptied-volume"))
        self.add_volume("left", say("emptied-left"), ghost=say("emptied-left-ghost"), doubtful=False)
        self.add_keys("full", say("emptied-full"), choices.yes_no("full"))

    def events(self, now: datetime) -> tuple[list[Event], list[Refusal]]:
        """One emptying."""
        refusals: list[Refusal] = []
        volume = self.figure("volume", "volume", refusals)
        left = self.figure("left", "left_ml", refusals, doubtful=False) or {}
        if volume is None:
            self.must("volume", refusals)
            return [], refusals
        full = True if self.value("full") else None
        event = self.make(DrainageEmptied, "emptied", refusals, now, **volume, **left, found_full=full)
        return [made for made in (event, *self.answers(now, refusals)) if made is not None], refusals


class LookSlip(SmallSlip):
    """A look at the drip, answered by one key; the patient by one more."""

    kind = "look"

    def build(self) -> None:
        """How it runs, how the patient is."""
        self.add_keys("running", say("check-running"), choices.running())
        self.add_keys("comfort", say("check-comfort"), choices.comfort())
        pain = PainField(self)
        pain.ask(say("check-pain"))
        self.add("pain", pain, say("check-pain"))
        self.show_field("pain", False)
        self.cells["comfort"].field.changed.connect(
            lambda: self.show_field("pain", self.value("comfort") == "not_comfortable")
        )

    def events(self, now: datetime) -> tuple[list[Event], list[Refusal]]:
        """What was seen."""
        refusals: list[Refusal] = []
        made: list[Event | None] = []
        how, comfort = self.value("running"), self.value("comfort")
        if how is None and comfort is None:
            self.must("running", refusals)
        if how is not None:
            made.append(self.make(OutflowSeen, "look", refusals, now, running=how != "none", how=how))
        if comfort is not None:
            pain: object = {"comfortable": 0, "cannot_say": "cannot_say"}.get(comfort)
            if comfort == "not_comfortable":
                typed = self.value("pain")
                if not typed.isdigit() or int(typed) > 10:
                    refusals.append(self.refusal("pain", say("refuse-pain-missing"), say("write-pain")))
                else:
                    pain = int(typed)
            if pain is not None:
                made.append(self.make(Symptoms, "comfort", refusals, now, pain=pain))
        return [event for event in made if event is not None], refusals


class WashoutSlip(SmallSlip):
    """A hand washout: what went in, what came back and where, clots, how it ran afterwards."""

    kind = "washout"
    alias: ClassVar[dict[str, str]] = {
        "instilled_ml": "instilled",
        "returned_ml": "returned",
        "returned_to": "where",
    }

    def build(self) -> None:
        """In, back, clots, resistance, afterwards."""
        self.add_volume("instilled", say("washout-instilled"))
        self.add_volume("returned", say("washout-returned"), doubtful=False)
        self.add_keys("clots", say("check-clots"), choices.clots())
        self.add_keys(
            "resistance",
            say("washout-resistance"),
            choices.choices("resistance", "easy", "stiff", "in_but_not_back"),
        )
        self.add_keys("after", say("washout-after"), choices.choices("after", "steady", "slow", "none"))

    def events(self, now: datetime) -> tuple[list[Event], list[Refusal]]:
        """One washout."""
        refusals: list[Refusal] = []
        instilled = self.figure("instilled", "instilled_ml", refusals)
        returned = self.figure("returned", "returned_ml", refusals, doubtful=False) or {}
        if instilled is None:
            self.must("instilled", refusals)
            return [], refusals
        where = {"returned_to": "dish"} if returned else {}
        event = self.make(
            Washout, "washout", refusals, now, **instilled, **returned, **where, clots=self.value("clots"),
            resistance=self.value("resistance"), draining_after=self.value("after"), done_by=self.nurse(),
        )  # fmt: skip
        return [made for made in (event, *self.answers(now, refusals)) if made is not None], refusals


class ScanSlip(SmallSlip):
    """A bladder scan; and by-passing, which is found beside it."""

    kind = "scan"
    alias: ClassVar[dict[str, str]] = {"volume_ml": "volume"}

    def build(self) -> None:
        """Volume, repeat, leak."""
        self.add_volume("volume", say("scan-volume"), doubtful=False)
        self.add_keys("repeat", say("scan-repeat"), choices.yes_no("repeat"))
        self.add_keys(
            "leak", say("scan-leak"), choices.choices("leak", "no", "spot", "pad", "sheet", "soaked")
        )

    def events(self, now: datetime) -> tuple[list[Event], list[Refusal]]:
        """The scan, the leak."""
        refusals: list[Refusal] = []
        made: list[Event | None] = []
        volume = self.figure("volume", "volume_ml", refusals, doubtful=False)
        leak = self.value("leak")
        if volume is None and leak in (None, "no"):
            self.must("volume", refusals)
        if volume is not None:
            made.append(
                self.make(
                    BladderScanned, "scan", refusals, now, **volume, repeat=self.value("repeat") or None
                )
            )
        if leak not in (None, "no"):
            made.append(self.make(Leaked, "leak", refusals, now, extent=leak))
        return [event for event in [*made, *self.answers(now, refusals)] if event is not None], refusals


class PatientSlip(SmallSlip):
    """How the patient is: nothing here is ever refused for being unlikely."""

    kind = "patient"
    SIGNS = ("spasm", "restless", "sweaty_pale", "confused", "nausea", "breathless", "shoulder_tip_pain")

    def build(self) -> None:
        """Pain, abdomen, signs, words."""
        pain = PainField(self)
        pain.ask(say("check-pain"))
        self.add("pain", pain, say("check-pain"))
        self.add_keys("abdomen", say("patient-abdomen"), choices.choices("abdomen", "soft", "full", "hard"))
        for sign in self.SIGNS:
            self.add_keys(sign, say(f"patient-{sign.replace('_', '-')}"), choices.yes_no("sign"))
        self.add_text("note", say("patient-note"))

    def events(self, now: datetime) -> tuple[list[Event], list[Refusal]]:
        """One charting of symptoms."""
        refusals: list[Refusal] = []
        said: dict[str, object] = {sign: self.value(sign) for sign in self.SIGNS}
        typed = self.value("pain")
        if typed and (not typed.isdigit() or int(typed) > 10):
            refusals.append(
                self.refusal("pain", say("refuse-no-pain-number", typed=typed), say("write-pain"))
            )
            return [], refusals
        said |= {
            "pain": int(typed) if typed else None,
            "abdomen": self.value("abdomen"),
            "note": self.value("note"),
        }
        if all(value in (None, "") for value in said.values()):
            self.must("pain", refusals)
            return [], refusals
        event = self.make(Symptoms, "symptoms", refusals, now, **said)
        return [event] if event is not None else [], refusals


class StopSlip(SmallSlip):
    """The inflow was stopped: one key charts it, the reason may follow. Needs no name: it is never held up."""

    kind = "stop"
    needs_name = False

    def build(self) -> None:
        """Why."""
        self.add_keys(
            "reason", say("stop-reason"),
            choices.choices("reason", "not_draining", "trial", "transport", "scan", "order", "other"),
        )  # fmt: skip

    def events(self, now: datetime) -> tuple[list[Event], list[Refusal]]:
        """One stop."""
        refusals: list[Refusal] = []
        event = self.make(InflowStopped, "stop", refusals, now, reason=self.value("reason"))
        return [event] if event is not None else [], refusals

    def empty_words(self) -> str:
        """A stop may be saved without a reason."""
        return say("stop-empty")


class StartSlip(SmallSlip):
    """The inflow was started again, at a rate; first it was seen running freely."""

    kind = "start"

    def build(self) -> None:
        """Seen running, rate."""
        self.add_keys("running", say("start-running"), choices.running())
        self.add_volume("rate", say("start-rate"), doubtful=False)

    def events(self, now: datetime) -> tuple[list[Event], list[Refusal]]:
        """The look before it, the start, the rate."""
        refusals: list[Refusal] = []
        made: list[Event | None] = []
        how = self.value("running")
        if how is None:
            self.must("running", refusals)
            return [], refusals
        made.append(self.make(OutflowSeen, "look", refusals, now, running=how != "none", how=how))
        made.append(self.make(InflowStarted, "start", refusals, now))
        rate = self.figure("rate", "ml_per_h", refusals, doubtful=False)
        if rate is not None:
            made.append(self.make(InflowSet, "rate", refusals, now, **rate))
        return [event for event in made if event is not None], refusals


class LevelSlip(SmallSlip):
    """One level read apart from a check, on a line that is clamped too."""

    kind = "level"
    alias: ClassVar[dict[str, str]] = {"left_ml": "left"}

    def build(self) -> None:
        """Line, level."""
        standing = self.desk.bed(self.session).standing
        names = tuple(line.name for line in standing.lines) or ("A",)
        self.add_keys("line", say("bag-line"), choices.lines(names))
        last = next((line.level_ml for line in standing.lines if line.level_ml is not None), None)
        self.add_volume(
            "left",
            say("level-left"),
            ghost="" if last is None else say("field-last", value=says.number(last)),
        )

    def events(self, now: datetime) -> tuple[list[Event], list[Refusal]]:
        """One level."""
        refusals: list[Refusal] = []
        line = self.value("line")
        left = self.figure("left", "left_ml", refusals)
        if line is None:
            self.must("line", refusals)
        if left is None:
            self.must("left", refusals)
        if refusals or line is None or left is None:
            return [], refusals
        event = self.make(BagRead, "level", refusals, now, line=line, **left)
        return [made for made in (event, *self.answers(now, refusals)) if made is not None], refusals


SLIPS: dict[str, type[Slip]] = {
    one.kind: one
    for one in (
        BagSlip,
        EmptiedSlip,
        LookSlip,
        WashoutSlip,
        ScanSlip,
        PatientSlip,
        StopSlip,
        StartSlip,
        LevelSlip,
    )
}
