"""Counting. Figures of EEMUA 191 and ISA-18.2 as published: 1 in 10 min, more than 10 in 10 min a flood."""

from __future__ import annotations

from bedside import t

from cbi_monitor.alerts.backtest import chattering, floods, load_of
from cbi_monitor.alerts.life import AlertState, Answer, Raised
from cbi_monitor.alerts.readings import Figures, Priority, Reading
from cbi_monitor.alerts.replay import Asked, Replay


def alert(
    raised: float,
    cleared: float | None,
    condition: str = "retention",
    priority: Priority = "low",
    spoke: bool = True,
    **more: object,
) -> AlertState:
    reading = Reading(condition, "bladder", priority, "says", "act")
    first = Raised(t(raised), priority, reading, Figures())
    return AlertState(
        f"{condition}/{raised}", "s", condition, "bladder", priority, priority, t(raised), (first,), reading, Figures(),
        cleared_at=None if cleared is None else t(cleared), spoke_at=t(raised) if spoke else None, **more,  # type: ignore[arg-type]
    )  # fmt: skip


def session(*alerts: AlertState, hours: float = 24, tasks: tuple[Asked, ...] = ()) -> Replay:
    return Replay("s", t(0), t(hours * 60), alerts, tasks, (), True)


def test_per_patient_day_and_nurse_hour() -> None:
    load = load_of([session(alert(0, 10), alert(60, 70), hours=12), session(hours=36)], beds_per_nurse=4)
    assert (load.patient_hours, load.nurse_hours, load.total) == (48, 12, 2)
    assert load.per_patient_day == 1.0
    assert load.per_nurse_hour == 2 / 12
    assert load_of([]).per_patient_day is None


def test_by_condition_and_priority_and_the_silent_apart() -> None:
    load = load_of(
        [
            session(
                alert(0, 1, "retention", "high"),
                alert(5, 6, "clots"),
                alert(7, 8, "clots"),
                alert(9, 10, spoke=False),
            )
        ]
    )
    assert load.by_condition() == {"clots": 2, "retention": 1}
    assert load.by_priority() == {"high": 1, "medium": 0, "low": 2}
    assert load.silent == 1
    assert load.condition_per_patient_day("clots") == 2


def test_answered_with_an_act() -> None:
    act = Answer("a", t(1), "km", "seen", "looked", counts=True)
    bare = Answer("b", t(1), "km", "going", None, counts=True)
    load = load_of([session(alert(0, 9, answers=(act,)), alert(20, 29, answers=(bare,)), alert(40, 49))])
    assert (load.answered, load.acted, load.acted_share) == (2, 1, 1 / 3)


def test_standing_over_a_day_to_the_end_of_the_record() -> None:
    load = load_of([session(alert(0, None), alert(60 * 10, None), alert(0, 24 * 60), hours=30)])
    assert load.standing_over_a_day == 1


def test_a_flood_is_more_than_ten_in_ten_minutes() -> None:
    ten = [alert(m, m + 1) for m in range(10)]
    assert floods([session(*ten)], together=False) == []
    eleven = [*ten, alert(10, 11)]
    found = floods([session(*eleven)], together=False)
    assert [(f.start, f.end, f.count) for f in found] == [(t(0), t(10), 11)]
    halves = [session(*eleven[:6]), session(*eleven[6:])]
    assert floods(halves, together=False) == []
    assert len(floods(halves, together=True)) == 1


def test_chattering_is_three_times_running_soon_after_clearing() -> None:
    assert [c.count for c in chattering([alert(0, 5), alert(10, 15), alert(20, 25)])] == [3]
    assert chattering([alert(0, 5), alert(10, 15), alert(31, 35)]) == []
    assert chattering([alert(0, 20), alert(30, 50), alert(61, 65)]) == [], "not within an hour"
    assert chattering([alert(0, 5), alert(10, 15, "clots"), alert(20, 25)]) == []


def test_tasks_are_counted_apart() -> None:
    tasks = (
        Asked("look", "drip", t(15), t(0), t(20), t(19)),
        Asked("look", "drip", t(40), t(19), t(45), t(50)),
    )
    load = load_of([session(tasks=tasks)])
    assert (load.tasks, load.tasks_overdue, load.total) == ({"look": 2}, {"look": 1}, 0)
