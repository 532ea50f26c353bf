"""Colour and clots, by the shipped scale: clear or straw, pale pink, pink, red, dark red."""

from __future__ import annotations

import pytest
from bedside import TH, Laid, ev, judge, look, row, t

from cbi_monitor.alerts.readings import Reading
from cbi_monitor.model.events import EffluentGraded, InflowSet, Ordered, VitalSign, Washout
from cbi_monitor.model.volumes import Range


def of(condition: str, minutes: float, *events: object, **told: object) -> Reading | None:
    found = judge(Laid(*events, **told), TH, t(minutes)).readings  # type: ignore[arg-type]
    return next((reading for reading in found if reading.condition == condition), None)


def grades(*steps: tuple[float, str]) -> list[object]:
    return [ev(EffluentGraded, minutes, grade=grade, clots="none") for minutes, grade in steps]


def said(*steps: tuple[float, str]) -> list[object]:
    return [ev(EffluentGraded, minutes, grade="pink", clots=clots) for minutes, clots in steps]


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        ("pink", "red", "medium"),
        ("pale_pink", "red", "high"),
        ("red", "dark_red", "high"),
        ("red", "pink", None),
        ("red", "red", None),
    ],
)
def test_darker_by_steps(before: str, after: str, expected: str | None) -> None:
    reading = of("colour_deepening", 60, *grades((0, before), (60, after)))
    assert (reading.priority if reading else None) == expected


def test_darker_because_the_inflow_has_slowed_says_so_first() -> None:
    rates = [ev(InflowSet, 0, ml_per_h=600), ev(InflowSet, 30, ml_per_h=400)]
    reading = of("colour_deepening", 60, *rates, *grades((10, "pale_pink"), (60, "red")))
    assert reading is not None
    assert (reading.priority, reading.first_act) == ("medium", "first-act-check-bag-and-clamp")
    assert (reading.facts["rate"], reading.facts["rate_before"]) == (400, 600)


def test_darker_although_more_runs_in_is_high() -> None:
    rates = [ev(InflowSet, 0, ml_per_h=400), ev(InflowSet, 30, ml_per_h=600)]
    reading = of("colour_deepening", 60, *rates, *grades((10, "pink"), (60, "red")))
    assert reading is not None
    assert (reading.priority, reading.says) == ("high", "alert-colour-deepening-says-more")
    alike = [ev(InflowSet, 0, ml_per_h=450), ev(InflowSet, 30, ml_per_h=600)]
    plain = of("colour_deepening", 60, *alike, *grades((10, "pink"), (60, "red")))
    assert plain is not None
    assert plain.priority == "medium"


def test_the_rate_of_a_colour_comes_from_the_row_around_it() -> None:
    rows = [row(0, 60, irrigant_in_ml=600), row(60, 120, irrigant_in_ml=300)]
    reading = of("colour_deepening", 120, *grades((30, "pink"), (118, "red")), rows=rows)
    assert reading is not None
    assert (reading.facts["rate"], reading.facts["rate_before"]) == (300, 600)


def test_deepening_ends_when_the_paler_colour_is_hours_old() -> None:
    events = grades((0, "pink"), (60, "red"), (230, "red"))
    reading = of("colour_deepening", 231, *events)
    assert reading is not None
    assert reading.changes_at == t(240), "the pink of 0 is then older than 4 h"
    assert of("colour_deepening", 241, *events) is None


def test_a_colour_at_the_border_of_two_steps_keeps_one_alert() -> None:
    pale_again = of("colour_deepening", 75, *grades((0, "pink"), (60, "red"), (75, "pink")))
    assert pale_again is not None
    assert (pale_again.priority, pale_again.keeps, pale_again.changes_at) == (None, "medium", t(120))
    assert of("colour_deepening", 120, *grades((0, "pink"), (60, "red"), (75, "pink"), (100, "pink"))) is None


def test_to_and_fro_between_two_steps_is_no_deepening() -> None:
    flips = grades((0, "pink"), (60, "red"), (120, "pink"), (179, "red"))
    reading = of("colour_deepening", 181, *flips)
    assert reading is None or reading.priority is None
    spell = of("colour_deepening", 125, *grades((0, "pink"), (60, "red"), (120, "red")))
    assert spell is not None
    assert spell.priority == "medium", "a spell stays one deepening"
    back_after_hours = of(
        "colour_deepening", 232, *grades((0, "pink"), (60, "red"), (70, "pink"), (231, "red"))
    )
    assert back_after_hours is not None
    assert back_after_hours.priority == "medium"


