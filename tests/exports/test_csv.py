"""CSV after RFC 4180 that no spreadsheet program can take for formulas."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cbi_monitor.exports.clock import WardClock
from cbi_monitor.exports.csv import csv_bytes, harmless
from cbi_monitor.exports.table import Column, Table
from tests.exports.sessions import DEMOS, WARD, demo_report

CLOCK = WardClock("Europe/London")


def _read(content: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(content.decode("utf-8"), newline="")))


@pytest.mark.parametrize("typed", ["=1+1", "+44", "-2", "@sum", "\t=1", "  =1", "\uff1d1", "\r=1", "\x00=1"])
def test_typed_text_cannot_become_a_formula(typed: str) -> None:
    assert harmless(typed).startswith("'")


def test_ordinary_text_stays_as_typed() -> None:
    assert harmless("pain 7; not draining, −40") == "pain 7; not draining, −40"


@given(st.text())
def test_no_text_begins_like_a_formula(typed: str) -> None:
    written = harmless(typed)
    assert written.lstrip()[:1] not in set("=+-@") or not written.lstrip()
    assert not any(ord(c) < 32 and c not in "\r\n" for c in written)


def test_negative_numbers_stay_numbers_and_unknown_stays_empty() -> None:
    table = Table(
        "rounds",
        (Column("net_urine_ml", "ml", "mL"), Column("remarks", "free")),
        ((-40, "-40"), (None, None)),
    )
    assert csv_bytes(table, CLOCK) == b"net_urine_ml,remarks\r\n-40,'-40\r\n,\r\n"


def test_commas_quotes_and_line_breaks_come_back() -> None:
    said = 'told: "stop", then\nwait'
    table = Table("events", (Column("what", "free"),), ((said,),))
    assert _read(csv_bytes(table, CLOCK))[1] == [said]


def test_times_carry_the_wards_offset() -> None:
    table = Table("rounds", (Column("start", "time"),), ((datetime(2026, 7, 1, 6, tzinfo=UTC),),))
    assert _read(csv_bytes(table, CLOCK))[1] == ["2026-07-01T07:00:00+01:00"]


def test_a_cell_of_the_wrong_kind_is_refused() -> None:
    with pytest.raises(TypeError, match="net_urine_ml"):
        Table("rounds", (Column("net_urine_ml", "ml", "mL"),), ((1.5,),))
    with pytest.raises(TypeError, match="is no ml"):
        Table("rounds", (Column("net_urine_ml", "ml", "mL"),), ((True,),))


@pytest.mark.parametrize("name", DEMOS)
def test_every_figure_of_a_demo_session_equals_the_ledgers(name: str) -> None:
    made = demo_report(name, 0)
    files = made.render(["csv"])
    content = next(content for file, content in files.items() if file.endswith("_rounds.csv"))
    heading, *lines = _read(content)
    told = made.told
    rows = [row for row in told.book.rows if row.end > told.from_ and row.start < (told.as_of or told.from_)]
    assert len(lines) == len(rows) > 0
    for line, row in zip(lines, rows, strict=True):
        cells = dict(zip(heading, line, strict=True))
        for column, value in (
            ("irrigant_in_ml", row.irrigant_in_ml),
            ("drained_ml", row.drained_ml),
            ("net_urine_ml", row.net_ml),
            ("running_net_urine_ml", row.running_ml),
            ("leaked_ml", row.leaked_ml),
            ("net_urine_low_ml", None if row.net_low_ml is None else round(row.net_low_ml)),
        ):
            assert cells[column] == ("" if value is None else str(value)), (column, row.end)
    assert WARD.zone == "Europe/London"
