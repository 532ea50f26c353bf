"""Bags, clamps, fluid, catheter. Numbers are the shipped thresholds: common practice, no source."""

from __future__ import annotations

import pytest
from bedside import TH, Laid, ev, judge, line, t

from cbi_monitor.alerts.readings import Reading
from cbi_monitor.ledger.account import Drainage
from cbi_monitor.model.events import (
    BagDown,
    Called,
    CatheterPlaced,
    CatheterRemoved,
    DrainageRead,
    EffluentGraded,
    Ordered,
    SessionDetails,
)
from cbi_monitor.model.volumes import TimeRange


def all_of(condition: str, minutes: float, *events: object, **told: object) -> list[Reading]:
    found = judge(Laid(*events, **told), TH, t(minutes)).readings  # type: ignore[arg-type]
    return [reading for reading in found if reading.condition == condition]


def of(condition: str, minutes: float, *events: object, **told: object) -> Reading | None:
    found = all_of(condition, minutes, *events, **told)
    assert len(found) <= 1
    return found[0] if found else None


def test_the_last_open_bag_warns_a_quarter_of_an_hour_before() -> None:
    early = of("bag_running_out", 84, lines=(line(dry=100),))
    assert early is not None
    assert (early.priority, early.keeps, early.changes_at) == (None, "medium", t(85)), (
        "kept, not raised: no chatter"
    )
    assert of("bag_running_out", 79, lines=(line(dry=100),)) is None
    due = of("bag_running_out", 85, lines=(line(dry=100),))
    assert due is not None
    assert (due.priority, due.changes_at) == ("medium", t(100))


def test_a_full_bag_beside_it_makes_it_a_task_only() -> None:
    lines = (line("A", dry=100, last_open=False), line("B", dry=400))
    assert of("bag_running_out", 99, lines=lines) is None


@pytest.mark.parametrize(("grade", "at_last"), [("pink", "high"), ("pale_pink", "medium")])
def test_dry_by_the_sum_is_high_only_when_even_the_latest_forecast_has_passed(
    grade: str, at_last: str
) -> None:
    graded = ev(EffluentGraded, 0, grade=grade)
    assert of("bag_dry", 99, graded, lines=(line(dry=100),)) is None
    maybe = of("bag_dry", 100, graded, lines=(line(dry=100),))
    assert maybe is not None
    assert (maybe.priority, maybe.changes_at) == ("medium", t(105))
    surely = of("bag_dry", 105, graded, lines=(line(dry=100),))
    assert surely is not None
    assert surely.priority == at_last


def test_found_dry_and_nothing_hung() -> None:
    reading = of("bag_dry", 60, ev(BagDown, 59, line="A", found_empty=True), lines=())
    assert reading is not None
    assert (reading.priority, reading.since) == ("medium", t(59))


def test_the_drainage_bag() -> None:
    def bag(contents: float, full: float) -> dict[str, object]:
        return {
            "drainage": Drainage(
                2000.0,
                contents,
                t(0),
                None,
                TimeRange(t(30), t(30), t(30)),
                TimeRange(t(full), t(full), t(full)),
                False,
            )
        }

    assert of("drainage_filling", 79, **bag(500, 100)) is None
    kept = of("drainage_filling", 80, **bag(500, 100))
    assert kept is not None
    assert kept.priority is None
    soon = of("drainage_filling", 85, **bag(500, 100))
    assert soon is not None
    assert soon.priority == "medium"
    full = of("drainage_filling", 100, **bag(500, 100))
    assert full is not None
    assert (full.priority, full.first_act) == ("high", "first-act-empty-now")
    hardly = of("drainage_filling", 1, **bag(1250, 100))
    assert hardly is not None
    assert (hardly.priority, hardly.keeps) == (None, "high"), "a full bag that was hardly emptied stays"
    charted = of("drainage_filling", 1, **bag(1950, 100))
    assert charted is not None
    assert charted.priority == "high"
    found = of(
        "drainage_filling", 1, ev(DrainageRead, 0, contents_ml=1500, found_full=True), **bag(1500, 100)
    )
    assert found is not None
    assert found.priority == "high"


