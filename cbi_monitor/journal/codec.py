"""Session files: JSON Lines in UTF-8, one event a line, read with every fault at once and written whole or not at all.

A byte order mark at the start is taken and never written; lines may end in CR LF; empty lines are passed over.
Written is always the canonical form: ids, sorted keys, no spaces.
"""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from pydantic import ValidationError

from cbi_monitor.journal import checks
from cbi_monitor.journal.checks import Placed
from cbi_monitor.journal.words import refusal, refusals_of, shown, unknown_kind
from cbi_monitor.model.canonical import canonical_bytes, order_key, with_derived_ids
from cbi_monitor.model.events import BY_NAME, Answered, Corrected, Event, StruckOut
from cbi_monitor.model.findings import Refusal, Refused

_BOM = b"\xef\xbb\xbf"
_WIDE_MARKS = (b"\xff\xfe", b"\xfe\xff")
_WHOLE_AS_FLOAT = 2**53


# --- one entry --------------------------------------------------------------------------------------------------


def parse_event(
    payload: Mapping[str, Any], *, where: str = "", line: int = 0, text: str = ""
) -> Event | tuple[Refusal, ...]:
    """The event that a payload says, or every reason why it says none.

    ``where`` and ``line`` go into the refusals; ``text`` is the line as it stood, for the column.
    """
    name = payload.get("event")
    kind = BY_NAME.get(name) if isinstance(name, str) else None
    if kind is None:
        return (unknown_kind(name, where=where, line=line, text=text),)
    try:
        return kind.model_validate(dict(payload))
    except ValidationError as fault:
        return refusals_of(fault, kind, payload, where=where, line=line, text=text)


def read_event(payload: Mapping[str, Any], *, where: str = "") -> Event:
    """The event that a payload says. Raises Refused with every reason why it says none."""
    read = parse_event(payload, where=where)
    if isinstance(read, tuple):
        raise Refused(read)
    return read


class _Twice(ValueError):
    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.name = name


class _NoNumber(ValueError):
    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.text = text


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result = dict(pairs)
    if len(result) != len(pairs):
        names = [name for name, _ in pairs]
        raise _Twice(next(name for name in names if names.count(name) > 1))
    return result


def _no_constant(text: str) -> NoReturn:
    raise _NoNumber(text)


def _number(text: str) -> float | int:
    value = float(text)
    if value in (float("inf"), float("-inf")):
        raise _NoNumber(text)
    return int(value) if value.is_integer() and abs(value) < _WHOLE_AS_FLOAT else value


_DECODER = json.JSONDecoder(object_pairs_hook=_object, parse_constant=_no_constant, parse_float=_number)


def parse_line(
    text: str, *, where: str = "", line: int = 0, last: bool = False
) -> Event | tuple[Refusal, ...]:
    """The event on one line of a session file. ``last``: the file ends here without a line end, so it may be cut."""
    place: dict[str, Any] = {"where": where, "line": line}
    try:
        payload = _DECODER.decode(text)
    except json.JSONDecodeError as fault:
        column = fault.pos + 1
        cut = last and text.lstrip().startswith("{") and not text.rstrip().endswith("}")
        kind = "cut-short" if cut else "not-json"
        return (refusal(kind, **place, column=column, near=shown(text[fault.pos : fault.pos + 20])),)
    except _Twice as fault:
        at = text.rfind(json.dumps(fault.name, ensure_ascii=False))
        return (refusal("field-twice", **place, column=at + 1, field=fault.name, name=fault.name),)
    except _NoNumber as fault:
        at = text.find(fault.text)
        return (refusal("no-number", **place, column=at + 1, given=fault.text),)
    except RecursionError:
        return (refusal("too-deep", **place),)
    except ValueError:  # a whole number of thousands of digits
        return (refusal("no-number", **place, given=shown(text, 20)),)
    if not isinstance(payload, dict):
        return (refusal("not-an-entry", **place, column=1, given=shown(payload)),)
    return parse_event(payload, where=where, line=line, text=text)


# --- a file -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Parsed:
    """What the lines of one file say, and why some say nothing. Ids are derived where there were none."""

    entries: tuple[Placed, ...]
    refusals: tuple[Refusal, ...]


