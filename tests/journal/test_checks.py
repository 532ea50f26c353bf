"""Corrections laid over one entry, as screens ask for it before they save."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from cbi_monitor.journal.checks import corrected_or_refused, laid_over
from cbi_monitor.model.events import BagRead, Corrected, Event
from tests.journal.lines import event

READ = event("bag_read", "r", line="A", left_ml=100)


def corrected(entry: str, recorded: str, **fields: object) -> Corrected:
    made = event("corrected", entry, target="r", fields=fields, reason="misread", recorded=recorded)
    assert isinstance(made, Corrected)
    return made


EIGHT, NINE = "2026-03-01T08:00:00+00:00", "2026-03-01T09:00:00+00:00"


def test_the_one_typed_last_stands():
    both = [corrected("c2", NINE, left_ml=300), corrected("c1", EIGHT, left_ml=200)]
    assert laid_over(READ, both).left_ml == 300
    assert laid_over(READ, both) == corrected_or_refused(READ, both)


def test_of_two_typed_at_one_instant_the_greater_id_stands():
    both = [corrected("b", EIGHT, left_ml=300), corrected("a", EIGHT, left_ml=200)]
    assert laid_over(READ, both).left_ml == 300


def test_null_removes_a_field_and_the_time_can_be_corrected():
    read = laid_over(READ, [corrected("c", EIGHT, left_ml=None, left_g=90, at="2026-03-01T06:30:00+01:00")])
    assert isinstance(read, BagRead)
    assert (read.left_ml, read.left_g) == (None, 90)
    assert read.at.isoformat() == "2026-03-01T06:30:00+01:00"


def test_either_spelling_of_a_volume_corrects_it():
    void = event("voided", "r", volume=100)
    assert laid_over(void, [corrected("c", EIGHT, volume_ml=120)]).volume == 120


@pytest.mark.parametrize(
    ("fields", "field"), [({"left_ml": -1}, "left_ml"), ({"left_ml": None}, ""), ({"x": 1}, "x")]
)
def test_what_would_be_refused_is_told_in_plain_words(fields: dict[str, object], field: str):
    wrong = [corrected("c", EIGHT, **fields)]
    told = corrected_or_refused(READ, wrong)
    assert not isinstance(told, Event)
    assert [fault.field for fault in told] == [field]
    assert all(fault.what and fault.write for fault in told)
    with pytest.raises(ValidationError):
        laid_over(READ, wrong)
