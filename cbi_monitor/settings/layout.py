"""Where each key of a TOML text stands, and which comment stands above it.

``tomllib`` reads the values and says nothing of places, nor does ``tomlkit``, so this walks the same text a second
time. It is only ever given text that ``tomllib`` has taken, and so needs no faults of its own. Lines and columns count
from 1, columns in characters.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass

Path = tuple[str | int, ...]
"""A key by its tables and its place in lists: ``("shifts", 1, "name")``."""

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_PLAIN_VALUE = re.compile(r"[^,\]}\r\n#]*")
_BASIC = re.compile(r'"(?:\\.|[^"\\])*"', re.DOTALL)
_LONG_BASIC = re.compile(r'"""(?:\\.|[^\\])*?"""(?!")"{0,2}', re.DOTALL)
_LONG_LITERAL = re.compile(r"'''.*?'''(?!')'{0,2}", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Place:
    """Where one key stands, where its value begins, and the comment lines directly above it, without their ``#``."""

    line: int
    column: int
    value_line: int
    value_column: int
    comment: tuple[str, ...]


def layout_of(text: str) -> Mapping[Path, Place]:
    """The place of every table, key and list entry of a text that is valid TOML."""
    walker = _Walker(text)
    walker.document()
    return walker.places


def nearest(places: Mapping[Path, Place], path: Path) -> Place:
    """The place of ``path``, or of the nearest table around it; the first line where there is none."""
    for length in range(len(path), 0, -1):
        place = places.get(path[:length])
        if place is not None:
            return place
    return Place(1, 1, 1, 1, ())


def spoken(path: Path) -> str:
    """The path as people write it: ``shifts[2].name``, lists counted from 1."""
    words = ""
    for step in path:
        if isinstance(step, int):
            words += f"[{step + 1}]"
        else:
            words += f".{step}" if words else step
    return words


class _Walker:
    def __init__(self, text: str) -> None:
        self.text = text
        self.i = 0
        self.line = 1
        self.line_start = 0
        self.places: dict[Path, Place] = {}
        self.lists: dict[Path, int] = {}
        self.comment: list[str] = []

    # --- stepping ---

    def more(self) -> bool:
        return self.i < len(self.text)

    def here(self) -> tuple[int, int]:
        return self.line, self.i - self.line_start + 1

    def step_to(self, end: int) -> None:
        start = self.i
        newlines = self.text.count("\n", start, end)
        if newlines:
            self.line += newlines
            self.line_start = self.text.rindex("\n", start, end) + 1
        self.i = end

    def blanks(self) -> None:
        while self.more() and self.text[self.i] in " \t\r":
            self.i += 1

    def blanks_lines_comments(self) -> None:
        while self.more():
            self.blanks()
            if self.text.startswith("#", self.i):
                self.step_to(self.end_of_line())
            elif self.text.startswith("\n", self.i):
                self.step_to(self.i + 1)
            else:
                return

    def end_of_line(self) -> int:
        end = self.text.find("\n", self.i)
        return len(self.text) if end < 0 else end

    # --- grammar ---

    def document(self) -> None:
        table: Path = ()
        while self.more():
            self.blanks()
            if not self.more():
                return
            char = self.text[self.i]
            if char == "\n":
                # A blank line parts a comment from what follows.
                self.comment.clear()
                self.step_to(self.i + 1)
            elif char == "#":
                end = self.end_of_line()
                self.comment.append(self.text[self.i + 1 : end].strip())
                self.step_to(min(end + 1, len(self.text)))
            else:
                table = self.header() if char == "[" else self.pair(table)
                self.comment.clear()
                self.step_to(min(self.end_of_line() + 1, len(self.text)))

    def header(self) -> Path:
        line, column = self.here()
        many = self.text.startswith("[[", self.i)
        self.i += 2 if many else 1
        keys = self.keys()
        path: Path = ()
        for key in keys[:-1]:
            path = (*path, key)
            if path in self.lists:
                path = (*path, self.lists[path])
        path = (*path, keys[-1])
        if many:
            self.lists[path] = self.lists.get(path, -1) + 1
            self.places.setdefault(path, Place(line, column, line, column, tuple(self.comment)))
            path = (*path, self.lists[path])
        elif path in self.lists:
            path = (*path, self.lists[path])
        self.places[path] = Place(line, column, line, column, tuple(self.comment))
        return path

    def pair(self, table: Path) -> Path:
        self.assign(table, tuple(self.comment))
        return table

    def assign(self, table: Path, comment: tuple[str, ...]) -> None:
        line, column = self.here()
        keys = self.keys()
        self.blanks()
        self.i += 1  # the equals sign
        self.blanks()
        value_line, value_column = self.here()
        path = table
        for key in keys:
            path = (*path, key)
            self.places.setdefault(path, Place(line, column, value_line, value_column, comment))
        self.value(path)

    def keys(self) -> list[str]:
        keys: list[str] = []
        while True:
            self.blanks()
            keys.append(self.key())
            self.blanks()
            if not self.text.startswith(".", self.i):
                return keys
            self.i += 1

    def key(self) -> str:
        bare = _BARE.match(self.text, self.i)
        if bare:
            self.i = bare.end()
            return bare.group()
        quoted = _BASIC.match(self.text, self.i)
        end = quoted.end() if quoted else self.text.index("'", self.i + 1) + 1
        raw = self.text[self.i : end]
        self.i = end
        return str(tomllib.loads(f"key = {raw}")["key"])

    def value(self, path: Path) -> None:
        text = self.text
        if text.startswith("[", self.i):
            self.list_of_values(path)
        elif text.startswith("{", self.i):
            self.inline_table(path)
        else:
            self.step_to(self.end_of_plain())

    def end_of_plain(self) -> int:
        text = self.text
        for start, pattern in (('"""', _LONG_BASIC), ("'''", _LONG_LITERAL), ('"', _BASIC)):
            if text.startswith(start, self.i):
                found = pattern.match(text, self.i)
                return found.end() if found else len(text)
        if text.startswith("'", self.i):
            return text.index("'", self.i + 1) + 1
        plain = _PLAIN_VALUE.match(text, self.i)
        return plain.end() if plain else self.i

    def list_of_values(self, path: Path) -> None:
        self.i += 1
        nth = 0
        while True:
            self.blanks_lines_comments()
            if self.text.startswith("]", self.i):
                self.i += 1
                return
            if self.text.startswith(",", self.i):
                self.i += 1
                continue
            line, column = self.here()
            self.places[(*path, nth)] = Place(line, column, line, column, ())
            self.value((*path, nth))
            nth += 1

    def inline_table(self, path: Path) -> None:
        self.i += 1
        while True:
            self.blanks_lines_comments()
            if self.text.startswith("}", self.i):
                self.i += 1
                return
            if self.text.startswith(",", self.i):
                self.i += 1
                continue
            self.assign(path, ())
