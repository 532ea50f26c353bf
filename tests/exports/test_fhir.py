"""The FHIR bundle: R4 structure by ``fhir.resources`` (R4B models; R4 itself that library no longer has)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle

from cbi_monitor.exports.fhir import LOCAL, LOCAL_CODES, LOINC, UCUM, session_file_in
from cbi_monitor.exports.report import Prepared, whole_span
from cbi_monitor.journal.codec import read_session_file
from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.model import events as e
from cbi_monitor.model.canonical import with_derived_ids
from tests.exports.sessions import (
    DEMOS,
    SCALE,
    WARD,
    at,
    check,
    demo,
    demo_report,
    demo_shifts,
    entry,
    quiet,
    report_of,
)


def _bytes(made: Prepared) -> bytes:
    return next(iter(made.render(["fhir"]).values()))


def _observations(made: Prepared) -> list[dict[str, Any]]:
    resources = [entry["resource"] for entry in json.loads(_bytes(made))["entry"]]
    return [resource for resource in resources if resource["resourceType"] == "Observation"]


def _codes(resource: dict[str, Any]) -> set[tuple[str, str]]:
    return {(coding["system"], coding["code"]) for coding in resource["code"]["coding"]}


@pytest.mark.parametrize("name", DEMOS)
def test_valid_structure_and_references_that_lead_somewhere(name: str) -> None:
    for number in range(len(demo_shifts(name))):
        content = json.loads(_bytes(demo_report(name, number)))
        Bundle.model_validate(content)
        known = {entry["fullUrl"] for entry in content["entry"]}
        assert len(known) == len(content["entry"])
        for part in content["entry"]:
            subject = part["resource"].get("subject")
            assert subject is None or subject["reference"] in known


@pytest.mark.parametrize("name", DEMOS)
def test_net_urine_of_the_span_equals_the_ledgers_and_gross_drainage_is_never_urine(name: str) -> None:
    for number in range(len(demo_shifts(name))):
        made = demo_report(name, number)
        total = made.told.sum()
        if total is None:
            continue
        whole = [o for o in _observations(made) if (LOINC, "9187-6") in _codes(o)]
        last = [o for o in whole if o["effectivePeriod"]["end"] == made.told.teller.clock.iso(total.end)]
        values = [o.get("valueQuantity", {}).get("value") for o in last]
        assert total.net_ml in values
        for observation in _observations(made):
            codes = _codes(observation)
            if {(LOCAL, "gross-drainage"), (LOCAL, "gross-out"), (LOCAL, "irrigant-in")} & codes:
                assert not any(system == LOINC for system, _ in codes)
            quantity = observation.get("valueQuantity")
            if quantity:
                assert quantity["system"] == UCUM


@pytest.mark.parametrize("name", DEMOS)
def test_each_hours_volumes_equal_the_tables(name: str) -> None:
    made = demo_report(name, 0)
    for code, column in (
        ("irrigant-in", "irrigant_in_ml"),
        ("gross-drainage", "drained_ml"),
        ("gross-out", "out_ml"),
        ("net-urine", "net_urine_ml"),
    ):
        found = [o for o in _observations(made) if (LOCAL, code) in _codes(o)]
        values = [o.get("valueQuantity", {}).get("value") for o in found]
        assert values[:-1] == made.tables["hours"].column(column)


def test_every_local_code_is_defined_in_the_bundle() -> None:
    content = json.loads(_bytes(report_of(quiet(), at(0), at(12))))
    systems = [
        entry["resource"] for entry in content["entry"] if entry["resource"]["resourceType"] == "CodeSystem"
    ]
    defined = {
        concept["code"]: concept["definition"] for system in systems[:1] for concept in system["concept"]
    }
    assert set(defined) == set(LOCAL_CODES)
    assert "Not urine output" in defined["gross-drainage"]


def test_unknown_has_a_reason_and_no_value_and_negative_stays_negative() -> None:
    events = with_derived_ids([*quiet(), *check(5, 500, 2400), entry(e.BagRead, 6, line="A", left_ml=400.0)])
    observations = [
        o for o in _observations(report_of(events, at(0), at(12))) if (LOINC, "9187-6") in _codes(o)
    ]
    assert -420 in [o["valueQuantity"]["value"] for o in observations if "valueQuantity" in o]
    questioned = with_derived_ids([*quiet(), *check(5, 2800, 2400)])
    unknown = [o for o in _observations(report_of(questioned, at(0), at(12))) if "dataAbsentReason" in o]
    assert unknown
    assert not any("valueQuantity" in o for o in unknown)


@pytest.mark.parametrize("name", DEMOS)
def test_read_back_the_same_bundle_gives_the_same_ledger(name: str, tmp_path: Path) -> None:
    events = list(demo(name))
    start, end = whole_span(events, WARD)
    file = tmp_path / "back.jsonl"
    file.write_bytes(session_file_in(_bytes(report_of(events, start, end))))
    back = read_session_file(file)
    assert sorted(x.id for x in back) == sorted(x.id for x in events)
    one, two = Ledger(events[0].session, WARD, SCALE), Ledger(events[0].session, WARD, SCALE)
    one.fold_all(events)
    two.fold_all(back)
    assert list(one.rows) == list(two.rows)
    assert list(one.findings) == list(two.findings)


def test_a_changed_or_foreign_bundle_is_refused_in_words() -> None:
    content = json.loads(_bytes(report_of(quiet(), at(0), at(12))))
    with pytest.raises(ValueError, match="not a FHIR Bundle"):
        session_file_in(b"{}")
    with pytest.raises(ValueError, match="not JSON"):
        session_file_in(b"{")
    document = content["entry"][-1]["resource"]["content"][0]["attachment"]
    document["hash"] = "AAAA"
    with pytest.raises(ValueError, match="changed on the way"):
        session_file_in(json.dumps(content).encode())
    content["entry"].pop()
    with pytest.raises(ValueError, match="no session file"):
        session_file_in(json.dumps(content).encode())
