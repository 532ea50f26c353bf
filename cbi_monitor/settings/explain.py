"""What each value of a ward's file means, out of the comments above it; and what differs between two files.

A comment block that stands directly above a key is its meaning; its line that begins with "Unit:" holds the unit, and
after "Source:" where the number comes from.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path as File
from typing import Any, TypeVar

from pydantic import BaseModel

from cbi_monitor.settings.faults import toml_text
from cbi_monitor.settings.layout import Path, layout_of, spoken
from cbi_monitor.settings.reading import Kind, read

M = TypeVar("M", bound=BaseModel)

_UNIT_SOURCE = re.compile(r"^Unit:\s*(?P<unit>.*?)\.\s*(?:Source:\s*(?P<source>.*))?$")


@dataclass(frozen=True, slots=True)
class Explained:
    """One value of a file. ``shipped`` is the shipped value (None: the shipped file has none), ``line`` counts from 1.

    ``unit`` is the shipped file's where the ward's own comment gives none; ``source`` stays empty then, because a
    number that the ward changed no longer has the shipped one's source.
    """

    path: str
    value: object
    shipped: object
    unit: str
    meaning: str
    source: str
    line: int

    @property
    def changed(self) -> bool:
        """Whether the ward set another value than the shipped one."""
        return self.value != self.shipped

    @property
    def table(self) -> str:
        """The table that the value stands in: the condition, in a threshold file."""
        return self.path.partition(".")[0]

    def written(self) -> str:
        """The value as the file has it."""
        return toml_text(self.value)


@dataclass(frozen=True, slots=True)
class Difference:
    """A value that two files give differently; None where one has none."""

    path: str
    here: object
    there: object


def explain(kind: Kind[M], path: File | None = None) -> list[Explained]:
    """Every value of the file, in the file's order. Raises Refused where the file does not pass."""
    taken = read(kind, path)
    shipped = {where: comment for where, _, comment, _ in _told(kind.shipped)}
    shipped_values = {where: value for where, value, _, _ in _told(kind.shipped)}
    explained = []
    for where, value, comment, line in _told(taken.text):
        own = _comment(comment)
        theirs = _comment(shipped.get(where, ()))
        same = where in shipped_values and shipped_values[where] == value
        explained.append(
            Explained(
                spoken(where),
                value,
                shipped_values.get(where),
                own[1] or theirs[1],
                own[0] or theirs[0],
                own[2] or (theirs[2] if same else ""),
                line,
            )
        )
    return explained


def tables(kind: Kind[M], path: File | None = None) -> dict[str, str]:
    """What stands above each table's heading, by the table's name. Raises Refused where the file does not pass."""
    taken = read(kind, path)
    places = layout_of(taken.text)
    values = tomllib.loads(taken.text)
    return {
        str(where[0]): " ".join(places[where].comment)
        for where in places
        if len(where) == 1 and isinstance(values.get(str(where[0])), dict)
    }


def differences(here: BaseModel, there: BaseModel) -> list[Difference]:
    """Every value that differs, by path, in the order of the type."""
    mine, theirs = dict(_leaves(here.model_dump())), dict(_leaves(there.model_dump()))
    paths = [*mine, *(path for path in theirs if path not in mine)]
    return [
        Difference(spoken(path), mine.get(path), theirs.get(path))
        for path in paths
        if mine.get(path) != theirs.get(path)
    ]


def _leaves(values: Any, path: Path = ()) -> Iterator[tuple[Path, Any]]:
    if isinstance(values, Mapping):
        for key, inner in values.items():
            yield from _leaves(inner, (*path, key))
    elif isinstance(values, (list, tuple)) and any(isinstance(inner, Mapping) for inner in values):
        for nth, inner in enumerate(values):
            yield from _leaves(inner, (*path, nth))
    else:
        yield path, list(values) if isinstance(values, tuple) else values


def _told(text: str) -> list[tuple[Path, Any, tuple[str, ...], int]]:
    """Each value of the text with the comment above it and its line, in the order of the lines."""
    places = layout_of(text)
    found = [
        (path, value, places[path].comment, places[path].line)
        for path, value in _leaves(tomllib.loads(text))
        if path in places
    ]
    return sorted(found, key=lambda told: told[3])


def _comment(lines: tuple[str, ...]) -> tuple[str, str, str]:
    """Meaning, unit and source of a comment block."""
    meaning: list[str] = []
    unit = source = ""
    for line in lines:
        found = _UNIT_SOURCE.match(line)
        if found:
            unit, source = found["unit"], (found["source"] or "").removesuffix(".")
        elif unit and source:
            source = f"{source} {line}".removesuffix(".")
        else:
            meaning.append(line)
    return " ".join(meaning), unit, source
