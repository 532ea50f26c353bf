"""One pure function a condition. ``judge`` asks all of them about one bed at one instant; nothing polls."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from cbi_monitor.alerts.conditions import catheter, colour, due, outflow, patient, supplies, urine
from cbi_monitor.alerts.conditions.bed import Bed, Outcome
from cbi_monitor.alerts.readings import Figures, Judgement, Reading
from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.model.instants import utc

if TYPE_CHECKING:
    from cbi_monitor.ledger.ledger import Ledger

CONDITIONS: Mapping[str, Callable[[Bed], Outcome]] = {
    "retention": outflow.retention,
    "no_outflow": outflow.no_outflow,
    "look_due": due.look_due,
    "check_due": due.check_due,
    "distress": patient.distress,
    "leakage": outflow.leakage,
    "bladder_scan": outflow.bladder_scan,
    "repeated_washouts": outflow.repeated_washouts,
    "colour_deepening": colour.colour_deepening,
    "bleeding_on": colour.bleeding_on,
    "clots": colour.clots,
    "bag_running_out": supplies.bag_running_out,
    "bag_dry": supplies.bag_dry,
    "drainage_filling": supplies.drainage_filling,
    "inflow_off": supplies.inflow_off,
    "low_urine": urine.low_urine,
    "high_urine": urine.high_urine,
    "unrecorded_volume": urine.unrecorded_volume,
    "absorption": patient.absorption,
    "blood_loss": patient.blood_loss,
    "wrong_fluid": supplies.wrong_fluid,
    "drainage_clamped_running": outflow.drainage_clamped_running,
    "catheter_out": catheter.catheter_out,
    "catheter_mismatch": catheter.catheter_mismatch,
    "traction_overdue": due.traction_overdue,
    "away_overdue": due.away_overdue,
}
"""Every condition that is judged off the ledger, by name, in the order of the screens' help."""

OFF_THE_COURSE = ("comes_and_goes",)
"""Conditions that are judged off the course of the alerts themselves (``advance`` asks them)."""

ALL_CONDITIONS: tuple[str, ...] = (*CONDITIONS, *OFF_THE_COURSE)


def judge(ledger: Ledger, thresholds: Thresholds, now: datetime) -> Judgement:
    """All readings and tasks of a bed at ``now``, and the earliest later instant at which they differ by themselves.

    ``now`` must not lie before the last entry that the ledger holds. A closed or transferred session has no readings.
    """
    now = utc(now)
    bed = Bed(ledger, thresholds, now)
    if bed.closed:
        return Judgement(now, (), (), None, closed=True)
    readings: list[Reading] = []
    next_change: datetime | None = bed.standing.next_change
    if next_change is not None and next_change <= now:
        next_change = None
    for condition in CONDITIONS.values():
        outcome = condition(bed)
        if (
            outcome.changes_at is not None
            and now < outcome.changes_at
            and (next_change is None or outcome.changes_at < next_change)
        ):
            next_change = outcome.changes_at
        for reading in outcome.readings:
            readings.append(reading)
            at = reading.changes_at
            if at is not None and now < at and (next_change is None or at < next_change):
                next_change = at
    for task in bed.tasks:
        for at in (task.due, task.overdue_at):
            if at is not None and now < at and (next_change is None or at < next_change):
                next_change = at
    return Judgement(now, tuple(readings), bed.tasks, next_change, _figures(bed))


def _figures(bed: Bed) -> Figures:
    behind, hold = bed.standing.behind, bed.standing.may_hold
    return Figures(
        behind_ml=None if behind is None else behind.ml,
        behind_u_ml=None if behind is None else behind.u_ml,
        behind_since=None if behind is None else behind.since,
        may_hold=hold.at_close if hold.cannot_tell in ("", "blind") else None,
        as_of=hold.as_of if behind is None else behind.as_of,
        limit_ml=bed.standing.limit_ml,
    )
