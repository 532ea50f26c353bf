"""A neutral table: named, typed columns and plain values. All files that leave the ward are made from these."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from cbi_monitor.wording import say

Cell = datetime | int | float | str | bool | None
Kind = Literal["time", "ml", "number", "word", "free", "staff", "yes"]
"""What a column holds. ``ml``: whole millilitres. ``word``: a word of ours. ``free``: text that a person typed.
``staff``: a staff id. An unknown value is None in every kind and never 0."""

_FITS: dict[str, tuple[type, ...]] = {
    "time": (datetime,),
    "ml": (int,),
    "number": (int, float),
    "word": (str,),
    "free": (str,),
    "staff": (str,),
    "yes": (bool,),
}


@dataclass(frozen=True, slots=True)
class Column:
    """One column. ``name`` is for programs and stays; the heading for people comes from ``wording`` by ``heading``."""

    name: str
    kind: Kind
    unit: str = ""

    @property
    def heading(self) -> str:
        """The heading in the language in use, with its unit."""
        words = say(f"column-{self.name.replace('_', '-')}")
        return f"{words}, {self.unit}" if self.unit else words


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of cells under typed columns. Raises TypeError where a cell does not fit its column."""

    name: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]

    def __post_init__(self) -> None:
        for number, row in enumerate(self.rows, start=1):
            if len(row) != len(self.columns):
                raise TypeError(
                    f"{self.name} row {number}: {len(row)} cells under {len(self.columns)} columns"
                )
            for column, cell in zip(self.columns, row, strict=True):
                if cell is None:
                    continue
                fits = isinstance(cell, _FITS[column.kind]) and (
                    column.kind == "yes" or not isinstance(cell, bool)
                )
                if not fits:
                    raise TypeError(f"{self.name} row {number}, {column.name}: {cell!r} is no {column.kind}")

    @property
    def title(self) -> str:
        """The table's name for people."""
        return say(f"table-{self.name}")

    def column(self, name: str) -> list[Cell]:
        """All cells of one column. Raises KeyError."""
        for place, column in enumerate(self.columns):
            if column.name == name:
                return [row[place] for row in self.rows]
        raise KeyError(name)

    def records(self) -> Iterator[dict[str, Cell]]:
        """Each row by column name."""
        names = [column.name for column in self.columns]
        for row in self.rows:
            yield dict(zip(names, row, strict=True))
