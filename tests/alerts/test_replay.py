"""Replay and live watch: the same alerts at the same times, however one steps and in whatever order entries arrive."""

from __future__ import annotations

import random
import time
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

import pytest
from bedside import SCALE, TH, WARD, ev, judge, opened, t
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cbi_monitor.alerts.backtest import chattering
from cbi_monitor.alerts.life import AlertState
from cbi_monitor.alerts.replay import NOT_OF_THE_WATCH, Replay, Watch, known_from, replay
from cbi_monitor.journal.codec import read_session_file
from cbi_monitor.model.events import (
    AlertAnswered,
    AlertShown,
    BagHung,
    BagRead,
    Corrected,
    DrainageBagPlaced,
    DrainageRead,
    EffluentGraded,
    Event,
    InflowSet,
    OutflowSeen,
    SessionClosed,
    StruckOut,
    Symptoms,
)
from cbi_monitor.practice import Sitting
from cbi_monitor.practice.scenes import comes_and_goes, partial_block, real_night
from cbi_monitor.resources import folder

DEMOS = sorted(path.stem for path in folder("demo_sessions").glob("*.jsonl"))


def demo(name: str) -> list[Event]:
    return read_session_file(folder("demo_sessions") / f"{name}.jsonl")


def sat(scene: Any, seed: int) -> list[Event]:
    return Sitting(scene, seed).whole()


def watch_of(events: Sequence[Event]) -> Watch:
    return Watch(events[0].session, WARD, SCALE, TH)


def told(alerts: Sequence[AlertState]) -> list[tuple[object, ...]]:
    return [
        (a.id, a.priority, a.worst, a.raised_at, a.cleared_at, tuple((r.at, r.priority) for r in a.raises), a.spoken_by,
         a.spoke_at, a.came_back, a.answers, a.stays_until)
        for a in alerts
    ]  # fmt: skip


def whole(events: Sequence[Event]) -> Replay:
    return replay(events, WARD, SCALE, TH)


CHARTS = {
    "clot_block": lambda: demo("clot_block"),
    "heavy_bleeding": lambda: demo("heavy_bleeding"),
    "clock_goes_back": lambda: demo("clock_goes_back"),
    "whole_bags_two_lines": lambda: demo("whole_bags_two_lines"),
    "smooth_wean": lambda: demo("smooth_wean"),
    "partial_block": lambda: sat(partial_block(3), 3),
    "comes_and_goes": lambda: sat(comes_and_goes(4), 4),
}


@pytest.fixture(scope="module", params=CHARTS)
def chart(request: pytest.FixtureRequest) -> list[Event]:
    return CHARTS[request.param]()


def test_any_stepping_gives_the_same_alerts(chart: list[Event]) -> None:
    once = whole(chart)
    assert once.end is not None
    assert once.start is not None
    assert len(once.alerts) > 3
    chance = random.Random(1)
    watch = watch_of(chart)
    watch.add(chart)
    now = once.start
    while now < once.end:
        now = min(once.end, now + timedelta(seconds=chance.choice([7, 60, 900, 5000])))
        watch.until(now)
    assert told(watch.records) == told(once.alerts)
    assert watch.tasks_asked == once.tasks


def test_entries_taken_in_as_they_become_known_give_what_replay_gives(chart: list[Event]) -> None:
    watch = watch_of(chart)
    for event in sorted((e for e in chart if not isinstance(e, NOT_OF_THE_WATCH)), key=known_from):
        watch.add([event])
    watch.until(max(map(known_from, chart)))
    once = whole(chart)
    live = watch_of(chart)
    together: dict[datetime, list[Event]] = {}
    for event in chart:
        together.setdefault(known_from(event), []).append(event)
    for at in sorted(together):
        live.step(together[at], at)
    assert told(live.records) == told(once.alerts) == told(watch.records)


def test_order_of_arrival_does_not_matter(chart: list[Event]) -> None:
    shuffled = list(chart)
    random.Random(2).shuffle(shuffled)
    assert told(whole(shuffled).alerts) == told(whole(chart).alerts)


