"""Conditions of the patient: distress, absorption, blood loss. Charted values only, each with its age."""

from __future__ import annotations

from datetime import datetime, timedelta

from cbi_monitor.alerts.conditions.bed import NOTHING, Bed, Comfort, Outcome
from cbi_monitor.alerts.readings import Priority, Reading, worse
from cbi_monitor.ledger.account import Sight
from cbi_monitor.model.events import BladderScanned, LabResult, Symptoms
from cbi_monitor.model.findings import Fact
from cbi_monitor.model.instants import utc

HB_NAMES = ("hb", "haemoglobin", "hemoglobin")
NA_NAMES = ("na", "sodium")


def distress(bed: Bed) -> Outcome:
    """Pain, a hard or full abdomen, new restlessness: high unless steady outflow was seen afterwards.

    No pain charted reassures nobody while the patient cannot say, or a block numbs.
    """
    th, comfort = bed.th.distress, bed.comfort
    if comfort.at is None:
        return NOTHING
    pain = comfort.pain if isinstance(comfort.pain, int) else 0
    restless = comfort.restless or comfort.pulling
    restless_new = restless and _restless_is_new(bed)
    points = max(pain, th.restless_counts_as_points) if restless_new else pain
    steady = bed.standing.steady
    abdomen = comfort.abdomen in ("full", "hard") and not _settled(
        comfort, steady, th.clears_below_pain_points
    )
    marks = [comfort.abdomen_at if abdomen else None, comfort.pain_at, comfort.flags_at]
    as_of = max(at for at in (marks if any(marks) else [comfort.at]) if at is not None)
    evidence = [
        at
        for holds, at in (
            (pain >= th.clears_below_pain_points, comfort.pain_at),
            (restless or comfort.spasm, comfort.flags_at),
            (abdomen, comfort.abdomen_at),
        )
        if holds and at is not None
    ]
    if not evidence:
        return NOTHING
    seen_after = steady is not None and steady.at >= max(evidence)
    severe = points >= th.high_pain_points or abdomen
    priority: Priority | None = None
    if severe and not seen_after:
        priority = "high"
    elif severe or pain >= th.medium_pain_points or comfort.spasm or restless:
        priority = "medium"
    keeps: Priority | None = None
    if pain >= th.clears_below_pain_points:
        keeps = "high" if pain >= th.high_pain_points - 1 and not seen_after else "medium"
    facts: dict[str, Fact] = {
        "pain": comfort.pain if comfort.pain is not None else -1,
        "spasm": comfort.spasm,
        "restless": restless,
        "abdomen": comfort.abdomen or "",
        "seen_steady": seen_after,
        "numb": comfort.numb,
        "as_of": utc(as_of),
    }
    unclear = comfort.numb or comfort.pain == "cannot_say"
    says = "alert-distress-says-cannot-say" if unclear else "alert-distress-says"
    reading = Reading(
        "distress",
        "patient",
        priority,
        says,
        "first-act-distress-seen" if seen_after else "first-act-distress",
        facts,
        keeps,
        as_of=utc(as_of),
        since=utc(min(evidence)),
    )
    return Outcome((reading,))


def _settled(comfort: Comfort, steady: Sight | None, below: int) -> bool:
    """A full or hard abdomen is taken back without being felt again.

    By steady outflow seen later, and a patient who later says, and can say, that there is no pain.
    """
    if (
        comfort.abdomen_at is None
        or comfort.pain_at is None
        or comfort.numb
        or not isinstance(comfort.pain, int)
    ):
        return False
    if steady is None or steady.at <= comfort.abdomen_at or comfort.pain_at <= comfort.abdomen_at:
        return False
    return comfort.pain < below


def _restless_is_new(bed: Bed) -> bool:
    """Nobody charted restlessness in the hours before the present spell of it began."""
    th, first = bed.th.distress, None
    for event in bed.back(Symptoms, bed.ago(hours=24)):
        if event.restless or event.pulling:
            if first is not None and first - event.at > timedelta(minutes=th.restless_new_after_minutes):
                break
            first = event.at
    return first is not None and bed.now - first <= timedelta(minutes=th.restless_new_after_minutes)


def _signs_of_absorption(bed: Bed) -> dict[str, bool]:
    th = bed.th.absorption
    found: dict[str, bool] = {}
    since = bed.younger(timedelta(minutes=th.vitals_count_for_minutes))
    for event in bed.back(Symptoms, since):
        for name in ("confused", "nausea", "breathless", "shoulder_tip_pain"):
            said = getattr(event, name)
            if said is not None:
                found.setdefault(name, said)
    if bed.comfort.abdomen == "hard":
        found["hard_abdomen"] = True
    systolic = bed.vital("systolic", th.vitals_count_for_minutes)
    pulse = bed.vital("pulse", th.vitals_count_for_minutes)
    found["systolic"] = systolic is not None and systolic.value < th.systolic_below_mmhg
    found["pulse"] = pulse is not None and pulse.value < th.pulse_below_per_min
    sodium = next(bed.labs(*NA_NAMES), None)
    if sodium is not None:
        baseline = bed.detail("baseline_na")
        fell = baseline is not None and baseline - sodium.value >= th.sodium_fell_mmol_per_l
        found["sodium"] = sodium.value < th.sodium_below_mmol_per_l or fell
    return {name: holds for name, holds in found.items() if holds}


