"""The spreadsheet, read back with openpyxl."""

from __future__ import annotations

import io
from datetime import datetime

import pytest
from openpyxl import load_workbook

from cbi_monitor.model import events as e
from tests.exports.sessions import DEMOS, at, demo_report, demo_shifts, entry, quiet, report_of


@pytest.mark.parametrize("name", DEMOS)
def test_every_figure_equals_the_table(name: str) -> None:
    for number in range(len(demo_shifts(name))):
        made = demo_report(name, number)
        book = load_workbook(io.BytesIO(next(iter(made.render(["xlsx"]).values()))))
        for table in made.tables.values():
            sheet = book[table.title]
            assert sheet.freeze_panes == "C2"
            read = list(sheet.iter_rows(min_row=2, max_row=1 + len(table.rows), values_only=True))
            if not table.rows:
                continue
            for line, row in zip(read, table.rows, strict=True):
                for column, cell, found in zip(table.columns, row, line, strict=False):
                    if column.kind in ("ml", "number"):
                        assert found == cell, (table.name, column.name)
                    elif column.kind == "time" and isinstance(cell, datetime):
                        assert found == made.told.teller.clock.local(cell).replace(tzinfo=None, microsecond=0)


def test_text_that_looks_like_a_formula_is_text() -> None:
    events = [
        *quiet(),
        entry(e.Note, 2, text='=HYPERLINK("x")', id="n"),
        entry(e.Note, 2.1, text="+1", id="m"),
    ]
    book = load_workbook(io.BytesIO(next(iter(report_of(events, at(0), at(12)).render(["xlsx"]).values()))))
    cells = [cell for row in book["Entries"].iter_rows() for cell in row]
    assert not any(cell.data_type == "f" for cell in cells)
    assert '\'=HYPERLINK("x")' in [cell.value for cell in cells]


def test_headings_name_units_and_there_is_a_chart() -> None:
    book = load_workbook(io.BytesIO(next(iter(report_of(quiet(), at(0), at(12)).render(["xlsx"]).values()))))
    assert "net urine, mL" in [cell.value for cell in book["Rounds"][1]]
    assert len(book["Rounds"]._charts) == 1
    assert {"Rounds", "Hours", "Shifts", "Entries", "Alerts"} <= set(book.sheetnames)