def test_an_entry_that_comes_late_from_another_place_is_stepped_through_anew(chart: list[Event]) -> None:
    once = whole(chart)
    assert once.end is not None
    held_back = chart[len(chart) // 2 :: 7]
    watch = watch_of(chart)
    watch.add(event for event in chart if event not in held_back)
    watch.until(once.end)
    watch.step(held_back, once.end)
    assert told(watch.records) == told(once.alerts)


def test_between_two_changes_nothing_differs(chart: list[Event]) -> None:
    """``next_change`` leaves nothing out: judged at any instant in between, conditions raise the same."""
    watch = watch_of(chart)
    watch.add(chart)
    chance = random.Random(3)
    last = max(map(known_from, chart))
    while (at := watch.next_change) is not None and at <= last:
        watch.until(at)
        upto = watch.next_change
        if upto is None or watch.judgement is None or chance.random() > 0.3:
            continue
        said = {(r.condition, r.subject): (r.priority, r.keeps) for r in watch.judgement.readings}
        due = {(task.kind, task.subject): task.due for task in watch.judgement.tasks}
        for part in (0.5, 0.999):
            between = at + (upto - at) * part
            if not at < between < upto:
                continue
            then = judge(watch.ledger, TH, between)
            now = {(r.condition, r.subject): (r.priority, r.keeps) for r in then.readings}
            raising = {key for key in said.keys() | now.keys() if said.get(key) != now.get(key)}
            assert not {key: (said.get(key), now.get(key), at, between) for key in raising}
            moved = {
                key: (due.get(key), task.due, at, between)
                for task in then.tasks
                if (key := (task.kind, task.subject)) and due.get(key) != task.due
            }
            assert not moved


def test_shifting_all_times_shifts_only_times() -> None:
    events = [e for e in demo("clot_block") if not isinstance(e, NOT_OF_THE_WATCH)]
    by = timedelta(days=36_525, hours=5, minutes=7)

    def moved(value: object) -> object:
        return value + by if isinstance(value, datetime) else value

    later = [
        e.model_copy(update={name: moved(getattr(e, name)) for name in type(e).model_fields}) for e in events
    ]
    first, second = whole(events), whole(later)
    assert [(a.condition, a.subject, a.worst, a.raised_at + by) for a in first.alerts] == [
        (a.condition, a.subject, a.worst, a.raised_at) for a in second.alerts
    ]
    assert [a.cleared_at and a.cleared_at + by for a in first.alerts] == [a.cleared_at for a in second.alerts]


# --- a small chart written by hand --------------------------------------------------------------------------------


def small(*more: Event) -> list[Event]:
    return [
        opened(),
        ev(BagHung, 0, line="A", label_ml=3000, fluid="saline_0_9", measured_ml=3000),
        ev(DrainageBagPlaced, 0, capacity_ml=4000, contents_ml=0),
        ev(InflowSet, 0, ml_per_h=600),
        ev(BagRead, 0, line="A", left_ml=3000),
        ev(DrainageRead, 0, contents_ml=0),
        *more,
    ]


def check(minutes: float, left: float, contents: float, how: str = "steady", **common: Any) -> list[Event]:
    seen = {"running": how != "none", **({"how": how} if how != "none" else {})}
    return [
        ev(OutflowSeen, minutes, **seen, **common),
        ev(Symptoms, minutes, pain=0, **common),
        ev(EffluentGraded, minutes, grade="pale_pink", clots="none", **common),
        ev(BagRead, minutes, line="A", left_ml=left, **common),
        ev(DrainageRead, minutes, contents_ml=contents, **common),
    ]


def raised(events: Sequence[Event], condition: str, **how: Any) -> list[AlertState]:
    return [a for a in replay(events, WARD, SCALE, TH, **how).alerts if a.condition == condition]


def test_a_block_is_found_and_says_so() -> None:
    events = small(*check(15, 2850, 160), *check(30, 2550, 160, "slow"))
    found = raised(events, "retention")
    assert [(a.worst, a.raised_at) for a in found] == [("high", t(30))], "300 behind"
    assert found[0].raises[0].figures.behind_ml == pytest.approx(300)


def test_an_entry_exists_from_when_it_was_typed() -> None:
    late = [e.model_copy(update={"recorded": t(55)}) for e in check(30, 2550, 160, "slow")]
    events = small(*check(15, 2850, 160), *late)
    assert [a.raised_at for a in raised(events, "retention")] == [t(55)]
    assert [a.raised_at for a in raised(events, "retention", known=False)] == [t(30)], "with hindsight"


def test_a_correction_exists_from_its_own_time() -> None:
    wrong = small(*check(15, 2850, 160), *check(30, 2550, 160, "slow"))
    reading = wrong[-1]
    mend = ev(Corrected, 30, target=reading.id, fields={"contents_ml": 480}, reason="misread", recorded=t(40))
    found = raised([*wrong, mend, *check(45, 2400, 640)], "retention")
    assert [(a.raised_at, a.cleared_at) for a in found] == [(t(30), t(40))], "known wrong until mended"
    assert raised([*wrong, mend, *check(45, 2400, 640)], "retention", known=False) == []


def test_a_struck_out_answer_counts_no_more() -> None:
    base = small(*check(15, 2850, 160), *check(30, 2550, 160, "slow"))
    alert = raised(base, "retention")[0].id
    going = ev(AlertAnswered, 31, alert=alert, kind="going")
    events = [*base, going, *check(60, 2250, 160, "slow")]
    assert [len(a.answers) for a in raised(events, "retention")] == [1]
    assert raised(events, "retention")[0].came_back == (t(36),)
    struck = ev(StruckOut, 32, target=going.id, reason="wrong bed", recorded=t(32))
    state = raised([*events, struck], "retention")[0]
    assert state.came_back == ()


def test_what_the_program_wrote_about_itself_is_not_judged() -> None:
    base = small(*check(15, 2850, 160), *check(30, 2550, 160, "slow"))
    shown = ev(
        AlertShown, 33, alert="x", condition="retention", subject="bladder", priority="high", text="shown"
    )
    assert told(whole([*base, shown, *check(45, 2400, 640)]).alerts) == told(
        whole([*base, *check(45, 2400, 640)]).alerts
    )


def test_closing_clears_everything() -> None:
    events = small(*check(15, 2850, 160), *check(30, 2550, 160, "slow"), ev(SessionClosed, 40, reason="over"))
    assert all(a.cleared_at == t(40) for a in whole(events).alerts if a.raised_at < t(40))


def test_two_sessions_must_be_told_apart() -> None:
    other = opened().model_copy(update={"session": "z"})
    with pytest.raises(ValueError, match="say which"):
        replay([opened(), other], WARD, SCALE, TH)


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.integers(100, 300).map(lambda n: n * 1.0),
    st.lists(
        st.tuples(st.sampled_from([-50, 0, 50]), st.sampled_from([-50, 0, 50])), min_size=12, max_size=24
    ),
)
def test_readings_one_graduation_to_and_fro_do_not_chatter(
    stays: float, jitter: list[tuple[int, int]]
) -> None:
    """The bladder holds a steady amount; both readings of every check are off by up to half a mark of 100 mL bags."""
    events = small()
    for n, (bag, drained) in enumerate(jitter, start=1):
        minutes = 15.0 * n
        events += check(minutes, 3000 - 150 * n % 2900 + bag, max(0.0, 150 * n + 15 * n - stays + drained))
        if 3000 - 150 * (n + 1) < 200:
            break
    found = whole(events).alerts
    assert chattering(found) == []
    assert len([a for a in found if a.condition == "retention"]) <= 3


def test_a_day_of_hundred_checks_is_replayed_quickly() -> None:
    """The budget is 150 ms for a session of 24 h; this bound only catches a cost that grows with the chart."""
    events = sat(real_night(5), 5)
    whole(events)
    begun = time.perf_counter()
    whole(events)
    assert time.perf_counter() - begun < 1.5
