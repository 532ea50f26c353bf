"""From a text to TOML values, with every line that cannot be read.

``tomllib`` stops at the first fault. Here a faulty line of the form "key = value" is set aside and reading goes on, so
that a ward sees all its slips at once. After a fault that changes what the following lines mean (a broken heading, a
list over several lines) reading stops, because more faults named from there on would be guesses.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import Any

from cbi_monitor.model.findings import Refusal
from cbi_monitor.settings.faults import fault, toml_text
from cbi_monitor.settings.layout import Path, spoken

_AT = re.compile(r"\(at line (\d+), column (\d+)\)")
_KEY = r"[A-Za-z0-9_-]+"
_PAIR = re.compile(rf"^\s*({_KEY})\s*=\s*(.*?)\s*$")
_NO_EQUALS = re.compile(rf"^\s*({_KEY})\s*:?\s+([^\s=].*?)\s*$|^\s*({_KEY})\s*:\s*(\S.*?)\s*$")
_HEADER = re.compile(rf"^\s*\[\[?\s*({_KEY}(?:\s*\.\s*{_KEY})*)\s*\]?\]?")
_STRINGS = re.compile(r'"(?:\\.|[^"\\])*"|\'[^\']*\'')
_TRUE = frozenset({"yes", "on", "true"})
_FALSE = frozenset({"no", "off", "false"})


@dataclass(frozen=True, slots=True)
class Syntax:
    """What a text says. ``values`` is None where reading had to stop; ``text`` has the lines that were set aside empty.

    ``spoiled``: the keys on those lines; they are not missing, only unreadable.
    """

    values: dict[str, Any] | None
    text: str
    refusals: tuple[Refusal, ...]
    spoiled: frozenset[Path]


def parse(text: str, where: str) -> Syntax:
    """The values of a TOML text and every fault of its form."""
    lines = text.split("\n")
    refusals: list[Refusal] = []
    spoiled: set[Path] = set()
    while True:
        try:
            values = tomllib.loads("\n".join(lines))
        except tomllib.TOMLDecodeError as error:
            line, column, alone = _blamed(lines, str(error))
            refusals.append(_refusal(lines, line, column, str(error), where))
            if not alone:
                return Syntax(None, "\n".join(lines), _in_order(refusals), frozenset(spoiled))
            if _kind(lines[line - 1], str(error)) not in ("twice", "table-twice"):
                spoiled.add(_path(lines, line))
            lines[line - 1] = ""
        except (ValueError, RecursionError) as error:
            # A number of thousands of digits; brackets a thousand deep.
            refusals.append(fault("syntax", where, why=str(error)))
            return Syntax(None, "\n".join(lines), _in_order(refusals), frozenset(spoiled))
        else:
            return Syntax(values, "\n".join(lines), _in_order(refusals), frozenset(spoiled))


def _in_order(refusals: list[Refusal]) -> tuple[Refusal, ...]:
    return tuple(sorted(refusals, key=lambda refusal: (refusal.line, refusal.column)))


def _bare(line: str) -> str:
    """A line without its texts and its comment."""
    return _STRINGS.sub('""', line).partition("#")[0]


def _without_comment(line: str) -> str:
    bare = _STRINGS.sub(lambda found: "x" * len(found.group()), line)
    return line[: bare.index("#")] if "#" in bare else line


def _blamed(lines: list[str], message: str) -> tuple[int, int, bool]:
    """The line to blame, its column, and whether it can be set aside alone."""
    at = _AT.search(message)
    if at:
        line, column = int(at[1]), int(at[2])
        line = min(line, len(lines))
        column = min(column, len(lines[line - 1]) + 1)
    else:
        line = max((n for n, text in enumerate(lines, 1) if text.strip()), default=1)
        column = 1
    opened, depth = 0, 0
    for number in range(1, line):
        before = depth
        bare = _bare(lines[number - 1])
        depth = max(0, depth + bare.count("[") + bare.count("{") - bare.count("]") - bare.count("}"))
        if before == 0 and depth > 0:
            opened = number
    if depth > 0 and opened:
        # An open bracket swallowed the following lines, so the fault is where it was opened.
        following = range(opened + 1, line + 1)
        first = next((lines[n - 1] for n in following if lines[n - 1].split("#")[0].strip()), "")
        column = len(lines[opened - 1]) - len(lines[opened - 1].lstrip()) + 1
        alone = bool(_PAIR.match(lines[opened - 1])) and bool(_PAIR.match(first) or _HEADER.match(first))
        return opened, column, alone
    text = lines[line - 1]
    multiline = '"""' in text or "'''" in text
    alone = not multiline and bool(_PAIR.match(text) or _NO_EQUALS.match(text))
    return line, column, alone


