"""What a nurse does with bags: hanging, reading, taking down, emptying; each written down unless it is forgotten."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from cbi_monitor.model.events import BagDown, BagHung, BagRead, DrainageEmptied, DrainageRead
from cbi_monitor.practice.eyes import Eyes
from cbi_monitor.practice.scene import Scene


@dataclass(frozen=True, slots=True)
class Forgotten:
    """A volume that moved and was never written down."""

    at: datetime
    kind: str
    ml: float


class Hands(Eyes):
    """Handles the bags and charts them the ward's way."""

    def __init__(self, scene: Scene, seed: int, start: datetime) -> None:
        super().__init__(scene, seed, start)
        self.forgotten: list[Forgotten] = []
        self._emptyings = 0
        self._nominal = 0.0
        self._rate = 0.0

    def _hang(self, t: int, line: str, check: str | None, clamped: bool) -> None:
        scene, bladder = self.scene, self.bladder
        holds = bladder.hang(line)
        fields: dict[str, Any] = {"line": line, "label_ml": scene.bags.label_ml, "fluid": scene.bags.fluid}
        if clamped:
            fields["clamped"] = True
        if scene.habits.irrigant == "weighed":
            gross = holds * scene.bags.density + scene.bags.tare_g
            fields["measured_g"] = self._read(gross, scene.habits.scale)
        self._write(t, BagHung, check, **fields)

    def _read_bags(self, t: int, check: str) -> None:
        habits, bags, bladder = self.scene.habits, self.scene.bags, self.bladder
        if habits.irrigant == "whole_bags":
            return
        for line, left in bladder.left.items():
            if not bladder.open[line]:
                continue
            if habits.irrigant == "weighed":
                gross = left * bags.density + bags.tare_g
                self._write(t, BagRead, check, line=line, left_g=self._read(gross, habits.scale))
            else:
                self._write(
                    t, BagRead, check, line=line, left_ml=self._read(left, habits.bag_marks, bags.label_ml)
                )

    def _see_to_drainage(self, t: int, check: str, volumes: bool) -> None:
        habits, drainage, bladder = self.scene.habits, self.scene.drainage, self.bladder
        full = bladder.full_bag
        most = drainage.capacity_ml * drainage.brim
        at_mark = self._read(bladder.contents, habits.drainage_marks, most)
        gap = habits.plan.interval(self._nominal / 60.0)
        coming = at_mark + (self._rate + 100.0) * gap / 60.0
        due = at_mark >= drainage.capacity_ml * 2.0 / 3.0 or coming > 0.95 * drainage.capacity_ml
        if volumes and habits.drainage == "each_check":
            due = True
        if due or full:
            self._empty(t, check, at_mark, full)
        elif volumes:
            if habits.measures == "scale":
                gross = bladder.contents * drainage.density + drainage.tare_g
                self._write(t, DrainageRead, check, mass_g=self._read(gross, habits.scale))
            elif habits.irrigant != "whole_bags" or habits.measures == "marks":
                self._write(t, DrainageRead, check, contents_ml=at_mark)

    def _empty(self, t: int, check: str, at_mark: float, full: bool) -> None:
        habits, drainage = self.scene.habits, self.scene.drainage
        self._emptyings += 1
        true = self.bladder.empty()
        if self._emptyings in habits.forgets_nth_emptying or (
            habits.forgets_emptying and self._dice.random() < habits.forgets_emptying
        ):
            self.forgotten.append(Forgotten(self._when(t), "emptying", true))
            return
        fields: dict[str, Any] = {"found_full": True} if full else {}
        if habits.measures == "scale":
            gross = true * drainage.density + drainage.tare_g
            fields["mass_g"] = self._read(gross, habits.scale)
        elif habits.measures == "marks":
            fields["volume"] = at_mark
        else:
            fields["volume"] = self._read(true, habits.jug)
        self._write(t, DrainageEmptied, check, **fields)

    def _take_down(self, t: int, check: str, line: str, left: float) -> None:
        habits, bags = self.scene.habits, self.scene.bags
        if habits.irrigant == "whole_bags":
            return
        if left <= 0.0:
            self._write(t, BagDown, check, line=line, left_ml=0.0, found_empty=True)
        elif habits.irrigant == "weighed":
            gross = left * bags.density + bags.tare_g
            self._write(t, BagDown, check, line=line, left_g=self._read(gross, habits.scale))
        else:
            self._write(
                t, BagDown, check, line=line, left_ml=self._read(left, habits.bag_marks, bags.label_ml)
            )
