"""The JSON Schema says of a line what reading it says."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from cbi_monitor.journal.codec import parse_event
from cbi_monitor.journal.schema import session_schema
from cbi_monitor.model.canonical import payload_of
from cbi_monitor.model.events import KINDS, Event
from tests.journal.lines import line
from tests.strategies import payloads

SCHEMA = session_schema()
VALIDATOR = Draft202012Validator(SCHEMA)
BY_KIND = {
    name: Draft202012Validator({**SCHEMA, "oneOf": [{"$ref": f"#/$defs/{name}"}]}) for name in SCHEMA["$defs"]
}


def passes(payload: dict[str, Any]) -> bool:
    return VALIDATOR.is_valid(payload)


def test_the_schema_is_one_of_the_dialect_it_names_and_can_be_written_out():
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert json.loads(json.dumps(SCHEMA)) == SCHEMA
    assert len(SCHEMA["oneOf"]) == 53


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
@given(data=st.data())
@settings(max_examples=10)
def test_every_line_that_is_read_fits_the_schema(kind: type[Event], data: st.DataObject):
    payload = data.draw(payloads(kind))
    event = parse_event(payload)
    assert isinstance(event, Event)
    faults = list(BY_KIND[payload["event"]].iter_errors(payload))
    assert not faults
    assert passes(payload_of(event))


WRONG = [
    line("bag_reed", line="A", left_ml=1),
    line("bag_read", line="A"),
    line("bag_read", line="A", left_ml=None),
    line("bag_read", line="A", left_ml=1, left_g=1),
    line("bag_read", line="A", left_ml=1, not_measured=True),
    line("bag_read", line="A", left_ml=-1),
    line("bag_read", line="A", left_ml="1"),
    line("bag_read", line="A", left_ml=1, colour="red"),
    line("bag_read", left_ml=1),
    line("bag_read", line="A", left_ml=1, at="2026-03-01T07:00:00"),
    line("bag_read", line="A", left_ml=1, at="2026-03-01"),
    line("bag_read", line="A", left_ml=1, at=1772348400),
    line("voided", volume=1, volume_ml=1),
    line("voided"),
    line("drainage_emptied", volume=1, mass_g=1),
    line("inflow_set"),
    line("inflow_set", ml_per_h=1, setting="slow"),
    line("inflow_set", drops_per_min=1),
    line("washout", pushes=1),
    line("washout", instilled_ml=1, pushes=1, syringe_ml=50),
    line("outflow_seen", running=True, how="none"),
    line("outflow_seen", running="yes"),
    line("symptoms", pain=11),
    line("corrected", target="x", fields={}, reason="r"),
    line("corrected", target="x", fields={"session": "t"}, reason="r"),
    line("drainage_bag_placed", capacity_ml=2000, old_contents_ml=1, old_mass_g=1),
    '{"session":"s","at":"2026-03-01T07:00:00+00:00","text":"no kind"}',
    '{"event":"note","session":"s","text":"no time"}',
]


@pytest.mark.parametrize("text", WRONG)
def test_a_line_that_is_refused_does_not_fit_the_schema(text: str):
    assert isinstance(parse_event(json.loads(text)), tuple)
    assert not passes(json.loads(text))


@pytest.mark.parametrize(
    "text",
    [
        line("bag_down", line="A", found_empty=True),
        line("bag_down", line="A", found_empty=True, left_ml=0),
        line("leaked", extent="spot"),
        line("leaked", extent="spot", volume_ml=20),
        line("voided", volume_ml=20),
        line("voided", not_measured=True, about=None),
        line("session_opened", patient="x", allergies="latex", blood_thinners="stopped"),
        line("handed_over", **{"from": "a", "to": "b", "read_back": True}),
        line("back", at="2213-12-31T23:59:59.5+05:45"),
        line("back", at="2026-03-01T07:00Z"),
    ],
)
def test_a_line_that_is_read_in_one_of_its_spellings_fits_the_schema(text: str):
    assert isinstance(parse_event(json.loads(text)), Event)
    assert passes(json.loads(text))
