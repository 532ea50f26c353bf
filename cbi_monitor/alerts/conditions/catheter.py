"""Conditions of the catheter: out unplanned, or one that does not suit."""

from __future__ import annotations

from cbi_monitor.alerts.conditions.bed import NOTHING, Bed, Outcome
from cbi_monitor.alerts.readings import Priority, Reading
from cbi_monitor.model.events import Called, CatheterPlaced, CatheterRemoved
from cbi_monitor.model.findings import Fact
from cbi_monitor.model.instants import utc


def catheter_out(bed: Bed) -> Outcome:
    """The catheter came out unplanned. Clears with a new one, or when somebody was reached and the inflow is off."""
    removed = bed.last(CatheterRemoved)
    if removed is None or removed.reason not in bed.th.catheter_out.unplanned_reasons:
        return NOTHING
    placed = bed.last_at(CatheterPlaced)
    if placed is not None and placed > removed.at:
        return NOTHING
    called = next((call for call in bed.back(Called, removed.at) if not call.no_answer), None)
    if called is not None and not bed.standing.inflow_on:
        return NOTHING
    facts: dict[str, Fact] = {
        "at": utc(removed.at),
        "reason": removed.reason,
        "inflow_on": bed.standing.inflow_on,
    }
    reading = Reading(
        "catheter_out",
        "catheter",
        "high",
        "alert-catheter-out-says",
        "first-act-catheter-out",
        facts,
        as_of=utc(removed.at),
        since=utc(removed.at),
    )
    return Outcome((reading,))


def catheter_mismatch(bed: Bed) -> Outcome:
    """The catheter does not suit: material and allergy, two ways with irrigation, small gauge with clots. Said once."""
    th, catheter = bed.th.catheter_mismatch, bed.catheter
    if catheter is None:
        return NOTHING
    found: list[tuple[Priority, str, str]] = []
    allergies = " ".join(bed.detail("allergies") or ()).casefold()
    material = catheter.material.casefold()
    for word in th.allergen_words:
        if (
            word.casefold() in allergies
            and word.casefold() in material
            and f"{word.casefold()}-free" not in material
        ):
            found.append(("high", "allergy", "first-act-catheter-allergy"))
            break
    if catheter.ways == 2 and bed.standing.inflow_on:
        found.append(("medium", "ways", "first-act-catheter-ways"))
    if catheter.french < th.low_below_french and bed.clots_now in ("small", "large"):
        found.append(("low", "gauge", "first-act-catheter-gauge"))
    facts: dict[str, Fact] = {
        "french": catheter.french,
        "ways": catheter.ways,
        "material": catheter.material,
        "placed_at": utc(catheter.at),
    }
    return Outcome(
        tuple(
            Reading(
                "catheter_mismatch",
                f"catheter {what}",
                priority,
                f"alert-catheter-mismatch-says-{what}",
                act,
                facts,
                keeps=priority,
                as_of=utc(catheter.at),
                since=utc(catheter.at),
                once=True,
            )
            for priority, what, act in found
        )
    )
