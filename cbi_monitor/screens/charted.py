"""What was charted last at a bed, for showing: colour with the rate it was seen at, comfort, looks. No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from cbi_monitor.model.events import EffluentGraded, InflowSet, Symptoms
from cbi_monitor.model.ward import EffluentScale
from cbi_monitor.screens import says
from cbi_monitor.wording import say

VISIT = timedelta(minutes=10)


def rate_at(ledger: Any, at: datetime) -> float | None:
    """Irrigation in mL/h about an instant: by the row around it, else as set; None where neither is known."""
    for row in reversed(ledger.rows):
        if row.end < at - VISIT:
            break
        if row.start < at and row.irrigant_in_ml is not None and row.state != "questioned":
            hours = (row.end - row.start).total_seconds() / 3600.0
            if hours > 0:
                return float(row.irrigant_in_ml) / hours
    for event in reversed(ledger.of(InflowSet)):
        if event.at <= at:
            if event.ml_per_h is not None:
                return float(event.ml_per_h)
            if event.drops_per_min is not None and event.drops_per_ml is not None:
                return float(event.drops_per_min * 60.0 / event.drops_per_ml)
            return None
    return None


@dataclass(frozen=True, slots=True)
class Colour:
    """The colour charted last."""

    key: str
    word: str
    swatch: str | None
    clots: str | None
    at: datetime
    rate: float | None

    @property
    def clots_matter(self) -> bool:
        """Small and large clots stand out."""
        return self.clots in ("small", "large")


def colour(ledger: Any, scale: EffluentScale) -> Colour | None:
    """The colour charted last, with its rate; None where none is."""
    graded: Sequence[EffluentGraded] = ledger.of(EffluentGraded)
    if not graded:
        return None
    last = graded[-1]
    clots = next((event.clots for event in reversed(graded) if event.clots is not None), None)
    known = scale.grade(last.grade)
    return Colour(
        last.grade, known.word if known else last.grade, known.swatch if known else None, clots, last.at,
        rate_at(ledger, last.at),
    )  # fmt: skip


def rate_words(rate: float | None) -> str:
    """``at 620 mL/h``, to ten; or that the rate is not known."""
    return say("screens-rate-unknown") if rate is None else say("screens-at-rate", rate=says.about_ten(rate))


def clots_words(clots: str | None) -> str:
    """The word for the clots charted last."""
    return say(f"screens-clots-{clots}") if clots else say("screens-clots-unknown")


SIGNS = (
    "spasm",
    "restless",
    "pulling",
    "sweaty_pale",
    "confused",
    "nausea",
    "breathless",
    "shoulder_tip_pain",
)


@dataclass(frozen=True, slots=True)
class Comfort:
    """How the patient was at the last asking: in words, when, and whether it asks for an eye."""

    words: str
    at: datetime
    matters: bool


def comfort(ledger: Any) -> Comfort | None:
    """What the patient said and showed last; None where nobody charted it."""
    said: Sequence[Symptoms] = ledger.of(Symptoms)
    if not said:
        return None
    return comfort_of(said[-1])


def comfort_of(last: Symptoms) -> Comfort:
    """One charting of the patient's comfort in words."""
    parts: list[str] = []
    signs = [name for name in SIGNS if getattr(last, name)]
    if last.pain == "cannot_say":
        parts.append(say("screens-pain-cannot-say"))
    elif last.pain is not None and last.pain > 0:
        parts.append(say("screens-pain", n=last.pain))
    if last.abdomen in ("full", "hard"):
        parts.append(say(f"screens-abdomen-{last.abdomen}"))
    parts.extend(say(f"screens-sign-{name.replace('_', '-')}") for name in signs)
    matters = (
        bool(signs) or last.abdomen in ("full", "hard") or (isinstance(last.pain, int) and last.pain > 3)
    )
    if not parts:
        parts.append(say("screens-comfortable") if last.pain == 0 else say("screens-comfort-noted"))
    return Comfort(", ".join(parts), last.at, matters)


def seen_words(standing: Any, zone: Any, now: datetime) -> str:
    """``seen draining 13:12, J.O.`` or that nobody charted it."""
    steady = standing.steady
    if steady is None:
        return say("screens-never-seen")
    by = steady.by or say("screens-no-name")
    return say("screens-seen", at=says.clock(steady.at, zone, now), by=by)