def test_emptying_is_a_task_from_the_part_that_the_ward_says() -> None:
    bag = Drainage(2000.0, 1000.0, t(0), None, None, TimeRange(t(100), t(100), t(100)), False)
    found = judge(Laid(drainage=bag), TH, t(1))
    task = next(task for task in found.tasks if task.kind == "drainage_full")
    assert task.due == t(100 * (0.667 * 2000 - 1000) / 1000)


@pytest.mark.parametrize(
    ("grade", "steps"),
    [
        ("dark_red", [(5, "medium"), (10, "high")]),
        ("pink", [(15, "medium"), (30, "high")]),
        ("pale_pink", [(30, "low")]),
    ],
)
def test_inflow_off_by_colour(grade: str, steps: list[tuple[float, str]]) -> None:
    graded = ev(EffluentGraded, 0, grade=grade)
    told = {"inflow_on": False, "inflow_off_since": t(0), "inflow_off_reason": "other"}
    before: str | None = None
    for minutes, priority in steps:
        assert getattr(of("inflow_off", minutes - 1, graded, **told), "priority", None) == before
        assert getattr(of("inflow_off", minutes, graded, **told), "priority", None) == priority
        before = priority


def test_an_ordered_trial_is_exempt_until_its_end() -> None:
    order = ev(Ordered, 0, by_whom="Dr N", how="written", until=t(120))
    told = {"inflow_on": False, "inflow_off_since": t(0), "inflow_off_reason": "trial"}
    pink = ev(EffluentGraded, 0, grade="pink")
    assert of("inflow_off", 119, order, pink, **told) is None
    assert of("inflow_off", 120, order, pink, **told) is not None
    assert of("inflow_off", 500, pink, **told) is None


def test_fluid_other_than_ordered() -> None:
    order = ev(Ordered, 0, by_whom="Dr N", how="written", fluid="glycine_1_5")
    assert of("wrong_fluid", 1, lines=(line(),)) is None
    other = of("wrong_fluid", 1, lines=(line(fluid="water"),))
    assert other is not None
    assert (other.priority, other.says) == ("high", "alert-wrong-fluid-says-no-order")
    wrong = of("wrong_fluid", 1, order, lines=(line(),))
    assert wrong is not None
    assert wrong.says == "alert-wrong-fluid-says"
    assert of("wrong_fluid", 1, order, lines=(line(fluid="glycine_1_5"),)) is None


@pytest.mark.parametrize("reason", ["pulled_out", "fell_out"])
def test_catheter_out_unplanned(reason: str) -> None:
    out = ev(CatheterRemoved, 10, reason=reason)
    reading = of("catheter_out", 11, out, catheter_in=False, inflow_on=False)
    assert reading is not None
    assert (reading.priority, reading.first_act) == ("high", "first-act-catheter-out")
    call = ev(Called, 12, whom="urology", how="phone", about="catheter", told="out")
    assert of("catheter_out", 13, out, call, catheter_in=False, inflow_on=False) is None
    unanswered = ev(Called, 12, whom="urology", how="phone", about="catheter", told="out", no_answer=True)
    assert of("catheter_out", 13, out, unanswered, catheter_in=False, inflow_on=False) is not None


def test_catheter_out_as_planned_is_no_alert() -> None:
    assert of("catheter_out", 11, ev(CatheterRemoved, 10, reason="planned"), catheter_in=False) is None


def test_catheter_mismatch() -> None:
    def placed(**fields: object) -> object:
        return ev(
            CatheterPlaced,
            5,
            **{"french": 22, "ways": 3, "tip": "straight", "material": "silicone", **fields},
        )

    assert all_of("catheter_mismatch", 6, placed()) == []
    allergy = ev(SessionDetails, 1, allergies=["Latex", "nuts"])
    latex = all_of("catheter_mismatch", 6, placed(material="hydrogel latex"), allergy)
    assert [(r.priority, r.subject, r.once) for r in latex] == [("high", "catheter allergy", True)]
    assert all_of("catheter_mismatch", 6, placed(material="latex-free silicone"), allergy) == []
    assert [r.priority for r in all_of("catheter_mismatch", 6, placed(ways=2))] == ["medium"]
    clots = ev(EffluentGraded, 5, grade="pink", clots="small")
    assert [r.priority for r in all_of("catheter_mismatch", 6, placed(french=18), clots)] == ["low"]
    assert all_of("catheter_mismatch", 6, placed(french=20), clots) == []