def test_bleeding_on() -> None:
    dark = grades((0, "dark_red"), (20, "dark_red"))
    early = of("bleeding_on", 29, *dark)
    assert early is not None
    assert (early.priority, early.changes_at) == (None, t(30))
    late = of("bleeding_on", 30, *dark)
    assert late is not None
    assert (late.priority, late.since) == ("high", t(0))
    red = grades((0, "red"), (100, "red"))
    assert getattr(of("bleeding_on", 119, *red), "priority", None) is None
    two_hours = of("bleeding_on", 120, *red)
    assert two_hours is not None
    assert two_hours.priority == "medium"


@pytest.mark.parametrize(
    ("name", "value", "expected"),
    [("systolic", 99, "high"), ("systolic", 100, None), ("pulse", 111, "high"), ("pulse", 110, None)],
)
def test_red_with_a_low_pressure_or_a_fast_pulse(name: str, value: float, expected: str | None) -> None:
    vital = ev(VitalSign, 10, name=name, value=value, unit="x")
    reading = of("bleeding_on", 11, *grades((0, "red")), vital)
    assert (reading.priority if reading else None) == expected


def test_a_pressure_at_the_border_keeps_the_alert() -> None:
    vital = ev(VitalSign, 10, name="systolic", value=104, unit="mmHg")
    reading = of("bleeding_on", 11, *grades((0, "red")), vital)
    assert reading is not None
    assert (reading.priority, reading.keeps) == (None, "high")
    risen = of(
        "bleeding_on", 11, *grades((0, "red")), ev(VitalSign, 10, name="systolic", value=105, unit="mmHg")
    )
    assert risen is not None
    assert risen.keeps == "medium"


def test_bleeding_below_the_ordered_rate_first_asks_for_the_rate() -> None:
    order = ev(Ordered, 0, by_whom="Dr N", how="written", rate_low_ml_per_h=800)
    reading = of("bleeding_on", 120, order, *grades((0, "red")), inflow=Range(500, 600, 700))
    assert reading is not None
    assert reading.first_act == "first-act-bleeding-rate"


@pytest.mark.parametrize(
    ("steps", "minutes", "expected"),
    [
        ([(0, "large")], 1, "medium"), ([(0, "large"), (60, "large")], 61, "high"), ([(0, "specks")], 1, None),
        ([(0, "none"), (60, "small")], 61, "low"), ([(0, "small"), (60, "small")], 61, None),
        ([(0, "none"), (60, "small"), (120, "small")], 121, "low"),
        ([(0, "none"), (60, "small"), (90, "none"), (150, "small")], 151, None),
    ],
)  # fmt: skip
def test_clots(steps: list[tuple[float, str]], minutes: float, expected: str | None) -> None:
    reading = of("clots", minutes, *said(*steps))
    assert (reading.priority if reading else None) == expected


def test_any_clots_with_slower_outflow_are_high() -> None:
    reading = of("clots", 61, *said((60, "small")), seen=look(60, "slow"))
    assert reading is not None
    assert reading.priority == "high"


def test_slower_outflow_by_volume_needs_more_than_its_doubt() -> None:
    def rows(drained: int, u: float) -> list[object]:
        return [
            row(0, 60, irrigant_in_ml=600, drained_ml=650),
            row(60, 120, irrigant_in_ml=600, drained_ml=drained, net_u_ml=u),
        ]

    assert getattr(of("clots", 120, *said((119, "small")), rows=rows(300, 35)), "priority", None) == "high"
    assert getattr(of("clots", 120, *said((119, "small")), rows=rows(300, 180)), "priority", None) != "high"


def test_small_clots_after_a_washout_are_medium() -> None:
    wash = ev(Washout, 30, instilled_ml=50)
    near = of("clots", 61, wash, *said((60, "small")))
    assert near is not None
    assert near.priority == "medium"


def test_clots_clear_after_an_hour_without() -> None:
    steps = said((0, "large"), (30, "none"))
    kept = of("clots", 31, *steps)
    assert kept is not None
    assert (kept.priority, kept.keeps, kept.changes_at) == (None, "medium", t(60))
    assert of("clots", 60, *steps) is None
