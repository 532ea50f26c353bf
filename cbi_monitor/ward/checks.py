"""The check slip: what a nurse types at one bed becomes the events of one visit.

Texts stay as typed until the entry is read; a field that cannot be read is refused by its name, the others stay. Empty
means "not asked, not seen", never zero. An entry has its ids from the start, so that the findings of a preview are the
findings of the saved check.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any, Literal

from pydantic import ValidationError

from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.model.events import (
    Answered,
    BagRead,
    DrainageEmptied,
    DrainageRead,
    EffluentGraded,
    Event,
    InflowSet,
    IrrigantRunIn,
    Note,
    OutflowSeen,
    Symptoms,
)
from cbi_monitor.model.findings import Refusal
from cbi_monitor.ward.figures import Figure, Unreadable, read_figure
from cbi_monitor.ward.ids import new_id
from cbi_monitor.ward.rules import said_wrong
from cbi_monitor.wording import say

How = Literal["steady", "slow", "drops_only", "none"]
Comfort = Literal["comfortable", "not_comfortable", "cannot_say"]
Clots = Literal["none", "specks", "small", "large"]
LATE_AFTER = timedelta(minutes=30)
"""From this age on an entry is marked late (common practice, no source)."""


@dataclass
class CheckEntry:
    """One check slip as typed.

    ``at`` is when it was read at the bed, ``started`` when the slip was opened (ids are made from it). ``left`` maps a
    line to what its bag still holds; ``levels_in`` and ``drainage_in`` say whether levels are mL read or grams weighed.
    ``kept`` maps the id of a questioned finding to the reason why the value stays.
    """

    session: str
    by: str | None
    at: datetime
    running: How | None = None
    comfort: Comfort | None = None
    pain: str = ""
    spasm: bool | None = None
    urge: Literal["bladder", "bowel"] | None = None
    abdomen: Literal["soft", "full", "hard"] | None = None
    restless: bool | None = None
    pulling: bool | None = None
    sweaty_pale: bool | None = None
    confused: bool | None = None
    grade: str | None = None
    clots: Clots | None = None
    drainage: str = ""
    drainage_mode: Literal["in_bag", "emptied"] = "in_bag"
    drainage_in: Literal["ml", "g"] = "ml"
    drainage_left: str = ""
    drainage_found_full: bool = False
    left: dict[str, str] = field(default_factory=dict)
    levels_in: Literal["ml", "g"] = "ml"
    run_in: str = ""
    run_in_since: datetime | None = None
    rate: str = ""
    rate_in: Literal["ml_per_h", "drops_per_min", "setting"] = "ml_per_h"
    drops_per_ml: str = ""
    note: str = ""
    for_whom: str | None = None
    kept: dict[str, str] = field(default_factory=dict)
    check: str = ""
    ids: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.check = self.check or new_id(self.at)

    def id_of(self, name: str) -> str:
        """The id of the entry that this field becomes; the same at every asking."""
        return self.ids.setdefault(name, new_id(self.at))

    def is_late(self, now: datetime) -> bool:
        """Whether it is typed so long after it was read that the chart marks it "late entry"."""
        return now - self.at >= LATE_AFTER

    def move_to(self, session: str) -> None:
        """The whole check belongs to another bed. Ids are made anew, so that nothing is mixed up."""
        self.session = session
        self.ids = {}
        self.kept = {}
        self.check = new_id(self.at)

    def to_events(self, now: datetime) -> tuple[list[Event], list[Refusal]]:
        """The events of this check, typed at ``now``, and what cannot be read, by field name.

        Levels carry the name ``left.<line>``. Events are only to be saved where nothing is refused.
        """
        return _Reading(self, now).read()


class _Reading:
    """One pass over a slip."""

    def __init__(self, entry: CheckEntry, now: datetime) -> None:
        self.entry = entry
        self.now = now
        self.events: list[Event] = []
        self.refusals: list[Refusal] = []

    def read(self) -> tuple[list[Event], list[Refusal]]:
        self._look()
        self._comfort()
        self._colour()
        self._drainage()
        self._levels()
        self._run_in()
        self._rate()
        if self.entry.note.strip():
            self._add("note", Note, text=self.entry.note.strip())
        for finding, reason in self.entry.kept.items():
            if reason.strip():
                self._add(
                    f"kept.{finding}", Answered, finding=finding, answer="confirmed", reason=reason.strip()
                )
            else:
                self._refuse(f"kept.{finding}", "refuse-reason-missing", "write-reason")
        if not self.events and not self.refusals:
            self._refuse("running", "refuse-empty-check", "write-anything-seen")
        return self.events, self.refusals

    def _refuse(self, name: str, what: str, write: str, **facts: Any) -> None:
        self.refusals.append(Refusal(say("place-check-slip"), 0, 0, name, say(what, **facts), say(write)))

    def _add(self, name: str, kind: type[Event], **fields: Any) -> None:
        entry = self.entry
        common: dict[str, Any] = {
            "session": entry.session,
            "at": entry.at,
            "recorded": self.now,
            "id": entry.id_of(name),
            "check": entry.check,
        }
        if entry.by is not None:
            common["by"] = entry.by
        if entry.for_whom:
            common["for_whom"] = entry.for_whom
        try:
            self.events.append(kind(**common, **fields))
        except ValidationError as wrong:
            for fault in said_wrong(wrong, kind, fields, place="place-check-slip"):
                self.refusals.append(replace(fault, field=name))

    def _figure(self, name: str, typed: str, *, doubtful: bool = True) -> Figure | None:
        try:
            return read_figure(typed, doubtful=doubtful)
        except Unreadable:
            write = "write-volume" if doubtful else "write-number"
            self._refuse(name, "refuse-no-figure", write, typed=typed.strip())
            return None

    def _look(self) -> None:
        how = self.entry.running
        if how is not None:
            self._add("running", OutflowSeen, running=how != "none", how=how)

    def _comfort(self) -> None:
        entry = self.entry
        said: dict[str, Any] = {}
        names = ("spasm", "urge", "abdomen", "restless", "pulling", "sweaty_pale", "confused")
        said.update({name: getattr(entry, name) for name in names if getattr(entry, name) is not None})
        if entry.comfort == "comfortable":
            said["pain"] = 0
        elif entry.comfort == "cannot_say":
            said["pain"] = "cannot_say"
        elif entry.pain.strip():
            if not re.fullmatch(r"\d{1,2}", entry.pain.strip(), re.ASCII) or int(entry.pain) > 10:
                self._refuse("pain", "refuse-no-pain-number", "write-pain", typed=entry.pain.strip())
                return
            said["pain"] = int(entry.pain)
        elif entry.comfort == "not_comfortable" and not said:
            self._refuse("pain", "refuse-pain-missing", "write-pain")
            return
        if said:
            self._add("comfort", Symptoms, **said)

    def _colour(self) -> None:
        entry = self.entry
        if entry.grade is not None:
            clots = {} if entry.clots is None else {"clots": entry.clots}
            self._add("grade", EffluentGraded, grade=entry.grade, **clots)
        elif entry.clots is not None:
            self._refuse("grade", "refuse-clots-without-colour", "write-colour")

    def _drainage(self) -> None:
        entry = self.entry
        figure = self._figure("drainage", entry.drainage)
        left = self._figure("drainage_left", entry.drainage_left, doubtful=False)
        full = {"found_full": True} if entry.drainage_found_full else {}
        if figure is None:
            if (entry.drainage_found_full or left is not None) and not entry.drainage.strip():
                self._refuse("drainage", "refuse-drainage-missing", "write-volume")
            return
        if entry.drainage_mode == "emptied":
            name = "mass_g" if entry.drainage_in == "g" else "volume"
            rest = {} if left is None else {"left_ml": left.value}
            self._add("drainage", DrainageEmptied, **figure.fields(name), **rest, **full)
        else:
            name = "mass_g" if entry.drainage_in == "g" else "contents_ml"
            self._add("drainage", DrainageRead, **figure.fields(name), **full)

    def _levels(self) -> None:
        name = "left_g" if self.entry.levels_in == "g" else "left_ml"
        for line, typed in self.entry.left.items():
            figure = self._figure(f"left.{line}", typed)
            if figure is not None:
                self._add(f"left.{line}", BagRead, line=line, **figure.fields(name))

    def _run_in(self) -> None:
        figure = self._figure("run_in", self.entry.run_in)
        if figure is not None:
            since = {} if self.entry.run_in_since is None else {"since": self.entry.run_in_since}
            self._add("run_in", IrrigantRunIn, **figure.fields("volume"), **since)

    def _rate(self) -> None:
        entry = self.entry
        typed = entry.rate.strip()
        if not typed:
            return
        if entry.rate_in == "setting":
            if typed not in ("off", "slow", "moderate", "fast", "wide_open"):
                self._refuse("rate", "refuse-no-setting", "write-setting", typed=typed)
                return
            self._add("rate", InflowSet, setting=typed)
            return
        figure = self._figure("rate", typed, doubtful=False)
        if figure is None:
            return
        if entry.rate_in == "ml_per_h":
            self._add("rate", InflowSet, ml_per_h=figure.value)
            return
        per_ml = self._figure("drops_per_ml", entry.drops_per_ml, doubtful=False)
        if per_ml is None and not entry.drops_per_ml.strip():
            self._refuse("drops_per_ml", "refuse-drop-size-missing", "write-drop-size")
        elif per_ml is not None:
            self._add("rate", InflowSet, drops_per_min=figure.value, drops_per_ml=per_ml.value)


def last_colour(ledger: Ledger) -> tuple[str, str | None] | None:
    """The grade and clots charted last, for the slip's "same as before" key; None where none is charted."""
    graded = ledger.of(EffluentGraded)
    return (graded[-1].grade, graded[-1].clots) if graded else None
