"""One practice bed with the real watch in the loop: the nurse answers looks and alerts, the truth is known."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from cbi_monitor.alerts.replay import Watch
from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.model.ward import EffluentScale, WardRules
from cbi_monitor.practice import Scene, Sitting

NOT_DRAINING = ("retention", "no_outflow")
OF_VOLUMES = ("retention", "unrecorded_volume", "absorption")


@dataclass(slots=True)
class Raise:
    """One alert as it was raised: what, how urgent, when, whether another speaks for it, and where the truth stood."""

    condition: str
    priority: str
    at: datetime
    spoken: bool
    bladder_ml: float
    facts: dict[str, object]


@dataclass(slots=True)
class Night:
    """What came of one bed. ``hours`` is how long it was watched, until the block where there was one."""

    name: str
    seed: int
    hours: float
    alerts: list[Raise] = field(default_factory=list)
    block_at: datetime | None = None
    found_ml: float | None = None
    found_minutes: float | None = None
    found_by: str = ""
    worst_ml: float = 0.0
    looks: int = 0
    checks: int = 0
    cleared: list[tuple[str, datetime]] = field(default_factory=list)
    forgotten: list[tuple[str, datetime, float]] = field(default_factory=list)
    asked: list[tuple[str, datetime, dict[str, object]]] = field(default_factory=list)
    urine: list[tuple[float, float | None, float | None, float | None, str]] = field(default_factory=list)
    start: datetime | None = None

    @property
    def false(self) -> int:
        """Raised ``retention`` and ``no_outflow`` that no block lay behind."""
        return sum(
            one.condition in NOT_DRAINING and (self.block_at is None or one.at < self.block_at)
            for one in self.alerts
        )


def live(
    name: str,
    scene: Scene,
    seed: int,
    ward: WardRules,
    scale: EffluentScale,
    thresholds: Thresholds,
    *,
    looks: bool,
    stop_when_found: bool = True,
    urine_every_h: float = 0.0,
) -> Night:
    """A bed from opening to end, or until the block of the scene is found.

    ``looks``: asked-for looks and checks are answered, and every alert of high or medium priority brings the nurse.
    Without, only an alert about volumes does: nobody comes for a late look and finds the block by chance.
    """
    sitting = Sitting(scene, seed)
    watch = Watch(scene.session, ward, scale, thresholds)
    night = Night(name, seed, scene.hours, start=sitting.start)
    if scene.troubles:
        night.block_at = sitting.start + timedelta(hours=scene.troubles[0].at_h)
        night.hours = scene.troubles[0].at_h
    end = sitting.start + timedelta(hours=scene.hours)
    next_urine = urine_every_h
    while True:
        at = _least(sitting.next_at(), watch.next_change)
        if at is None or at > end:
            break
        events = sitting.until(at)
        for change in watch.step(events, at):
            state = change.state
            if change.kind == "cleared":
                night.cleared.append((state.condition, change.at))
            if change.kind not in {"raised", "worse"}:
                continue
            truly = sitting.bladder_ml(change.at)
            night.worst_ml = max(night.worst_ml, truly)
            if change.kind == "raised":
                night.alerts.append(
                    Raise(
                        state.condition,
                        state.priority,
                        change.at,
                        state.spoken_by is not None,
                        truly,
                        dict(state.reading.facts),
                    )
                )
            blocked = night.block_at is not None and change.at >= night.block_at
            if blocked and state.condition in NOT_DRAINING and night.found_ml is None:
                night.found_ml, night.found_by = truly, f"{state.condition}, {state.reading.says}"
                night.found_minutes = (change.at - night.block_at).total_seconds() / 60
                if stop_when_found:
                    return _close(night, sitting, watch)
            calls = looks or state.condition in NOT_DRAINING or state.condition in OF_VOLUMES
            if state.priority in {"high", "medium"} and calls:
                sitting.alert_raised(change.at, volumes=state.condition in OF_VOLUMES)
        if looks and watch.judgement is not None:
            due = {task.kind for task in watch.judgement.tasks if task.due <= at}
            if "check" in due:
                sitting.check_asked(at)
            elif "look" in due:
                sitting.look_asked(at)
        if urine_every_h and (at - sitting.start).total_seconds() / 3600 >= next_urine:
            next_urine += urine_every_h
            _note_urine(night, watch, thresholds, at)
    return _close(night, sitting, watch)


def _least(first: datetime | None, second: datetime | None) -> datetime | None:
    known = [one for one in (first, second) if one is not None]
    return min(known) if known else None


def _note_urine(night: Night, watch: Watch, thresholds: Thresholds, at: datetime) -> None:
    window = watch.ledger.urine(6.0)
    hour = (at - night.start).total_seconds() / 3600
    if window.per_kg is None:
        night.urine.append((hour, None, None, None, window.not_known))
    else:
        night.urine.append((hour, window.per_kg.low, window.per_kg.mid, window.per_kg.high, ""))


def _close(night: Night, sitting: Sitting, watch: Watch) -> Night:
    night.worst_ml = max([night.worst_ml, *(one.bladder_ml for one in sitting.bladder.series)])
    seen = [(at, ml) for at, ml in sitting.found if night.block_at is not None and at >= night.block_at]
    if night.found_ml is None and seen and night.block_at is not None:
        # drops only, and stopped at once: her own look found it before anything had to be said
        night.found_ml, night.found_by = seen[0][1], "her own look"
        night.found_minutes = (seen[0][0] - night.block_at).total_seconds() / 60
    night.looks = sum(task.kind == "look" for task in watch.tasks_asked)
    night.checks = sum(task.kind == "check" for task in watch.tasks_asked)
    night.forgotten = [(one.kind, one.at, one.ml) for one in sitting.forgotten]
    night.asked = [(one.kind, one.at, dict(one.facts)) for one in watch.ledger.findings if one.asks]
    return night


def ward_like(
    ward: WardRules,
    *,
    bag_half: float,
    bag_reader: float,
    jug_half: float,
    jug_reader: float,
    jug_part: float,
) -> WardRules:
    """The shipped ward with the marks and readers of a scene, as that ward's own file would say."""
    marks = ward.instruments.bag_marks.model_copy(update={"half_graduation": bag_half, "reader": bag_reader})
    drainage = ward.instruments.drainage_marks.model_copy(
        update={"half_graduation": bag_half, "reader": bag_reader}
    )
    jug = ward.instruments.jug.model_copy(
        update={"half_graduation": jug_half, "reader": jug_reader, "relative": jug_part}
    )
    instruments = ward.instruments.model_copy(
        update={"bag_marks": marks, "drainage_marks": drainage, "jug": jug}
    )
    return ward.model_copy(update={"instruments": instruments})


def careful_ward(ward: WardRules) -> WardRules:
    """Marks of 50 mL read with sd 25, a jug of 25 mL and 1.5 %."""
    return ward_like(ward, bag_half=25, bag_reader=25, jug_half=12.5, jug_reader=0, jug_part=0.015)


def night_ward(ward: WardRules) -> WardRules:
    """Marks of 100 mL read with sd 75 on both bags; an emptying is read off the same marks."""
    return ward_like(ward, bag_half=50, bag_reader=75, jug_half=50, jug_reader=75, jug_part=0)


def coarse_ward(ward: WardRules) -> WardRules:
    """Marks of 250 mL read with sd 75."""
    return ward_like(ward, bag_half=125, bag_reader=75, jug_half=125, jug_reader=75, jug_part=0)


WardFor = Callable[[WardRules], WardRules]
