"""The check plan and looks. Intervals are the shipped ward file's: common practice, no source."""

from __future__ import annotations

import pytest
from bedside import TH, Laid, ev, judge, line, look, t

from cbi_monitor.alerts.conditions.bed import Bed
from cbi_monitor.alerts.plan import Plan
from cbi_monitor.alerts.readings import Judgement
from cbi_monitor.model.events import (
    Away,
    Back,
    BagDown,
    BagHung,
    BagRead,
    CatheterPlaced,
    EffluentGraded,
    Event,
    InflowSet,
    InflowStarted,
    InflowStopped,
    OutflowSeen,
    SessionClosed,
    TractionOff,
    TractionOn,
    Washout,
)

HUNG = ev(BagHung, 0, line="A", label_ml=3000, fluid="saline_0_9")


def plan(minutes: float, *events: Event, **told: object) -> Plan:
    found = Bed(Laid(HUNG, *events, **told), TH, t(minutes)).plan  # type: ignore[arg-type]
    assert found is not None
    return found


def graded(minutes: float, grade: str = "pink", clots: str = "none") -> Event:
    event: Event = ev(EffluentGraded, minutes, grade=grade, clots=clots)
    return event


def at(minutes: float, *events: Event, **told: object) -> Judgement:
    return judge(Laid(HUNG, *events, **told), TH, t(minutes))  # type: ignore[arg-type]


def priority(judgement: Judgement, condition: str) -> str | None:
    return next((r.priority for r in judgement.readings if r.condition == condition), None)


@pytest.mark.parametrize(
    ("last", "due"), [(0, 15), (105, 120), (119, 134), (120, 150), (239, 269), (240, 300), (600, 660)]
)
def test_checks_close_after_arrival_and_wider_later(last: float, due: float) -> None:
    events = [graded(last)] if last else []
    assert plan(last + 1, *events).check_due == t(due)


def test_close_again_after_the_patient_came_back() -> None:
    away = ev(Away, 500, where="theatre", inflow="off")
    assert plan(601, away, ev(Back, 600)).check_due == t(615)


@pytest.mark.parametrize(
    "trouble",
    [
        [ev(Washout, 610, instilled_ml=50)],
        [ev(InflowStopped, 605), ev(InflowStarted, 610)],
        [ev(CatheterPlaced, 610, french=22, ways=3, tip="straight", material="silicone")],
        [ev(BagDown, 610, line="A", found_empty=True)],
        [ev(InflowSet, 300, ml_per_h=300), ev(InflowSet, 610, ml_per_h=600)],
        [ev(OutflowSeen, 610, running=False)],
    ],
)
def test_close_again_for_an_hour_after_trouble(trouble: list[Event]) -> None:
    assert plan(611, graded(600), *trouble).check_due == t(625)
    assert plan(641, graded(600), *trouble, graded(640)).check_due == t(655)
    assert plan(671, graded(600), *trouble, graded(670)).check_due == t(730)


def test_close_again_when_the_colour_is_a_step_darker() -> None:
    assert plan(601, graded(540, "pink"), graded(600, "red")).check_due == t(615)
    assert plan(601, graded(540, "red"), graded(600, "pink")).check_due == t(660)


def test_a_rate_lowered_is_no_trouble() -> None:
    assert plan(
        611, graded(600), ev(InflowSet, 300, ml_per_h=600), ev(InflowSet, 610, ml_per_h=300)
    ).check_due == t(660)


def test_never_longer_than_a_full_block_takes_but_not_below_the_shortest_interval() -> None:
    assert plan(601, graded(600), block_reaches_limit=t(633)).check_due == t(633)
    assert plan(601, graded(600), block_reaches_limit=t(607)).check_due == t(615)
    assert plan(601, graded(600), block_reaches_limit=t(633), inflow_on=False).check_due == t(660)


def test_a_look_is_asked_for_before_a_full_block_reaches_the_limit() -> None:
    """5 min to answer and 4 min for a block to form, before the limit."""
    seen = look(600)
    p = plan(601, graded(600), seen=seen, steady=seen, block_reaches_limit=t(640))
    assert (p.look_due, p.look_possible_since) == (t(631), None)


def test_looks_are_never_closer_or_wider_than_the_ward_says() -> None:
    seen = look(600)
    close = plan(601, graded(600), seen=seen, steady=seen, block_reaches_limit=t(612))
    assert (close.look_due, close.look_possible_since) == (t(615), t(612)), "both times are told"
    wide = plan(601, graded(600), seen=seen, steady=seen, block_reaches_limit=t(900))
    assert wide.look_due == t(660)
    red = plan(601, graded(600, "red"), seen=seen, steady=seen, block_reaches_limit=t(605))
    assert red.look_due == t(610)
    clots = plan(601, graded(600, "pink", "small"), seen=seen, steady=seen, block_reaches_limit=t(605))
    assert clots.look_due == t(610)


