"""Distress, absorption, blood loss. Numbers are the shipped thresholds; sources stand beside them in that file."""

from __future__ import annotations

import pytest
from bedside import TH, Laid, ev, judge, line, look, t

from cbi_monitor.alerts.readings import Reading
from cbi_monitor.ledger.account import Behind
from cbi_monitor.model.events import BladderScanned, LabResult, SessionDetails, Symptoms, VitalSign


def of(condition: str, minutes: float, *events: object, **told: object) -> Reading | None:
    found = judge(Laid(*events, **told), TH, t(minutes)).readings  # type: ignore[arg-type]
    return next((reading for reading in found if reading.condition == condition), None)


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ({"pain": 7}, "high"), ({"pain": 6}, "medium"), ({"pain": 4}, "medium"), ({"pain": 3}, None),
        ({"spasm": True}, "medium"), ({"abdomen": "hard"}, "high"), ({"abdomen": "full"}, "high"),
        ({"restless": True}, "high"), ({"pulling": True}, "high"), ({"pain": 0}, None), ({"nausea": True}, None),
    ],
)  # fmt: skip
def test_distress(said: dict[str, object], expected: str | None) -> None:
    reading = of("distress", 11, ev(Symptoms, 10, **said))
    assert (reading.priority if reading else None) == expected


def test_a_steady_look_afterwards_makes_it_medium_one_before_does_not() -> None:
    pain = ev(Symptoms, 10, pain=8)
    before, after = look(8), look(12)
    first = of("distress", 13, pain, seen=before, steady=before)
    assert first is not None
    assert (first.priority, first.first_act) == ("high", "first-act-distress")
    second = of("distress", 13, pain, seen=after, steady=after)
    assert second is not None
    assert (second.priority, second.first_act) == ("medium", "first-act-distress-seen")


def test_restlessness_of_many_hours_is_no_longer_new() -> None:
    spell = [ev(Symptoms, m, restless=True) for m in range(0, 360, 60)]
    early = of("distress", 61, *spell[:2])
    assert early is not None
    assert early.priority == "high"
    late = of("distress", 301, *spell)
    assert late is not None
    assert late.priority == "medium"


@pytest.mark.parametrize("unclear", [{"pain": "cannot_say"}, {"pain": 0, "numb_block": True}])
def test_no_pain_from_one_who_cannot_tell_reassures_nobody(unclear: dict[str, object]) -> None:
    reading = of("distress", 21, ev(Symptoms, 10, abdomen="full"), ev(Symptoms, 20, **unclear))
    assert reading is not None
    assert (reading.priority, reading.says) == ("high", "alert-distress-says-cannot-say")


def test_the_abdomen_stands_until_felt_again_or_seen_running_and_comfortable() -> None:
    hard = ev(Symptoms, 10, abdomen="hard", pain=8)
    still = of("distress", 31, hard, ev(Symptoms, 30, pain=0))
    assert still is not None
    assert still.priority == "high"
    assert of("distress", 31, hard, ev(Symptoms, 30, pain=0, abdomen="soft")) is None
    seen = {"seen": look(29), "steady": look(29)}
    assert of("distress", 31, hard, ev(Symptoms, 30, pain=0), **seen) is None
    numb = of("distress", 31, hard, ev(Symptoms, 30, pain=0, numb_block=True), **seen)
    assert numb is not None, "no pain under a block takes nothing back"


def test_pain_has_a_lower_clearing_limit() -> None:
    reading = of("distress", 21, ev(Symptoms, 20, pain=3))
    assert reading is not None
    assert (reading.priority, reading.keeps) == (None, "medium")
    assert of("distress", 21, ev(Symptoms, 20, pain=2)) is None
    six = of("distress", 21, ev(Symptoms, 20, pain=6))
    assert six is not None
    assert (six.priority, six.keeps) == ("medium", "high")


BEHIND = {"behind": Behind(520.0, 60.0, t(0), t(60))}


