"""Urine, and volumes that were not written down. KDIGO 2012: oliguria below 0.5 mL/kg/h."""

from __future__ import annotations

import pytest
from bedside import TH, Laid, ev, judge, row, t

from cbi_monitor.alerts.readings import Reading
from cbi_monitor.ledger.account import Behind, UrineWindow
from cbi_monitor.model.events import CatheterPlaced, Ordered
from cbi_monitor.model.findings import Finding
from cbi_monitor.model.volumes import Range


def of(condition: str, minutes: float, *events: object, **told: object) -> Reading | None:
    found = judge(Laid(*events, **told), TH, t(minutes)).readings  # type: ignore[arg-type]
    return next((reading for reading in found if reading.condition == condition), None)


def window(low: float, mid: float, high: float, hours: float = 6, kg: float = 78) -> UrineWindow:
    per_kg = Range(low, mid, high)
    rate = Range(low * kg, mid * kg, high * kg)
    made = Range(low * kg * hours, mid * kg * hours, high * kg * hours)
    return UrineWindow(t(0), t(hours * 60), made, rate, per_kg, "")


@pytest.mark.parametrize(
    ("ends", "expected"),
    [
        ((0.3, 0.4, 0.49), "medium"),
        ((0.3, 0.4, 0.5), None),
        ((0.1, 0.4, 0.9), None),
        ((0.1, 0.2, 0.29), "high"),
    ],
)
def test_low_urine_only_where_the_whole_range_lies_below(
    ends: tuple[float, float, float], expected: str | None
) -> None:
    reading = of("low_urine", 720, urine=window(*ends, hours=12))
    assert (reading.priority if reading else None) == expected


def test_low_urine_keeps_until_the_high_end_is_clear() -> None:
    reading = of("low_urine", 720, urine=window(0.3, 0.4, 0.55))
    assert reading is not None
    assert (reading.priority, reading.keeps) == (None, "medium")
    assert of("low_urine", 720, urine=window(0.3, 0.5, 0.7)) is None


@pytest.mark.parametrize("expected_urine", ["none", "diverted"])
def test_low_urine_is_off_where_none_is_expected(expected_urine: str) -> None:
    order = ev(Ordered, 0, by_whom="Dr N", how="written", expected_urine=expected_urine)
    assert of("low_urine", 720, order, urine=window(0.0, 0.1, 0.2)) is None


def test_urine_that_is_not_known_clears_nothing() -> None:
    reading = of("low_urine", 720, urine=UrineWindow(None, None, None, None, None, "see_behind"))
    assert reading is not None
    assert (reading.priority, reading.keeps) == (None, "high")


def test_high_urine_by_its_low_end_and_not_soon_after_relief() -> None:
    much = window(200 / 78, 3.0, 3.5, hours=2)
    reading = of("high_urine", 120, urine=much)
    assert reading is not None
    assert reading.priority == "medium"
    assert of("high_urine", 120, urine=window(199 / 78, 3.0, 3.5)).priority is None  # type: ignore[union-attr]
    placed = ev(CatheterPlaced, 0, french=22, ways=3, tip="straight", material="silicone")
    soon = of("high_urine", 120, placed, urine=much)
    assert soon is not None
    assert soon.priority is None


@pytest.mark.parametrize(
    ("ml", "u", "expected"), [(299, 50, None), (300, 50, "low"), (300, 101, None), (150, 40, None)]
)
def test_a_missing_volume_is_a_question_with_time_and_size(ml: float, u: float, expected: str | None) -> None:
    rows = [row(0, 60, -20, 20), row(60, 120, 20 - ml, ml), row(120, 180, 0, ml)]
    reading = of("unrecorded_volume", 180, rows=rows, behind=Behind(ml, u, t(0), t(180)))
    assert (reading.priority if reading else None) == expected
    if reading is not None:
        assert (reading.facts["start"], reading.facts["end"]) == (t(60), t(120)), (
            "the row in which most went missing"
        )


def question(kind: str, minutes: float, answer: str | None = None, **facts: object) -> Finding:
    return Finding(f"{kind}:e", kind, t(minutes), ("e",), facts, answer is None, answer)  # type: ignore[arg-type]


@pytest.mark.parametrize(("ml", "u", "expected"), [(299, 50, None), (300, 50, "low"), (300, 101, None)])
def test_an_extra_volume_is_asked_about_for_some_hours(ml: float, u: float, expected: str | None) -> None:
    asked = question("volume_extra", 60, ml=ml, u_ml=u, since=t(0))
    reading = of("unrecorded_volume", 60, findings=[asked])
    assert reading is not None
    assert (reading.subject, reading.priority, reading.changes_at) == ("volume extra", expected, t(300))
    assert of("unrecorded_volume", 300, findings=[asked]) is None
    assert (
        of("unrecorded_volume", 60, findings=[question("volume_extra", 60, "confirmed", ml=ml, u_ml=u)])
        is None
    )


def test_a_question_that_breaks_the_balance_stands_until_answered() -> None:
    reading = of("unrecorded_volume", 900, findings=[question("contents_fell", 60, from_ml=1500, to_ml=200)])
    assert reading is not None
    assert (reading.subject, reading.priority) == ("question contents_fell:e", "low")
