"""Every kind of entry has its words; nothing is left out of the catalogue."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest

import cbi_monitor.exports as room
from cbi_monitor.exports import tables
from cbi_monitor.exports.clock import WardClock
from cbi_monitor.exports.told import Teller, kind_words, word
from cbi_monitor.model import events as e
from cbi_monitor.wording import Catalogue
from tests.exports.sessions import SCALE, WARD

CATALOGUE = Catalogue()
TELLER = Teller(WardClock(WARD.zone), SCALE, WARD)


@pytest.mark.parametrize("name", sorted(e.BY_NAME))
def test_every_kind_has_its_words(name: str) -> None:
    assert CATALOGUE.has(f"told-kind-{name.replace('_', '-')}")


@pytest.mark.parametrize(
    ("kind", "field", "prefix"),
    [
        (e.Ordered, "how", ""),
        (e.Ordered, "washout", ""),
        (e.Ordered, "expected_urine", ""),
        (e.CatheterPlaced, "tip", ""),
        (e.CatheterRemoved, "reason", ""),
        (e.InflowSet, "setting", ""),
        (e.InflowStopped, "reason", ""),
        (e.OutflowSeen, "how", ""),
        (e.EffluentGraded, "clots", "clots_"),
        (e.Washout, "resistance", ""),
        (e.Washout, "returned_to", ""),
        (e.Washout, "draining_after", ""),
        (e.Leaked, "extent", ""),
        (e.Symptoms, "urge", ""),
        (e.Symptoms, "abdomen", "abdomen_"),
        (e.CountRestarted, "reason", ""),
        (e.Answered, "answer", "answer_"),
        (e.AlertAnswered, "kind", ""),
        (e.SessionOpened, "weight_from", ""),
        (e.SessionOpened, "sex", ""),
        (e.SessionOpened, "kidney", ""),
    ],
)
def test_every_word_of_a_fixed_list_is_in_the_catalogue(kind: type[e.Event], field: str, prefix: str) -> None:
    def words(annotation: object) -> set[str]:
        found: set[str] = set()
        for inner in get_args(annotation):
            found |= {inner} if isinstance(inner, str) else words(inner)
        return found

    listed = words(kind.model_fields[field].annotation)
    assert listed
    for value in listed:
        assert word(prefix + value)


def test_every_key_that_is_asked_for_is_there() -> None:
    folder = Path(room.__file__).parent
    text = "\n".join(path.read_text(encoding="utf-8") for path in folder.rglob("*.py"))
    keys = set(re.findall(r'say\(\s*"([a-z0-9-]+)"', text))
    assert len(keys) > 100
    assert sorted(key for key in keys if not CATALOGUE.has(key)) == []


def test_every_column_and_table_has_a_heading() -> None:
    for columns in (tables._SUMS, tables._ENTRY, tables._ALERT, tables._LEVEL, tables._FINDING):
        for column in columns:
            assert column.heading


def test_a_removed_field_is_told() -> None:
    mended = e.Corrected(
        session="s",
        at="2026-03-02T07:00:00+00:00",
        target="x",
        fields={"clots": None, "volume": 300},
        reason="slip",
    )
    assert TELLER.tell(mended) == "clots taken out, volume is now 300; reason: slip"
    assert kind_words(mended) == "correction"