def absorption(bed: Bed) -> Outcome:
    """Fluid has gone somewhere other than the bag, and by scan or touch and a steady drip not into the bladder."""
    th, behind = bed.th.absorption, bed.standing.behind
    if behind is None:
        says = "alert-absorption-says-unknown"
        return Outcome((Reading("absorption", "patient", None, says, "first-act-absorption", keeps="high"),))
    part = th.electrolyte_free_part if _electrolyte_free(bed) else 1.0
    if behind.ml < th.clears_below_ml * part:
        return NOTHING
    scan, steady = bed.last(BladderScanned), bed.standing.steady
    changes = []
    small = False
    if scan is not None and scan.volume_ml < th.scan_below_ml:
        until = utc(scan.at) + timedelta(minutes=th.scan_counts_for_minutes)
        small = until > bed.now
        if small:
            changes.append(until)
    soft = (
        bed.comfort.abdomen == "soft"
        and bed.comfort.abdomen_at is not None
        and bed.comfort.abdomen_at >= behind.since
    )
    drips = steady is not None and steady.at >= behind.as_of - bed.visit and bed.standing.seen is not None
    drips = drips and bed.standing.seen is not None and bed.standing.seen.how == "steady"
    signs = _signs_of_absorption(bed)
    enough = behind.ml >= th.medium_from_ml * part and behind.ml >= th.needs_u * behind.u_ml
    priority: Priority | None = None
    if enough and signs:
        priority = "high"
        changes.extend(_signs_end(bed))
    elif enough and (small or soft) and drips:
        priority = "medium"
    facts: dict[str, Fact] = {
        "behind_ml": behind.ml,
        "behind_u_ml": behind.u_ml,
        "since": utc(behind.since),
        "as_of": utc(behind.as_of),
        "electrolyte_free": part < 1,
        "signs": len(signs),
        **{f"sign_{name}": True for name in signs},
    }
    act = "first-act-absorption-signs" if priority == "high" else "first-act-absorption"
    reading = Reading(
        "absorption",
        "patient",
        priority,
        "alert-absorption-says-signs" if signs else "alert-absorption-says",
        act,
        facts,
        keeps="medium",
        as_of=utc(behind.as_of),
        since=utc(behind.since),
        changes_at=min(changes) if changes else None,
    )
    return Outcome((reading,))


def _signs_end(bed: Bed) -> list[datetime]:
    th = bed.th.absorption
    span = timedelta(minutes=th.vitals_count_for_minutes)
    vitals = [bed.vital(name, th.vitals_count_for_minutes) for name in ("systolic", "pulse")]
    seen = [vital.at for vital in vitals if vital is not None]
    seen += [event.at for event in bed.back(Symptoms, bed.younger(span))]
    return [utc(at) + span for at in seen]


def _electrolyte_free(bed: Bed) -> bool:
    fluids = [bed.ward.fluids.get(line.fluid) for line in bed.standing.lines]
    return any(fluid is not None and fluid.electrolyte_free for fluid in fluids)


def haemoglobin_g_per_l(result: LabResult) -> float | None:
    """The value in g/L; None for a unit that is not known."""
    unit = result.unit.replace(" ", "").casefold()
    if unit == "g/l":
        return result.value
    if unit in ("g/dl", "g%"):
        return result.value * 10
    if unit == "mmol/l":
        return result.value * 16.114  # monomer, g/mmol; common laboratory factor, from memory, not looked up
    return None


def blood_loss(bed: Bed) -> Outcome:
    """Haemoglobin fell from its baseline, or is low; nothing is reckoned from colour."""
    th = bed.th.blood_loss
    newest = next(((r, hb) for r in bed.labs(*HB_NAMES) if (hb := haemoglobin_g_per_l(r)) is not None), None)
    if newest is None:
        return NOTHING
    result, hb = newest
    baseline = bed.detail("baseline_hb")
    if baseline is None:
        values = [value for r in bed.labs(*HB_NAMES) if (value := haemoglobin_g_per_l(r)) is not None]
        baseline = values[-1]
    fell = baseline - hb
    priority: Priority | None = None
    if fell >= th.high_fell_g_per_l or hb < th.high_below_g_per_l:
        priority = "high"
    elif fell >= th.medium_fell_g_per_l:
        priority = "medium"
    slack = (th.high_fell_g_per_l - th.medium_fell_g_per_l) / 2
    keeps: Priority | None = None
    if fell >= th.high_fell_g_per_l - slack or hb < th.high_below_g_per_l + slack:
        keeps = "high"
    if fell >= th.medium_fell_g_per_l - slack:
        keeps = worse(keeps, "medium")
    if priority is None and keeps is None:
        return NOTHING
    facts: dict[str, Fact] = {"hb": hb, "baseline": baseline, "fell": fell, "at": utc(result.at)}
    reading = Reading(
        "blood_loss",
        "haemoglobin",
        priority,
        "alert-blood-loss-says",
        "first-act-blood-loss",
        facts,
        keeps,
        as_of=utc(result.at),
        since=utc(result.at),
    )
    return Outcome((reading,))
