"""Reading one of the ward's files: a value of its type, or every fault with file, line and column."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from pathlib import Path as File
from typing import Any, Generic, TypeVar

from pydantic import BaseModel

from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.model.findings import Refusal, Refused
from cbi_monitor.model.ward import EffluentScale, WardRules
from cbi_monitor.settings.checks import Breaches, scale_breaches, ward_breaches
from cbi_monitor.settings.faults import fault, line_text, listed
from cbi_monitor.settings.layout import Path, Place, layout_of, nearest, spoken
from cbi_monitor.settings.shapes import at_path, fit
from cbi_monitor.settings.syntax import parse

M = TypeVar("M", bound=BaseModel)

LARGEST_BYTES = 1_000_000
"""No such file comes near this; a wrong file named by mistake may."""

_BOM = b"\xef\xbb\xbf"


def _no_breaches(_value: object) -> Iterator[Any]:
    return iter(())


@dataclass(frozen=True, slots=True)
class Kind(Generic[M]):
    """One of the files that a ward writes: its type, the shipped file that holds every default, its further rules."""

    name: str
    shape: type[M]
    file: str
    breaches: Breaches
    example: Callable[[], str] | None = None

    @property
    def shipped(self) -> str:
        """The text of the shipped file; of a kind that has no defaults, of the example that it is explained by."""
        return _shipped_text(self.file) if self.example is None else self.example()


WARD: Kind[WardRules] = Kind("ward", WardRules, "ward.toml", ward_breaches)
SCALE: Kind[EffluentScale] = Kind("effluent", EffluentScale, "effluent.toml", scale_breaches)
THRESHOLDS: Kind[Thresholds] = Kind("thresholds", Thresholds, "thresholds.toml", _no_breaches)


@dataclass(frozen=True, slots=True)
class Read(Generic[M]):
    """A file that was read without a fault. ``sha256`` is that of ``text`` in UTF-8, in hexadecimal digits."""

    value: M
    text: str
    sha256: str
    where: str


@lru_cache
def _shipped_text(file: str) -> str:
    return resources.files("cbi_monitor.settings").joinpath("shipped", file).read_bytes().decode("utf-8")


@lru_cache
def _shipped_values(kind: Kind[Any]) -> Mapping[str, Any]:
    return tomllib.loads(kind.shipped)


def read(kind: Kind[M], path: File | None = None) -> Read[M]:
    """The ward's file of this kind; None: the shipped one. Raises Refused with every fault of the file."""
    if path is None:
        return read_bytes(kind, kind.shipped.encode(), kind.file)
    return read_bytes(kind, bytes_of_file(path), str(path))


def bytes_of_file(path: File) -> bytes:
    """What the file holds. Raises Refused where it cannot be opened or is far too large."""
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_BYTES + 1)
            size = path.stat().st_size
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise Refused((fault("cannot-open", str(path), why=why),)) from error
    if len(data) > LARGEST_BYTES:
        raise Refused((fault("too-large", str(path), size=str(size)),))
    return data


def read_bytes(kind: Kind[M], data: bytes, where: str) -> Read[M]:
    """The same from bytes; ``where`` names them in refusals. A byte order mark at the start is passed over."""
    text = _decoded(data, where)
    syntax = parse(text, where)
    refusals = list(syntax.refusals)
    if not refusals and _cut_off(text):
        line = text.count("\n") + 1
        refusals.append(fault("cut-off", where, line, len(text) - text.rfind("\n")))
    if syntax.values is None:
        raise Refused(tuple(refusals))
    places = layout_of(syntax.text)
    shipped = _shipped_values(kind)
    fitted = fit(kind.shape, syntax.values, places, where, shipped, syntax.spoiled)
    refusals.extend(fitted.refusals)
    if fitted.value is not None:
        refusals.extend(_breached(kind, fitted.value, fitted.patched, places, where))
    if refusals or fitted.value is None:
        refusals.sort(key=lambda refusal: (refusal.line, refusal.column, refusal.field))
        raise Refused(tuple(refusals))
    return Read(fitted.value, text, hashlib.sha256(text.encode()).hexdigest(), where)


def _decoded(data: bytes, where: str) -> str:
    data = data.removeprefix(_BOM)
    if not data.strip():
        raise Refused((fault("empty", where, 1, 1),))
    wrong = data.find(b"\x00")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        wrong = error.start if wrong < 0 else min(wrong, error.start)
    else:
        if wrong < 0:
            return text
    before = data[:wrong]
    line = before.count(b"\n") + 1
    column = wrong - (before.rfind(b"\n") + 1) + 1
    raise Refused((fault("not-utf8", where, line, column, byte=f"0x{data[wrong]:02x}"),))


def _cut_off(text: str) -> bool:
    """Whether the last line holds a key and does not end: half of its number may be lost (120 that became 12)."""
    last = text[text.rfind("\n") + 1 :].strip()
    return bool(last) and not last.startswith("#")


def _breached(
    kind: Kind[M], value: M, patched: frozenset[Path], places: Mapping[Path, Place], where: str
) -> Iterator[Refusal]:
    shipped = _shipped_values(kind)
    for breach in kind.breaches(value):
        rests_on = (breach.path, *breach.rests_on)
        if any(
            done[: len(path)] == path or path[: len(done)] == done for path in rests_on for done in patched
        ):
            continue
        place = nearest(places, breach.path)
        facts = dict(breach.facts)
        if breach.kind == "out-of-order" and "example" not in facts:
            facts["example"] = listed(line_text(path, at_path(shipped, path)) for path in rests_on)
        on_key = breach.kind == "tare-size"
        line, column = (place.line, place.column) if on_key else (place.value_line, place.value_column)
        yield fault(breach.kind, where, line, column, spoken(breach.path), write=breach.write, **facts)
