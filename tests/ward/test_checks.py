"""The check slip: what is typed becomes events, field by field; what can't be read is refused by its field."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from cbi_monitor.model.events import (
    Answered,
    BagRead,
    DrainageEmptied,
    DrainageRead,
    EffluentGraded,
    InflowSet,
    IrrigantRunIn,
    OutflowSeen,
    Symptoms,
)
from cbi_monitor.ward.checks import CheckEntry
from cbi_monitor.ward.figures import Figure, Unreadable, read_figure

AT = datetime(2026, 3, 1, 10, 0, tzinfo=UTC)


def entry(**fields: object) -> CheckEntry:
    return CheckEntry("s", "K.M.", AT, **fields)  # type: ignore[arg-type]


def refused(check: CheckEntry) -> list[str]:
    return [refusal.field for refusal in check.to_events(AT)[1]]


def test_a_usual_hourly_check_becomes_one_visit() -> None:
    check = entry(
        running="steady",
        comfort="comfortable",
        grade="pink",
        clots="none",
        drainage="1,200",
        left={"A": "1 800", "B": "3000"},
        rate="500",
    )
    events, refusals = check.to_events(AT)
    assert refusals == []
    look, comfort, colour, drainage, a, b, rate = events
    assert isinstance(look, OutflowSeen)
    assert look.running
    assert look.how == "steady"
    assert isinstance(comfort, Symptoms)
    assert comfort.pain == 0
    assert isinstance(colour, EffluentGraded)
    assert (colour.grade, colour.clots) == ("pink", "none")
    assert isinstance(drainage, DrainageRead)
    assert drainage.contents_ml == 1200
    assert isinstance(a, BagRead)
    assert (a.line, a.left_ml) == ("A", 1800)
    assert isinstance(b, BagRead)
    assert (b.line, b.left_ml) == ("B", 3000)
    assert isinstance(rate, InflowSet)
    assert rate.ml_per_h == 500
    assert len({event.check for event in events}) == 1
    assert len({event.id for event in events}) == 7
    assert {event.by for event in events} == {"K.M."}


def test_not_running_is_said_as_not_running() -> None:
    (look,), _ = entry(running="none").to_events(AT)
    assert isinstance(look, OutflowSeen)
    assert (look.running, look.how) == (False, "none")


def test_an_emptying_weighed_with_a_rest() -> None:
    check = entry(drainage="1530", drainage_mode="emptied", drainage_in="g", drainage_left="50")
    (emptied,), refusals = check.to_events(AT)
    assert refusals == []
    assert isinstance(emptied, DrainageEmptied)
    assert (emptied.mass_g, emptied.volume, emptied.left_ml) == (1530, None, 50)


def test_about_and_not_measured_stay_what_they_are() -> None:
    about, unmeasured = entry(left={"A": "~300", "B": "?"}).to_events(AT)[0]
    assert isinstance(about, BagRead)
    assert (about.left_ml, about.about) == (300, True)
    assert isinstance(unmeasured, BagRead)
    assert (unmeasured.left_ml, unmeasured.not_measured) == (None, True)


def test_empty_fields_say_nothing() -> None:
    events, refusals = entry(running="slow", left={"A": "", "B": " "}, drainage="").to_events(AT)
    assert len(events) == 1
    assert refusals == []


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"left": {"A": "12oo"}}, "left.A"),
        ({"left": {"A": "-50"}}, "left.A"),
        ({"left": {"A": "1,20"}}, "left.A"),
        ({"drainage": "half"}, "drainage"),
        ({"comfort": "not_comfortable", "pain": "11"}, "pain"),
        ({"comfort": "not_comfortable"}, "pain"),
        ({"clots": "small"}, "grade"),
        ({"rate": "quick", "rate_in": "setting"}, "rate"),
        ({"rate": "60", "rate_in": "drops_per_min"}, "drops_per_ml"),
        ({"drainage_found_full": True}, "drainage"),
        ({"running": "steady", "kept": {"f:1": " "}}, "kept.f:1"),
        ({}, "running"),
    ],
)
def test_what_cannot_be_read_is_refused_beside_its_field(fields: dict[str, object], field: str) -> None:
    assert refused(entry(**fields)) == [field]


def test_all_refusals_at_once_and_what_can_be_read_is_read() -> None:
    check = entry(running="steady", drainage="x", left={"A": "y"}, rate="z")
    events, refusals = check.to_events(AT)
    assert [refusal.field for refusal in refusals] == ["drainage", "left.A", "rate"]
    assert all(refusal.what and refusal.write for refusal in refusals)
    assert len(events) == 1


def test_ids_stay_between_preview_and_save() -> None:
    check = entry(left={"A": "1200"})
    first, again = check.to_events(AT)[0], check.to_events(AT + timedelta(minutes=1))[0]
    assert [event.id for event in first] == [event.id for event in again]
    assert first[0].recorded != again[0].recorded


def test_a_value_kept_with_a_reason_answers_its_finding() -> None:
    check = entry(left={"A": "9000"}, kept={"level_above_bag:x": "read twice"})
    answer = check.to_events(AT)[0][-1]
    assert isinstance(answer, Answered)
    assert (answer.finding, answer.answer, answer.reason) == ("level_above_bag:x", "confirmed", "read twice")


def test_a_check_for_another_bed_is_another_check() -> None:
    check = entry(left={"A": "1200"})
    before = check.to_events(AT)[0][0]
    check.move_to("other")
    after = check.to_events(AT)[0][0]
    assert after.session == "other"
    assert after.id != before.id
    assert after.check != before.check


def test_drops_and_settings_and_volumes() -> None:
    drops = entry(rate="125", rate_in="drops_per_min", drops_per_ml="15").to_events(AT)[0][0]
    assert isinstance(drops, InflowSet)
    assert (drops.drops_per_min, drops.drops_per_ml) == (125, 15)
    wide = entry(rate="wide_open", rate_in="setting").to_events(AT)[0][0]
    assert isinstance(wide, InflowSet)
    assert wide.setting == "wide_open"
    since = AT - timedelta(hours=1)
    run = entry(run_in="250", run_in_since=since).to_events(AT)[0][0]
    assert isinstance(run, IrrigantRunIn)
    assert (run.volume, run.since) == (250, since)


def test_late_from_half_an_hour() -> None:
    check = entry(running="steady")
    assert not check.is_late(AT + timedelta(minutes=29))
    assert check.is_late(AT + timedelta(minutes=30))


@pytest.mark.parametrize(
    ("typed", "figure"),
    [
        ("", None),
        ("0", Figure(0)),
        ("1,200", Figure(1200)),
        ("1 200", Figure(1200)),
        ("12.5", Figure(12.5)),
        ("~ 300", Figure(300, True)),
        ("?", Figure(None)),
    ],
)
def test_figures_as_typed(typed: str, figure: Figure | None) -> None:
    assert read_figure(typed) == figure


@pytest.mark.parametrize("typed", ["1,20", "12,0000", "1e3", "nan", "-1", "+5", "½", "~", "1.2.3", "٣"])
def test_figures_that_are_none(typed: str) -> None:
    with pytest.raises(Unreadable):
        read_figure(typed)
