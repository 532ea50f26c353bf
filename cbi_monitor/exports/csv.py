"""CSV after RFC 4180: one file a table, UTF-8, CRLF, a heading line of program names, times in ISO 8601 with offset.

Text that a person typed cannot become a formula in a spreadsheet: a text cell that begins with ``= + - @``, a tab or
another control character gets an apostrophe before it, and control characters inside become spaces. Numbers are
numbers: −40 is written ``-40`` and stays one.
"""

from __future__ import annotations

import csv
import io
from datetime import datetime

from cbi_monitor.exports.clock import WardClock
from cbi_monitor.exports.table import Cell, Table

_STARTERS = "=+-@\uff1d\uff0b\uff0d\uff20"  # full-width forms are read as formulas by some programs too


def harmless(text: str) -> str:
    """``text`` such that no spreadsheet program takes it for a formula.

    Line breaks are kept (RFC 4180 quotes them); other control characters become spaces.
    """
    cleaned = "".join(" " if (ord(c) < 32 and c not in "\r\n") or ord(c) == 127 else c for c in text)
    bare = cleaned.lstrip()
    if bare[:1] and bare[0] in _STARTERS:
        return "'" + cleaned
    if text[:1] and (ord(text[0]) < 32 or ord(text[0]) == 127):
        return "'" + cleaned
    return cleaned


def _written(cell: Cell, clock: WardClock) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, datetime):
        return clock.iso(cell)
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() else repr(cell)
    if isinstance(cell, int):
        return str(cell)
    return harmless(cell)


def csv_bytes(table: Table, clock: WardClock) -> bytes:
    """The whole file. Same table, same bytes."""
    sheet = io.StringIO(newline="")
    writer = csv.writer(sheet, dialect="excel", lineterminator="\r\n")
    writer.writerow([column.name for column in table.columns])
    for row in table.rows:
        writer.writerow([_written(cell, clock) for cell in row])
    return sheet.getvalue().encode("utf-8")