def test_a_check_answers_the_look_too() -> None:
    seen = look(600)
    assert plan(616, graded(615), seen=seen, steady=seen, block_reaches_limit=t(605)).look_due == t(630)


def test_without_a_limit_looks_stay_close() -> None:
    seen = look(600)
    assert plan(
        601, graded(600), seen=seen, steady=seen, limit_ml=None, limit_from="must_be_typed"
    ).look_due == t(615)


def test_looks_five_and_fifteen_minutes_after_a_restart() -> None:
    stop, start = ev(InflowStopped, 600, reason="not_draining"), ev(InflowStarted, 620)
    before, first, second = look(600), look(625), look(635)
    far = {"block_reaches_limit": t(900)}
    assert plan(621, graded(600), stop, start, seen=before, **far).look_due == t(625)
    assert plan(626, graded(600), stop, start, seen=first, **far).look_due == t(635)
    assert plan(636, graded(600), stop, start, seen=second, **far).look_due == t(695)


def test_a_look_soon_after_a_bag_was_found_dry() -> None:
    dry = ev(BagDown, 620, line="A", found_empty=True)
    seen = look(600)
    assert plan(621, graded(600), dry, seen=seen, block_reaches_limit=t(900)).look_due == t(625)


def test_nobody_is_sent_to_an_empty_bed() -> None:
    for events, told in (
        ([ev(Away, 10, where="scan", inflow="off")], {}),
        ([], {"catheter_in": False}),
        ([ev(SessionClosed, 10, reason="done")], {}),
    ):
        assert Bed(Laid(HUNG, *events, **told), TH, t(20)).plan is None  # type: ignore[arg-type]


@pytest.mark.parametrize(("last", "late_low"), [(100, 15 + 5), (200, 30 + 10), (600, 60 + 15)])
def test_grace_by_the_plan(last: float, late_low: float) -> None:
    seen = look(last)
    told = {"seen": seen, "steady": seen, "inflow": _rate(100)}
    before = at(last + late_low - 1, graded(last), **told)
    assert priority(before, "check_due") is None
    after = at(last + late_low, graded(last), **told)
    assert priority(after, "check_due") == "low"


def _rate(ml_per_h: float) -> object:
    from cbi_monitor.model.volumes import Range

    return Range(ml_per_h, ml_per_h, ml_per_h)


@pytest.mark.parametrize(
    ("rate", "grade", "last", "expected"),
    [
        (499, "pink", 600, "low"),
        (500, "pink", 600, "medium"),
        (100, "red", 600, "medium"),
        (100, "pink", 100, "medium"),
    ],
)
def test_twice_the_grace_is_medium_when_fast_red_or_young(
    rate: float, grade: str, last: float, expected: str
) -> None:
    seen = look(last)
    late = {600: 60 + 30, 100: 15 + 10}[last]
    told = {"seen": seen, "steady": seen, "inflow": _rate(rate)}
    assert priority(at(last + late - 1, graded(last, grade), **told), "check_due") == "low"
    assert priority(at(last + late, graded(last, grade), **told), "check_due") == expected


def test_the_judgement_says_when_it_will_differ() -> None:
    seen = look(600)
    now, events = 601.0, [graded(600), ev(BagRead, 600, line="A", left_ml=2000)]
    due = []
    for _ in range(6):
        found = at(now, *events, seen=seen, steady=seen, block_reaches_limit=t(640))
        if found.next_change is None:
            break
        now = (found.next_change - t(0)).total_seconds() / 60
        due.append(now)
    # a 31-minute interval has 15 min of grace
    assert due == sorted(due)
    assert 631 in due, "look due"
    assert 646 in due, "look overdue"
    assert 640 in due, "check due: a full block could reach the limit"
    assert 655 in due, "check overdue"


def test_traction_and_return() -> None:
    on = ev(TractionOn, 0, until=t(60))
    assert priority(at(74, on), "traction_overdue") is None
    assert priority(at(75, on), "traction_overdue") == "medium"
    assert priority(at(75, on, ev(TractionOff, 70)), "traction_overdue") is None
    away = ev(Away, 0, where="scan", inflow="running", back_by=t(60))
    assert priority(at(74, away), "away_overdue") is None
    assert priority(at(75, away), "away_overdue") == "low"
    assert priority(at(75, away, ev(Back, 70)), "away_overdue") is None


def test_tasks_are_marks_and_no_alerts_in_time() -> None:
    seen = look(600)
    found = at(
        601, graded(600), seen=seen, steady=seen, lines=(line(dry=700), line("B", dry=640, last_open=False))
    )
    kinds = {(task.kind, task.subject): task for task in found.tasks}
    assert kinds["line_dry", "B"].overdue_at is None, "a full bag beside it: a task only"
    assert kinds["line_dry", "A"].overdue_at == t(685)
    assert {"look", "check"} <= {kind for kind, _ in kinds}
    assert not [r for r in found.readings if r.condition in ("look_due", "check_due", "bag_running_out")]