def parse_bytes(data: bytes, *, where: str) -> Parsed:
    """What the lines of a session file say, each by itself; what they say together is for ``checks``."""
    if data[:2] in _WIDE_MARKS or b"\x00" in data:
        offset = 0 if data[:2] in _WIDE_MARKS else data.find(b"\x00")
        line = data.count(b"\n", 0, offset) + 1
        return Parsed((), (refusal("not-utf8-file", where=where, line=line, offset=offset),))
    start = len(_BOM) if data.startswith(_BOM) else 0
    lines = data[start:].split(b"\n")
    ends_whole = not lines[-1]
    refusals: list[Refusal] = []
    found: list[tuple[Event, int]] = []
    offset = start
    for number, raw in enumerate(lines, start=1):
        read = _line_of_bytes(raw, offset, where, number, last=number == len(lines) and not ends_whole)
        offset += len(raw) + 1
        if isinstance(read, tuple):
            refusals.extend(read)
        elif read is not None:
            found.append((read, number))
    if not found and not refusals:
        refusals.append(refusal("empty-file", where=where))
    refusals.extend(_ids_missing(found, where))
    events = with_derived_ids(event for event, _ in found)
    entries = tuple(Placed(event, where, line) for event, (_, line) in zip(events, found, strict=True))
    return Parsed(entries, tuple(refusals))


def _line_of_bytes(
    raw: bytes, offset: int, where: str, line: int, *, last: bool
) -> Event | tuple[Refusal, ...] | None:
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as fault:
        if last and fault.reason == "unexpected end of data":
            return (refusal("cut-short", where=where, line=line, column=fault.start + 1, near=""),)
        byte = f"0x{raw[fault.start]:02X}"
        column = len(raw[: fault.start].decode("utf-8")) + 1
        at = offset + fault.start
        return (refusal("not-utf8", where=where, line=line, column=column, offset=at, byte=byte),)
    text = text.rstrip("\r")
    if not text.strip():
        return None
    return parse_line(text, where=where, line=line, last=last)


def _ids_missing(found: Sequence[tuple[Event, int]], where: str) -> list[Refusal]:
    """A file in which entries speak of entries must carry ids, else nobody knows which entry is meant."""
    needs = next(((e, line) for e, line in found if isinstance(e, (Corrected, StruckOut, Answered))), None)
    bare = [line for event, line in found if not event.id]
    if needs is None or not bare:
        return []
    event, line = needs
    return [
        refusal(
            "ids-missing",
            where=where,
            line=line,
            field="id",
            event=event.event,
            first=bare[0],
            count=len(bare),
        )
    ]


def parse_file(path: Path | str) -> Parsed:
    """What the lines of a session file say, each by itself. A file that can't be opened is a refusal too."""
    where = str(path)
    try:
        data = Path(path).read_bytes()
    except FileNotFoundError:
        return Parsed((), (refusal("no-file", where=where),))
    except IsADirectoryError:
        return Parsed((), (refusal("folder", where=where),))
    except OSError as fault:
        return Parsed((), (refusal("unreadable", where=where, why=fault.strerror or type(fault).__name__),))
    return parse_bytes(data, where=where)


def read_session_file(path: Path | str) -> list[Event]:
    """All events of a session file, in the order in which they stand there, each with an id; twins are taken once.

    Raises Refused with every fault of the file: lines that say nothing, and entries that do not go together.
    """
    parsed = parse_file(path)
    entries, clashes = checks.without_twins(parsed.entries)
    refusals = (*parsed.refusals, *clashes, *checks.together(entries, complete=not parsed.refusals))
    if refusals:
        raise Refused(tuple(sorted(refusals, key=lambda fault: (fault.line, fault.column))))
    return [entry.event for entry in entries]


# --- writing ----------------------------------------------------------------------------------------------------


def session_bytes(events: Iterable[Event]) -> bytes:
    """The events as a session file: canonical lines in the total order, each with an id."""
    ordered = sorted(with_derived_ids(events), key=order_key)
    return b"".join(canonical_bytes(event) + b"\n" for event in ordered)


def write_session_file(path: Path | str, events: Iterable[Event]) -> None:
    """Write a session file whole or not at all: beside it first, flushed to the disk, then put in its place.

    Events stand in the total order. Raises OSError where the disk does not take it; the old file then stands as it was.
    """
    write_whole(Path(path), session_bytes(events))


def write_whole(path: Path, data: bytes) -> None:
    """Put a file in its place whole or not at all, and on the disk. Raises OSError."""
    beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        with beside.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Flush a folder's list of names to the disk; where the system can't, nothing is lost but speed of recovery."""
    handle = os.open(folder, os.O_RDONLY | getattr(os, "O_DIRECTORY", 0))
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


__all__ = [
    "Parsed",
    "parse_bytes",
    "parse_event",
    "parse_file",
    "parse_line",
    "read_event",
    "read_session_file",
    "session_bytes",
    "write_session_file",
]
