"""Tables for people, JSON for programs, and a bar on long runs that only a terminal sees."""

from __future__ import annotations

import json
import sys
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, TypeVar

T = TypeVar("T")


def width(text: str) -> int:
    """Columns that a text takes on a terminal."""
    wide = sum(unicodedata.east_asian_width(char) in "WF" for char in text)
    return len(text) + wide - sum(unicodedata.combining(char) != 0 for char in text)


def table(
    headings: Sequence[str], rows: Sequence[Sequence[str]], *, right: frozenset[int] = frozenset()
) -> str:
    """Lines of aligned columns; those whose places are in ``right`` stand right. The last column is not padded."""
    widths = [
        max([width(heading), *(width(row[place]) for row in rows)]) for place, heading in enumerate(headings)
    ]
    lines = [_line(headings, widths, right), "  ".join("─" * size for size in widths)]
    lines.extend(_line(row, widths, right) for row in rows)
    return "\n".join(lines)


def _line(cells: Sequence[str], widths: Sequence[int], right: frozenset[int]) -> str:
    parts = []
    for place, (cell, size) in enumerate(zip(cells, widths, strict=True)):
        gap = " " * (size - width(cell))
        parts.append(gap + cell if place in right else cell + gap)
    return "  ".join(parts).rstrip()


def json_text(value: Any, *, lines: bool = False) -> str:
    """JSON for programs: UTF-8, ``lines``: compact, for one object a line."""
    if lines:
        return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return json.dumps(value, ensure_ascii=False, indent=1, allow_nan=False)


def progress(things: Iterable[T], total: int, what: str) -> Iterator[T]:
    """The things, with a bar on stderr while it is a terminal and there are several."""
    if total < 2 or not sys.stderr.isatty():
        yield from things
        return
    try:
        for number, thing in enumerate(things):
            _bar(number, total, what)
            yield thing
        _bar(total, total, what)
    finally:
        sys.stderr.write("\r\x1b[K")
        sys.stderr.flush()


def _bar(done: int, total: int, what: str) -> None:
    filled = round(24 * done / total)
    sys.stderr.write(f"\r{what} {'█' * filled}{'·' * (24 - filled)} {done}/{total}\x1b[K")
    sys.stderr.flush()
