"""Canonical bytes, derived ids, the total order."""

from __future__ import annotations

import hashlib
import json
import random
from datetime import UTC, datetime
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cbi_monitor.model.canonical import canonical_bytes, derived_id, order_key, payload_of, with_derived_ids
from cbi_monitor.model.events import BY_NAME, KINDS, Corrected, Event, IrrigantRunIn
from tests.strategies import events, payloads


def read(line: bytes) -> Event:
    told = json.loads(line)
    return BY_NAME[told["event"]].model_validate(told)


@given(events())
def test_reading_what_was_written_gives_the_same_entry(event: Event):
    again = read(canonical_bytes(event))
    assert again == event
    assert canonical_bytes(again) == canonical_bytes(event)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
@given(data=st.data())
@settings(max_examples=20)
def test_the_order_of_keys_blanks_and_nulls_in_a_file_do_not_matter(kind: type[Event], data: st.DataObject):
    payload = data.draw(payloads(kind))
    shuffled = list(payload.items())
    random.Random(1).shuffle(shuffled)
    spaced = json.dumps(dict(shuffled), indent=1)
    bare = {name: value for name, value in payload.items() if value is not None}
    assert canonical_bytes(read(spaced.encode())) == canonical_bytes(kind.model_validate(bare))


def test_the_form_written_out():
    event = IrrigantRunIn(
        session="bed-4", at=datetime(2026, 3, 1, 7, tzinfo=UTC), volume=250.0, by="K.Müller", id="x"
    )
    assert (
        canonical_bytes(event)
        == (
            '{"at":"2026-03-01T07:00:00+00:00","by":"K.Müller","event":"irrigant_run_in","id":"x","session":"bed-4",'
            '"volume":250}'
        ).encode()
    )


def test_the_offset_stays_as_it_was_written():
    event = read(b'{"event":"back","session":"s","at":"2026-03-29T01:30:00.25+01:00"}')
    assert payload_of(event)["at"] == "2026-03-29T01:30:00.250000+01:00"


def test_both_spellings_of_a_volume_are_one():
    short = read(b'{"event":"voided","session":"s","at":"2026-03-01T07:00:00+00:00","volume":120}')
    long = read(b'{"event":"voided","session":"s","at":"2026-03-01T07:00:00+00:00","volume_ml":120}')
    assert canonical_bytes(short) == canonical_bytes(long)


def test_a_null_that_removes_a_field_stays_in_a_correction():
    event = Corrected(
        session="s", at=datetime(2026, 3, 1, tzinfo=UTC), target="x", fields={"left_ml": None}, reason="r"
    )
    assert payload_of(event)["fields"] == {"left_ml": None}


def bare(text: str = "x", **more: object) -> Event:
    return BY_NAME["note"].model_validate(
        {"session": "s", "at": "2026-03-01T07:00:00+00:00", "text": text, **more}
    )


def test_entries_without_an_id_get_one_by_content_and_by_count_among_equals():
    first, second, third = with_derived_ids([bare(), bare("y"), bare()])
    assert len({first.id, second.id, third.id}) == 3
    assert with_derived_ids([bare(), bare("y"), bare()]) == [first, second, third]
    assert with_derived_ids([bare("y"), bare(), bare()])[0].id == second.id


def test_a_derived_id_is_a_uuid_of_version_8():
    """RFC 9562, 5.8: version 8 in bits 48 to 51, variant 0b10 in bits 64 and 65."""
    made = UUID(derived_id(payload_of(bare()), 0))
    assert made.version == 8
    assert made.int >> 62 & 0b11 == 0b10


def test_a_derived_id_stays_what_it_is():
    """Files that were imported once must add nothing when a later program imports them again."""
    digest = hashlib.sha256(b'{"event":"note","text":"x"}\x000').hexdigest()
    assert digest.startswith("6548cdb1aecb")
    assert derived_id({"event": "note", "text": "x"}, 0).replace("-", "").startswith("6548cdb1aecb8")
    assert derived_id({"text": "x", "event": "note"}, 0) == "6548cdb1-aecb-8db8-b691-338eb3756b94"


def test_an_id_that_is_given_stays():
    given_id = bare(id="mine")
    assert with_derived_ids([given_id]) == [given_id]


@given(st.lists(events(), max_size=8), st.randoms(use_true_random=False))
def test_the_order_is_total_and_does_not_ask_how_entries_came_in(some: list[Event], chance: random.Random):
    ordered = sorted(some, key=order_key)
    shuffled = list(some)
    chance.shuffle(shuffled)
    assert [canonical_bytes(e) for e in sorted(shuffled, key=order_key)] == [
        canonical_bytes(e) for e in ordered
    ]
    for one in some:
        for other in some:
            same = canonical_bytes(one) == canonical_bytes(other)
            assert same or (order_key(one) < order_key(other)) != (order_key(other) < order_key(one))


def test_at_one_instant_what_is_there_is_read_before_it_is_changed():
    at = {"session": "s", "at": "2026-03-01T07:00:00+00:00"}
    lines = [
        {"event": "symptoms", **at, "pain": 2},
        {"event": "inflow_set", **at, "line": "A", "ml_per_h": 500},
        {"event": "bag_read", **at, "line": "A", "left_ml": 2990, "of": "new"},
        {"event": "bag_hung", **at, "line": "A", "label_ml": 3000, "fluid": "saline_0.9"},
        {"event": "bag_down", **at, "line": "A", "left_ml": 40},
        {"event": "bag_read", **at, "line": "B", "left_ml": 700},
        {"event": "bag_read", **at, "line": "A", "left_ml": 60},
        {"event": "ordered", **at, "by_whom": "Dr", "how": "phone"},
        {"event": "session_opened", **at, "patient": "12"},
    ]
    events = [BY_NAME[str(line["event"])].model_validate(line) for line in lines]
    assert sorted(events, key=order_key) == events[::-1]


def test_the_same_instant_in_another_offset_is_the_same_place_in_the_order():
    early = bare(at="2026-03-01T09:00:00+02:00")
    late = bare(at="2026-03-01T07:00:01+00:00")
    assert order_key(early) < order_key(late)