def _path(lines: list[str], line: int) -> Path:
    pair = _PAIR.match(lines[line - 1])
    bare = _NO_EQUALS.match(lines[line - 1])
    key = pair[1] if pair else (bare[1] or bare[3]) if bare else ""
    for number in range(line - 1, 0, -1):
        header = _HEADER.match(lines[number - 1])
        if header:
            table = tuple(step.strip() for step in header[1].split("."))
            if not lines[number - 1].lstrip().startswith("[["):
                return (*table, key)
            same = re.compile(rf"^\s*\[\[\s*{re.escape(header[1])}\s*\]\]")
            nth = sum(1 for earlier in lines[:number] if same.match(earlier))
            return (*table, nth - 1, key)
    return (key,)


def _kind(line: str, message: str) -> str:
    if message.startswith("Cannot declare"):
        return "table-twice"
    if message.startswith(("Cannot overwrite", "Duplicate")):
        return "twice"
    pair = _PAIR.match(_without_comment(line))
    if pair is None:
        return "no-equals" if _NO_EQUALS.match(line) else "syntax"
    value = pair[2]
    if not value:
        return "no-value"
    for kind, pattern in (
        ("decimal-comma", r"[+-]?\d+,\d+"),
        ("clock-unquoted", r"\d{1,2}:\d{2}"),
        ("with-unit", r"[+-]?\d+(\.\d+)?\s*[^\d\s.,:_+-].*"),
        ("unquoted", r"[^\W\d][\w /.-]*"),
        ("open-quote", r"\"[^\"]*|'[^']*|[^\"]*\"|[^']*'"),
        ("open-list", r"\[[^\]]*"),
    ):
        if re.fullmatch(pattern, value):
            return kind
    return "syntax"


def _refusal(lines: list[str], line: int, column: int, message: str, where: str) -> Refusal:
    text = lines[line - 1]
    kind = _kind(text, message)
    if kind == "table-twice":
        header = _HEADER.match(text)
        return fault(kind, where, line, 1, header[1] if header else "")
    path = _path(lines, line)
    field, key = spoken(path) if path[-1] else "", str(path[-1])
    if kind == "syntax":
        return fault(kind, where, line, column, field, why=_AT.sub("", message).strip())
    if kind == "no-equals":
        found = _NO_EQUALS.match(_without_comment(text))
        value = ((found[2] or found[4]) if found else "") or "..."
        return fault(kind, where, line, column, field, example=f"{key} = {value}")
    pair = _PAIR.match(_without_comment(text))
    if pair is None or kind in ("twice", "open-quote", "open-list"):
        start = len(text) - len(text.lstrip()) + 1
        return fault(kind, where, line, start if kind == "twice" else column, field)
    return fault(kind, where, line, pair.start(2) + 1, field, example=f"{key} = {_mended(kind, pair[2])}")


def _mended(kind: str, value: str) -> str:
    if kind == "no-value":
        return "…"
    if kind == "decimal-comma":
        return value.replace(",", ".")
    if kind == "clock-unquoted":
        return f'"{value.zfill(5)}"'
    if kind == "with-unit":
        number = re.match(r"[+-]?\d+(\.\d+)?", value)
        return number.group() if number else value
    if value.casefold() in _TRUE | _FALSE:
        return toml_text(value.casefold() in _TRUE)
    return toml_text(value)
