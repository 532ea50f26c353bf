"""The life of an alert: raised, answered, cleared; and who speaks for whom."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from bedside import TH, ev, t

from cbi_monitor.alerts.conditions import ALL_CONDITIONS
from cbi_monitor.alerts.life import AlertState, States, advance, alert_id, names_alert, next_change_of
from cbi_monitor.alerts.readings import Figures, Judgement, Priority, Reading
from cbi_monitor.alerts.speaks_for import SPEAKS_FOR, SPEAKS_ONWARD, speaker_of
from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.model.events import AlertAnswered


def reading(
    condition: str, priority: Priority | None, keeps: Priority | None = None, **more: object
) -> Reading:
    return Reading(condition, "bladder", priority, "says", "act", {"ml": 1}, keeps, **more)  # type: ignore[arg-type]


def step(
    states: States,
    minutes: float,
    *readings: Reading,
    answers: Sequence[AlertAnswered] = (),
    charted: float | None = None,
    closed: bool = False,
) -> States:
    judgement = Judgement(t(minutes), readings, (), None, Figures(behind_ml=100.0), closed)
    charted_at = None if charted is None else t(charted)
    return advance(states, judgement, TH, session="s", answers=answers, charted_at=charted_at)


def only(states: States) -> AlertState:
    assert len(states) == 1
    return states[0]


def test_raised_and_cleared() -> None:
    raised = step((), 0, reading("retention", "medium"))
    state = only(raised)
    assert (state.raised_at, state.priority, state.stands, state.spoke_at) == (t(0), "medium", True, t(0))
    cleared = only(step(raised, 15))
    assert (cleared.cleared_at, cleared.stands, cleared.on_lane(t(16))) == (t(15), False, False)
    assert step((cleared,), 36) == (), "kept off the lane in case it comes again, then forgotten"


def test_an_alert_that_comes_again_clears_only_after_it_stayed_clear() -> None:
    """Readings to and fro around a limit, a check every 15 minutes."""
    mild = reading("retention", "medium")
    states = step(step((), 0, mild), 15)
    states = step(states, 30, mild)
    again = next(s for s in states if s.stands)
    assert (again.came_again, again.raised_at) == (True, t(30))
    states = step(states, 45)
    assert next(s for s in states if s.stands).clear_since == t(45)
    assert next_change_of(states, TH, t(45)) == t(65)
    states = step(states, 60, mild)
    assert next(s for s in states if s.stands).clear_since is None, "still the same alert: no third call"
    states = step(step(states, 75), 95)
    assert [s.cleared_at for s in states if s.id == again.id] == [t(95)]


def test_one_that_comes_later_clears_at_once_and_so_does_a_look_that_was_done() -> None:
    states = step(step((), 0, reading("retention", "medium")), 15)
    states = step(states, 36, reading("retention", "medium"))
    assert not any(s.stands for s in step(states, 50))
    states = step(step((), 0, reading("look_due", "low")), 5)
    states = step(states, 20, reading("look_due", "low"))
    assert not any(s.stands for s in step(states, 21))


def test_a_reading_below_its_raising_limit_raises_nothing_but_keeps() -> None:
    between = reading("retention", None, keeps="medium")
    assert step((), 0, between) == ()
    raised = step((), 0, reading("retention", "medium", keeps="medium"))
    assert only(step(raised, 15, between)).stands


def test_a_step_worse_raises_again_and_a_milder_reading_eases() -> None:
    one = step((), 0, reading("retention", "medium"))
    two = step(one, 15, reading("retention", "high", keeps="high"))
    state = only(two)
    assert (state.id, state.raised_at, state.priority, len(state.raises)) == (only(one).id, t(0), "high", 2)
    kept = only(step(two, 30, reading("retention", "medium", keeps="high")))
    assert (kept.priority, len(kept.raises)) == ("high", 2), "above the lower limit of high"
    eased = only(step(two, 30, reading("retention", "medium", keeps="medium")))
    assert (eased.priority, eased.worst, len(eased.raises)) == ("medium", "high", 2)
    again = only(step((eased,), 45, reading("retention", "high", keeps="high")))
    assert len(again.raises) == 3


def answer(minutes: float, kind: str, state: AlertState, action: str | None = None) -> AlertAnswered:
    found: AlertAnswered = ev(AlertAnswered, minutes, alert=state.id, kind=kind, action=action)
    return found


HIGH = reading("retention", "high", keeps="high")


def test_going_is_quiet_for_five_minutes_and_comes_back_if_nothing_was_charted() -> None:
    raised = step((), 0, HIGH)
    going = [answer(2, "going", only(raised))]
    quiet = step(raised, 2, HIGH, answers=going)
    assert (only(quiet).quiet_until, only(quiet).quiet(t(6)), only(quiet).stands) == (t(7), True, True)
    assert next_change_of(quiet, TH, t(2)) == t(7)
    back = only(step(quiet, 7, HIGH, answers=going))
    assert (back.came_back, back.quiet(t(8)), back.stands) == ((t(7),), False, True)
    assert only(back and step((back,), 9, HIGH, answers=going, charted=9)).quiet(t(10)) is False, (
        "no new answer, no rest"
    )


def test_going_and_something_charted_is_quiet_ten_minutes_from_then() -> None:
    raised = step((), 0, HIGH)
    going = [answer(2, "going", only(raised))]
    quiet = step(raised, 2, HIGH, answers=going)
    looked = step(quiet, 6, HIGH, answers=going, charted=6)
    assert only(looked).quiet_until == t(16)
    assert only(step(looked, 16, HIGH, answers=going, charted=6)).came_back == (t(16),)


def test_seen_needs_a_look_or_an_act() -> None:
    raised = step((), 0, HIGH)
    bare = only(step(raised, 30, HIGH, answers=[answer(30, "seen", only(raised))], charted=5))
    assert bare.quiet(t(31)) is False
    assert bare.answers[0].counts is False
    acted = only(
        step(raised, 30, HIGH, answers=[answer(30, "seen", only(raised), "inflow stopped")], charted=5)
    )
    assert acted.quiet_until == t(40)
    looked = only(step(raised, 30, HIGH, answers=[answer(30, "seen", only(raised))], charted=25))
    assert looked.quiet_until == t(40)


def test_no_answer_clears_anything_and_a_step_worse_breaks_the_quiet() -> None:
    raised = step((), 0, reading("retention", "medium"))
    seen = [answer(1, "seen", only(raised), "looked")]
    quiet = step(raised, 1, reading("retention", "medium"), answers=seen)
    worse = only(step(quiet, 5, HIGH, answers=seen))
    assert (worse.stands, worse.quiet(t(6)), worse.quiet_until) == (True, False, None)


def test_a_cleared_high_stays_two_hours_or_until_seen() -> None:
    raised = step((), 0, HIGH)
    cleared = step(raised, 30)
    assert only(cleared).stays_until == t(150)
    assert next_change_of(cleared, TH, t(30)) == t(150)
    assert only(cleared).on_lane(t(149))
    later = step(cleared, 150)
    assert only(later).on_lane(t(150)) is False
    seen = step(cleared, 40, answers=[answer(40, "seen", only(raised))])
    assert only(seen).on_lane(t(41)) is False


def test_a_session_that_ends_clears_all_and_keeps_nothing_on_the_lane() -> None:
    closed = only(step(step((), 0, HIGH), 30, closed=True))
    assert (closed.cleared_at, closed.on_lane(t(30))) == (t(30), False)


def test_said_once() -> None:
    once = reading("catheter_mismatch", "low", keeps="low", once=True)
    raised = step((), 0, once)
    seen = [answer(1, "seen", only(raised), "changed")]
    state = only(step(step(raised, 1, once, answers=seen), 600, once, answers=seen))
    assert (state.stands, state.quiet(t(10_000)), state.came_back) == (True, True, ())
    assert next_change_of((state,), TH, t(600)) is None


def test_two_highs_that_cleared_within_four_hours_come_and_go() -> None:
    states = step((), 0, HIGH)
    for minutes, readings in ((20, ()), (60, (HIGH,)), (80, ())):
        states = step(states, minutes, *readings)
    found = [s for s in states if s.condition == "comes_and_goes"]
    assert [(s.raised_at, s.priority) for s in found] == [(t(80), "medium")]
    assert next_change_of(states, TH, t(200)) == t(20 + 240)
    later = step(states, 260)
    assert [s.cleared_at for s in later if s.condition == "comes_and_goes"] == [t(260)]


def test_two_highs_at_one_time_are_one_episode() -> None:
    states = step((), 0, HIGH, reading("no_outflow", "high"))
    states = step(states, 20, HIGH)
    states = step(states, 40)
    assert not [s for s in states if s.condition == "comes_and_goes"]


def test_advance_is_pure() -> None:
    before = step((), 0, HIGH)
    kept = replace(only(before))
    one = step(before, 15, reading("retention", "medium", keeps="medium"))
    assert only(before) == kept
    assert step(before, 15, reading("retention", "medium", keeps="medium")) == one
    again = step(one, 15, reading("retention", "medium", keeps="medium"))
    assert again == one, "judged twice at one instant is judged once"


def test_ids_are_the_same_on_every_machine() -> None:
    state = only(step((), 0, HIGH))
    assert state.id == "retention/bladder/20260301T080000Z/s"
    assert names_alert(state.id) == ("retention", "bladder")
    assert names_alert("something else") is None
    assert len(alert_id("x" * 300, "retention", "bladder", t(0))) == 200


def test_an_answer_made_under_another_time_names_the_alert_that_stood() -> None:
    raised = step((), 3, HIGH)
    other: AlertAnswered = ev(
        AlertAnswered, 4, alert=alert_id("s", "retention", "bladder", t(0)), kind="going"
    )
    assert only(step(raised, 4, HIGH, answers=[other])).quiet(t(5))
    early: AlertAnswered = ev(
        AlertAnswered, 2, alert=alert_id("s", "retention", "bladder", t(0)), kind="going"
    )
    assert only(step(raised, 4, HIGH, answers=[early])).quiet(t(5)) is False


# --- who speaks for whom ------------------------------------------------------------------------------------------


def test_the_table_names_conditions_only_and_nobody_speaks_for_herself() -> None:
    for speaker, silent in SPEAKS_FOR.items():
        assert {speaker, *silent} <= set(ALL_CONDITIONS)
    for speaker, onward in SPEAKS_ONWARD.items():
        assert speaker not in onward


def test_the_table_holds_onward() -> None:
    assert {"retention", "unrecorded_volume", "absorption", "low_urine"} <= SPEAKS_ONWARD["no_outflow"]
    assert {"retention", "unrecorded_volume"} <= SPEAKS_ONWARD["distress"]
    assert "no_outflow" not in SPEAKS_ONWARD["retention"]
    assert "retention" not in SPEAKS_ONWARD["unrecorded_volume"], "a question never explains a block away"


def test_a_silent_alert_keeps_its_own_life_and_speaks_when_the_speaker_clears() -> None:
    both = step((), 0, HIGH, reading("unrecorded_volume", "low"))
    question = next(s for s in both if s.condition == "unrecorded_volume")
    speaker = next(s for s in both if s.condition == "retention")
    assert (question.spoken_by, question.spoke_at, question.raised_at) == (speaker.id, None, t(0))
    alone = step(both, 30, reading("unrecorded_volume", "low"))
    question = next(s for s in alone if s.condition == "unrecorded_volume")
    assert (question.spoken_by, question.spoke_at, question.raised_at) == (None, t(30), t(0))


@pytest.mark.parametrize(
    ("speaker", "silent", "speaks"),
    [("medium", "high", False), ("medium", "medium", True), ("high", "low", True)],
)
def test_nobody_speaks_for_an_alert_worse_than_her_own(
    speaker: Priority, silent: Priority, speaks: bool
) -> None:
    states = step((), 0, reading("retention", speaker), reading("absorption", silent))
    absorption = next(s for s in states if s.condition == "absorption")
    assert (speaker_of(absorption, states) is not None) is speaks


def test_thresholds_are_whole() -> None:
    assert set(ALL_CONDITIONS) | {"life"} == set(Thresholds.model_fields)
