"""The spreadsheet: a sheet for each table with real numbers, dates and units, frozen headings, a chart of the balance.

Times are written by the ward's clock without offset, as spreadsheets know none; where the clock shows an hour twice the
CSV tells them apart. Texts are written as texts, so nothing that a person typed can become a formula.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from cbi_monitor.exports.clock import WardClock
from cbi_monitor.exports.csv import harmless
from cbi_monitor.exports.table import Column, Table
from cbi_monitor.wording import say

_WIDTH = {"time": 17, "ml": 11, "number": 11, "word": 14, "free": 28, "staff": 10, "yes": 9}
_LONGEST = 32_767  # what one cell can hold (ECMA-376 programs agree on it)
SHEETS = ("rounds", "hours", "shifts", "days", "events", "alerts", "levels", "findings")


def xlsx_bytes(
    tables: Mapping[str, Table],
    clock: WardClock,
    *,
    title: str,
    about: list[tuple[str, str]],
    printed_at: datetime,
) -> bytes:
    """The whole workbook. ``about``: lines of the first sheet (what, figure), cautions among them.

    Same input, same bytes: ``printed_at`` is the creation time, no clock is read.
    """
    import xlsxwriter

    file = io.BytesIO()
    book = xlsxwriter.Workbook(
        file,
        {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "strings_to_numbers": False,
        },
    )
    local = clock.local(printed_at).replace(tzinfo=None)
    book.set_properties({"title": title, "created": local, "comments": say("caution-short")})
    style = {
        "head": book.add_format(
            {
                "bold": True,
                "text_wrap": True,
                "valign": "top",
                "bottom": 1,
                "bg_color": "#eef1ec",
                "font_color": "#1c2421",
            }
        ),
        "time": book.add_format({"num_format": "yyyy-mm-dd hh:mm"}),
        "ml": book.add_format({"num_format": "#,##0"}),
        "number": book.add_format({"num_format": "0.00"}),
        "text": book.add_format({"text_wrap": True, "valign": "top"}),
        "title": book.add_format({"bold": True, "font_size": 14}),
        "label": book.add_format({"font_color": "#56625c", "valign": "top"}),
    }
    first = book.add_worksheet(say("report-sheet-about"))
    first.set_column(0, 0, 26)
    first.set_column(1, 1, 96)
    first.write_string(0, 0, title, style["title"])
    for line, (label, text) in enumerate(about, start=2):
        first.write_string(line, 0, label, style["label"])
        first.write_string(line, 1, harmless(text), style["text"])
    sheets: dict[str, Any] = {}
    for name in SHEETS:
        if name in tables:
            sheets[name] = _sheet(book, tables[name], clock, style)
    if "rounds" in tables and tables["rounds"].rows:
        _chart(book, sheets["rounds"], tables["rounds"])
    book.close()
    return file.getvalue()


def _sheet(book: Any, table: Table, clock: WardClock, style: Mapping[str, Any]) -> Any:
    sheet = book.add_worksheet(table.title)
    sheet.freeze_panes(1, 2)
    sheet.set_row(0, 45)
    sheet.set_landscape()
    sheet.set_paper(9)
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)
    for place, column in enumerate(table.columns):
        sheet.set_column(place, place, _WIDTH[column.kind])
        sheet.write_string(0, place, column.heading, style["head"])
    for line, row in enumerate(table.rows, start=1):
        for place, (column, cell) in enumerate(zip(table.columns, row, strict=True)):
            if cell is not None:
                _write(sheet, line, place, column, cell, clock, style)
    if table.rows:
        sheet.autofilter(0, 0, len(table.rows), len(table.columns) - 1)
    return sheet


def _write(
    sheet: Any, line: int, place: int, column: Column, cell: Any, clock: WardClock, style: Mapping[str, Any]
) -> None:
    if isinstance(cell, datetime):
        sheet.write_datetime(
            line, place, clock.local(cell).replace(tzinfo=None, microsecond=0), style["time"]
        )
    elif isinstance(cell, bool):
        sheet.write_string(line, place, say("report-yes" if cell else "report-no"))
    elif isinstance(cell, (int, float)):
        sheet.write_number(line, place, cell, style["ml" if column.kind == "ml" else "number"])
    else:
        sheet.write_string(line, place, harmless(cell)[:_LONGEST])


def _chart(book: Any, sheet: Any, table: Table) -> None:
    """Running net urine with the ends of its range, over time."""
    place = {column.name: number for number, column in enumerate(table.columns)}
    last = len(table.rows)
    chart = book.add_chart({"type": "scatter", "subtype": "straight"})
    lines = (
        ("running_net_urine_ml", "#3b6b35", 2.25, "solid"),
        ("running_low_ml", "#56625c", 1, "dash"),
        ("running_high_ml", "#56625c", 1, "dash"),
    )
    for name, colour, width, dash in lines:
        chart.add_series(
            {
                "name": table.columns[place[name]].heading,
                "categories": [table.title, 1, place["end"], last, place["end"]],
                "values": [table.title, 1, place[name], last, place[name]],
                "line": {"color": colour, "width": width, "dash_type": dash},
            }
        )
    chart.set_title({"name": say("report-chart-running"), "name_font": {"size": 11}})
    chart.set_x_axis(
        {"num_format": "dd hh:mm", "label_position": "low", "major_gridlines": {"visible": False}}
    )
    chart.set_y_axis(
        {
            "name": "mL",
            "num_format": "#,##0",
            "major_gridlines": {"visible": True, "line": {"color": "#d3d7d0"}},
        }
    )
    chart.set_legend({"position": "bottom"})
    chart.set_size({"width": 760, "height": 320})
    chart.show_blanks_as("gap")
    sheet.insert_chart(last + 2, 1, chart)