def test_absorption_needs_a_soft_abdomen_or_small_scan_and_a_steady_drip() -> None:
    seen = {"seen": look(58), "steady": look(58)}
    scan, soft = ev(BladderScanned, 59, volume_ml=80), ev(Symptoms, 59, abdomen="soft", pain=0)
    for evidence in (scan, soft):
        reading = of("absorption", 60, evidence, **BEHIND, **seen)
        assert reading is not None
        assert reading.priority == "medium"
    nothing = of("absorption", 60, **BEHIND, **seen)
    assert nothing is not None
    assert nothing.priority is None
    unseen = of("absorption", 60, soft, **BEHIND)
    assert unseen is not None
    assert unseen.priority is None
    big = of("absorption", 60, ev(BladderScanned, 59, volume_ml=150), **BEHIND, **seen)
    assert big is not None
    assert big.priority is None


def test_a_scan_counts_for_an_hour() -> None:
    seen = {"seen": look(58), "steady": look(58)}
    reading = of("absorption", 60, ev(BladderScanned, 30, volume_ml=80), **BEHIND, **seen)
    assert reading is not None
    assert reading.changes_at == t(90)
    later = of("absorption", 90, ev(BladderScanned, 30, volume_ml=80), **BEHIND, **seen)
    assert later is not None
    assert later.priority is None


@pytest.mark.parametrize(
    "sign",
    [
        ev(Symptoms, 59, confused=True), ev(Symptoms, 59, nausea=True), ev(Symptoms, 59, breathless=True),
        ev(Symptoms, 59, shoulder_tip_pain=True), ev(Symptoms, 59, abdomen="hard"),
        ev(VitalSign, 59, name="systolic", value=89, unit="mmHg"),
        ev(VitalSign, 59, name="pulse", value=49, unit="/min"),
        ev(LabResult, 59, name="na", value=129, unit="mmol/L"),
    ],
)  # fmt: skip
def test_absorption_with_a_sign_is_high_without_further_proof(sign: object) -> None:
    reading = of("absorption", 60, sign, **BEHIND)
    assert reading is not None
    assert (reading.priority, reading.first_act) == ("high", "first-act-absorption-signs")


def test_sodium_that_fell_by_five() -> None:
    base = ev(SessionDetails, 1, baseline_na=140.0)
    fell = of("absorption", 60, base, ev(LabResult, 59, name="na", value=135, unit="mmol/L"), **BEHIND)
    assert fell is not None
    assert fell.priority == "high"
    not_yet = of("absorption", 60, base, ev(LabResult, 59, name="na", value=135.5, unit="mmol/L"), **BEHIND)
    assert not_yet is not None
    assert not_yet.priority is None


def test_an_electrolyte_free_fluid_halves_the_volumes() -> None:
    half = {"behind": Behind(260.0, 60.0, t(0), t(60))}
    confused = ev(Symptoms, 59, confused=True)
    assert of("absorption", 60, confused, lines=(line(),), **half) is None
    reading = of("absorption", 60, confused, lines=(line(fluid="glycine_1_5"),), **half)
    assert reading is not None
    assert reading.priority == "high"


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        (121, "g/L", None),
        (120, "g/L", "medium"),
        (12.0, "g/dL", "medium"),
        (110, "g/L", "high"),
        (79, "g/L", "high"),
        (120, "furlongs", None),
    ],
)
def test_blood_loss_from_the_baseline(value: float, unit: str, expected: str | None) -> None:
    base = ev(SessionDetails, 1, baseline_hb=140.0)
    reading = of("blood_loss", 60, base, ev(LabResult, 59, name="Hb", value=value, unit=unit))
    assert (reading.priority if reading else None) == expected


def test_without_a_baseline_the_first_value_is_one() -> None:
    reading = of(
        "blood_loss",
        90,
        ev(LabResult, 30, name="hb", value=130, unit="g/L"),
        ev(LabResult, 80, name="hb", value=108, unit="g/L"),
    )
    assert reading is not None
    assert (reading.priority, reading.facts["fell"], reading.as_of) == ("medium", 22, t(80))
