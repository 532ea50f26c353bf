"""The balance of a chart by plain sums of levels and emptied volumes, as one would do it with a pencil.

Knows nothing of the ledger: no visits, no doubt, no findings. Corrections are laid over first. Volumes in mL.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from cbi_monitor.model.canonical import payload_of
from cbi_monitor.model.events import Event
from cbi_monitor.model.ward import WardRules

FIRST_READ = ("bag_read", "drainage_read", "bag_down", "drainage_emptied", "bag_hung", "drainage_bag_placed")


@dataclass
class Pencil:
    """Sums so far: what ran in and was washed in, what drained and was washed back."""

    ward: WardRules
    ran_in: float = 0.0
    washed_in: float = 0.0
    emptied: float = 0.0
    contents: float = 0.0
    washed_back: float = 0.0
    levels: dict[str, float] = field(default_factory=dict)
    labels: dict[str, float] = field(default_factory=dict)
    capacity: float = 0.0

    def bag(self, entry: dict[str, Any], label: float) -> float:
        """What an irrigant bag holds: as read, or by weight less its tare."""
        if "left_ml" in entry:
            return float(entry["left_ml"])
        if entry.get("found_empty"):
            return 0.0
        grams = entry.get("left_g", entry.get("measured_g"))
        if grams is None:
            return label
        return (grams - self.ward.sizes.irrigant_tare_g[f"{label:g}"]) / self.ward.fluids[
            "saline_0_9"
        ].density

    def drained(self, entry: dict[str, Any], name: str) -> float:
        """What the drainage bag holds or gave."""
        if name in entry:
            return float(entry[name])
        tare = self.ward.sizes.drainage_tare_g[f"{self.capacity:g}"]
        return (entry["mass_g"] - tare) / self.ward.drained_density

    def take(self, entry: dict[str, Any]) -> None:
        """One entry more."""
        kind, line = entry["event"], entry.get("line", "")
        if kind in {"bag_read", "bag_down"}:
            now = self.bag(entry, self.labels[line])
            self.ran_in += self.levels[line] - now
            self.levels[line] = now
            if kind == "bag_down":
                del self.levels[line]
        elif kind == "bag_hung":
            self.ran_in += self.levels.get(line, 0.0)
            self.labels[line] = entry["label_ml"]
            self.levels[line] = self.bag(entry, entry["label_ml"])
        elif kind == "drainage_bag_placed":
            self.capacity, self.contents = entry["capacity_ml"], entry.get("contents_ml", 0.0)
        elif kind == "drainage_read":
            self.contents = self.drained(entry, "contents_ml")
        elif kind == "drainage_emptied":
            self.emptied += self.drained(entry, "volume")
            self.contents = 0.0
        elif kind == "washout":
            self.washed_in += entry.get("instilled_ml", entry.get("pushes", 0) * entry.get("syringe_ml", 0))
            self.washed_back += entry.get("returned_ml", 0.0)

    @property
    def totals(self) -> tuple[float, float, float, float]:
        """(ran in, washed in, drained, washed back)."""
        return self.ran_in, self.washed_in, self.emptied + self.contents, self.washed_back


def corrected(events: Iterable[Event]) -> list[tuple[datetime, dict[str, Any]]]:
    """Every entry as it stands after its corrections, by time and in the order of reading before changing."""
    entries = {event.id: (event.at, payload_of(event)) for event in events}
    for _, entry in list(entries.values()):
        if entry["event"] == "corrected":
            entries[entry["target"]][1].update(entry["fields"])
    order = {kind: place for place, kind in enumerate(FIRST_READ)}
    return sorted(entries.values(), key=lambda one: (one[0], order.get(one[1]["event"], 9)))


def totals_at(events: Iterable[Event], ward: WardRules, instants: list[datetime]) -> list[tuple[float, ...]]:
    """The four sums at each instant (in order), with everything that is charted up to it."""
    pencil, found = Pencil(ward), []
    rest = corrected(events)
    for instant in instants:
        while rest and rest[0][0] <= instant:
            pencil.take(rest.pop(0)[1])
        found.append(pencil.totals)
    return found
