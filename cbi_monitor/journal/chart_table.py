"""A table in a text file: rows with their lines, and everything about its form that cannot be read."""

from __future__ import annotations

import csv
import difflib
import io
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from cbi_monitor.model.findings import Refusal, Refused
from cbi_monitor.wording import say


def refuse(
    kind: str, where: str, line: int = 0, field: str = "", *, write: str | None = None, **facts: str
) -> Refusal:
    """A refusal by its kind: ``charts-<kind>-what`` and ``charts-<write>-write``; ``field`` names the column."""
    return Refusal(
        where,
        line,
        0,
        field,
        say(f"charts-{kind}-what", **facts),
        say(f"charts-{write or kind}-write", **facts),
    )


def quoted(text: str) -> str:
    """A cell as refusals show it."""
    return f'"{text}"' if len(text) <= 60 else f'"{text[:57]}…"'


def guess(word: str, known: Iterable[str]) -> str | None:
    """The known word that was probably meant."""
    lowered = {name.casefold(): name for name in known}
    close = difflib.get_close_matches(word.casefold(), lowered, n=1, cutoff=0.7)
    return lowered[close[0]] if close else None


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row: the line it begins on, and its cells by column, without blanks around them."""

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Table:
    """All rows of a file. ``ended``: the last line has its line end, so that it is not cut off."""

    where: str
    columns: tuple[str, ...]
    rows: tuple[TableRow, ...]
    ended: bool


def read_table(
    path: Path, encoding: str, delimiter: str, needed: Iterable[str], refusals: list[Refusal]
) -> Table:
    """The table, its faulty lines put into ``refusals``. Raises Refused where no row can be read at all.

    ``needed``: the columns that the map names.
    """
    where = path.name
    try:
        data = path.read_bytes()
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise Refused((refuse("cannot-open", where, why=why),)) from error
    text = _decoded(data, encoding, where)
    lines = _lines(text, delimiter, where, refusals)
    line, header = next(lines, (1, []))
    if not any(header):
        raise Refused((*refusals, refuse("empty", where, 1)))
    _check_header(header, needed, where, line)
    rows: list[TableRow] = []
    for line, cells in lines:
        if len(cells) != len(header):
            refusals.append(refuse("cells", where, line, given=str(len(cells)), wanted=str(len(header))))
        else:
            rows.append(TableRow(line, dict(zip(header, cells, strict=True))))
    if not rows and not refusals:
        raise Refused((refuse("empty", where, line),))
    return Table(where, tuple(header), tuple(rows), text.endswith(("\n", "\r")))


def _decoded(data: bytes, encoding: str, where: str) -> str:
    try:
        text = data.decode(encoding)
    except (UnicodeDecodeError, UnicodeError) as error:
        start = getattr(error, "start", 0)
        line = data.count(b"\n", 0, start) + 1
        byte = f"0x{data[start]:02x}" if data else "-"
        raise Refused((refuse("encoding", where, line, encoding=encoding, byte=byte),)) from error
    text = text.removeprefix("\ufeff")
    if "\x00" in text:
        line = text.count("\n", 0, text.index("\x00")) + 1
        raise Refused((refuse("encoding", where, line, encoding=encoding, byte="0x00"),))
    return text


def _lines(text: str, delimiter: str, where: str, refusals: list[Refusal]) -> Iterator[tuple[int, list[str]]]:
    """Each row that holds anything, with the line it begins on."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    while True:
        begins = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            refusals.append(refuse("form", where, begins, why=str(error)))
            continue
        cells = [cell.strip() for cell in cells]
        if any(cells):
            yield begins, cells


def _check_header(header: list[str], needed: Iterable[str], where: str, line: int) -> None:
    faults: list[Refusal] = []
    known = ", ".join(name for name in header if name)
    for name in dict.fromkeys(needed):
        if header.count(name) > 1:
            faults.append(refuse("two-columns", where, line, name, name=name))
        elif name not in header:
            near = guess(name, header)
            write = "no-column-guess" if near else None
            faults.append(
                refuse("no-column", where, line, name, write=write, name=name, known=known, guess=near or "")
            )
    if faults:
        raise Refused(tuple(faults))
