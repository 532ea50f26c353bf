"""From TOML values to a type, with every value that does not fit it.

Where a value does not fit, the shipped one is set in its place and the values are judged again, so that faults which
only show between two values (a clearing limit above the raising one) are named in the same breath. What was set in is
never blamed, and never taken: a file with a fault gives no value at all.
"""

from __future__ import annotations

import copy
import datetime as dt
import json
import types
from collections.abc import Iterator, Mapping
from typing import Any, Generic, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from cbi_monitor.model.findings import Refusal
from cbi_monitor.settings.faults import fault, given_words, guess, line_text, listed, shown
from cbi_monitor.settings.layout import Path, Place, nearest, spoken
from cbi_monitor.wording import say

M = TypeVar("M", bound=BaseModel)
_MISSING = object()

_WANTED = {
    "float_type": "number",
    "float_parsing": "number",
    "finite_number": "number",
    "int_type": "whole-number",
    "int_from_float": "whole-number",
    "int_parsing": "whole-number",
    "int_parsing_size": "whole-number",
    "string_type": "text",
    "bool_type": "yes-no",
    "list_type": "list",
    "tuple_type": "list",
    "dict_type": "table",
    "model_type": "table",
    "model_attributes_type": "table",
    "time_type": "clock",
    "time_parsing": "clock",
}
_ON_KEY = frozenset({"missing", "unknown", "unknown-table"})
"""Faults of the key, shown where the key stands; all others where the value stands."""

_LIMITS = {
    "greater_than": ("above", "gt"),
    "greater_than_equal": ("at-least", "ge"),
    "less_than": ("below", "lt"),
    "less_than_equal": ("at-most", "le"),
}


class Fitted(Generic[M]):
    """The outcome: ``value`` (with shipped values set in where ``patched`` says so) and the refusals.

    ``value`` is None where not even that gave a whole.
    """

    def __init__(self, value: M | None, refusals: list[Refusal], patched: frozenset[Path]) -> None:
        self.value = value
        self.refusals = refusals
        self.patched = patched


def at_path(values: Any, path: Path, *, alike: bool = False) -> Any:
    """The value at a path, or ``_MISSING``. ``alike``: the first of a list or table where the one asked for is none."""
    for step in path:
        if isinstance(values, Mapping) and isinstance(step, str):
            if step in values:
                values = values[step]
            elif alike and values and all(isinstance(inner, Mapping) for inner in values.values()):
                values = next(iter(values.values()))
            else:
                return _MISSING
        elif isinstance(values, list) and isinstance(step, int):
            if step < len(values):
                values = values[step]
            elif alike and values:
                values = values[0]
            else:
                return _MISSING
        else:
            return _MISSING
    return values


def fit(
    shape: type[M],
    values: dict[str, Any],
    places: Mapping[Path, Place],
    where: str,
    shipped: Mapping[str, Any],
    spoiled: frozenset[Path],
) -> Fitted[M]:
    """The values as a ``shape``, or what does not fit. ``spoiled``: keys whose lines could not be read."""
    values = copy.deepcopy(values)
    judge = _Judge(shape, places, where, shipped)
    refusals: list[Refusal] = []
    patched: set[Path] = set()
    for path in spoiled:
        _patch(values, path, shipped, patched)
    for path, given in list(_dates(values)):
        refusals.append(judge.kind(path, given, "clock" if path[-1] == "starts" else "text"))
        _patch(values, path, shipped, patched)
    for _ in range(6):
        try:
            value = shape.model_validate_json(json.dumps(values), strict=True)
        except ValidationError as error:
            details = error.errors(include_url=False)
            fresh = [detail for detail in details if not _touches(_involved(detail), patched)]
            refusals.extend(judge.refusals(values, fresh))
            mended = [_mend(values, detail, shipped, patched) for detail in details]
            if not all(mended):
                return Fitted(None, refusals, frozenset(patched))
        else:
            return Fitted(value, refusals, frozenset(patched))
    return Fitted(None, refusals, frozenset(patched))


def _dates(values: Any, path: Path = ()) -> Iterator[tuple[Path, dt.date | dt.time]]:
    """Dates and times: no value in these files is one; a shift's start is text."""
    if isinstance(values, (dt.date, dt.time)):
        yield path, values
    elif isinstance(values, dict):
        for key, inner in values.items():
            yield from _dates(inner, (*path, key))
    elif isinstance(values, list):
        for nth, inner in enumerate(values):
            yield from _dates(inner, (*path, nth))


def _involved(detail: ErrorDetails) -> list[Path]:
    path = tuple(detail["loc"])
    if detail["type"] == "out_of_order":
        context = detail["ctx"]
        return [(*path, context["small"]), (*path, context["large"])]
    if detail["type"] == "shared_key":
        return [(*path, "grades", detail["ctx"][which], "key") for which in ("second", "first")]
    if detail["type"] == "no_such_grade":
        return [(*path, detail["ctx"]["name"])]
    return [path]


def _touches(paths: list[Path], patched: set[Path]) -> bool:
    """Whether a fault stands on, or around, something that was set in."""
    return any(done[: len(path)] == path for path in paths for done in patched)


def _mend(
    values: dict[str, Any], detail: ErrorDetails, shipped: Mapping[str, Any], patched: set[Path]
) -> bool:
    if detail["type"] == "extra_forbidden":
        return _drop(values, tuple(detail["loc"]))
    done = [_patch(values, path, shipped, patched) for path in _involved(detail)]
    return all(done)


def _drop(values: Any, path: Path) -> bool:
    parent = at_path(values, path[:-1])
    if isinstance(parent, dict):
        return parent.pop(path[-1], _MISSING) is not _MISSING
    return False


def _patch(values: dict[str, Any], path: Path, shipped: Mapping[str, Any], patched: set[Path]) -> bool:
    """Set the shipped value in. Where it is none (an optional key), drop the given one."""
    if not path:
        return False
    new = at_path(shipped, path, alike=True)
    if new is _MISSING:
        # Inside a list the whole list is set anew.
        return (
            _patch(values, path[:-1], shipped, patched) if isinstance(path[-1], int) else _drop(values, path)
        )
    parent: Any = values
    last: Any = path[-1]
    for step in path[:-1]:
        if isinstance(parent, dict):
            parent = parent.setdefault(step, {})
        elif isinstance(parent, list) and isinstance(step, int) and step < len(parent):
            parent = parent[step]
        else:
            return False
    new = copy.deepcopy(new)
    if isinstance(parent, dict) or (
        isinstance(parent, list) and isinstance(last, int) and last < len(parent)
    ):
        parent[last] = new
    elif isinstance(parent, list):
        return _patch(values, path[:-1], shipped, patched)
    else:
        return False
    patched.add(path)
    return True


def keys_at(shape: Any, path: Path) -> list[str]:
    """The keys that a table of this type may hold; none where any key is taken."""
    for step in path:
        shape = _inside(shape, step)
    shape = _plain(shape)
    return list(shape.model_fields) if isinstance(shape, type) and issubclass(shape, BaseModel) else []


def _plain(shape: Any) -> Any:
    while get_origin(shape) is not None and hasattr(shape, "__metadata__"):
        shape = get_args(shape)[0]
    if get_origin(shape) in (Union, types.UnionType):
        kinds = [kind for kind in get_args(shape) if kind is not type(None)]
        return _plain(kinds[0]) if len(kinds) == 1 else shape
    return shape


def _inside(shape: Any, step: str | int) -> Any:
    shape = _plain(shape)
    if isinstance(shape, type) and issubclass(shape, BaseModel):
        field = shape.model_fields.get(str(step))
        return field.annotation if field else None
    inside = get_args(shape)
    if get_origin(shape) is dict:
        return inside[1]
    return inside[0] if inside else None


class _Judge:
    """Puts what pydantic found into a ward's words."""

    def __init__(
        self, shape: type[BaseModel], places: Mapping[Path, Place], where: str, shipped: Mapping[str, Any]
    ) -> None:
        self.shape = shape
        self.places = places
        self.where = where
        self.shipped = shipped

    def refusals(self, values: dict[str, Any], details: list[ErrorDetails]) -> list[Refusal]:
        unknown = [detail for detail in details if detail["type"] == "extra_forbidden"]
        meant: set[Path] = set()
        found: list[Refusal] = []
        for detail in unknown:
            path = tuple(detail["loc"])
            known = keys_at(self.shape, path[:-1])
            absent = [name for name in known if at_path(values, (*path[:-1], name)) is _MISSING]
            name = guess(str(path[-1]), absent) or guess(str(path[-1]), known)
            if name in absent:
                meant.add((*path[:-1], name))
            found.append(self.unknown(path, name, at_path(values, path)))
        for detail in details:
            path = tuple(detail["loc"])
            if detail["type"] != "extra_forbidden" and not (detail["type"] == "missing" and path in meant):
                found.append(self.refusal(path, detail, at_path(values, path) if path else values))
        return found

    def _refuse(self, kind: str, path: Path, write: str | None = None, **facts: str) -> Refusal:
        place = nearest(self.places, path)
        exact = path in self.places
        on_value = kind not in _ON_KEY
        line, column = (
            (place.value_line, place.value_column) if on_value and exact else (place.line, place.column)
        )
        return fault(kind, self.where, line, column, spoken(path), write=write, **facts)

    def _example(self, path: Path, *, alike: bool = False) -> str | None:
        value = at_path(self.shipped, path, alike=alike)
        return None if value is _MISSING else line_text(path, value)

    def unknown(self, path: Path, name: str | None, given: Any) -> Refusal:
        kind = "unknown-table" if isinstance(given, dict) else "unknown"
        if name is None:
            homes = [spoken(home) for home in _homes(self.shipped, str(path[-1]))]
            name = homes[0] if homes else None
        if name is not None:
            return self._refuse(kind, path, write="unknown-guess", guess=name)
        known = listed(keys_at(self.shape, path[:-1]))
        return self._refuse(kind, path, write="unknown", known=known)

    def kind(self, path: Path, given: Any, wanted: str) -> Refusal:
        """A value of the wrong kind."""
        words, example = say(f"settings-wanted-{wanted}"), self._example(path, alike=True)
        facts = {"given": given_words(given), "wanted": words}
        if example is None:
            return self._refuse("kind", path, write="kind-bare", **facts)
        return self._refuse("kind", path, **facts, example=example)

    def refusal(self, path: Path, detail: ErrorDetails, given: Any) -> Refusal:
        kind, context = detail["type"], detail.get("ctx", {})
        example = self._example(path, alike=True)
        if kind == "missing" and isinstance(path[-1], int):
            return self._entries("too-few", path[:-1])
        if kind == "missing":
            return self._refuse("missing", path, example=example or f"{path[-1]} = …")
        if kind in ("out_of_order", "shared_key", "no_such_grade", "value_error"):
            return self._between(path, kind, context, given, detail["msg"])
        if given is _MISSING:
            return self._refuse("rule", path, write="other", why=detail["msg"])
        return self._value(path, kind, context, given, example, detail["msg"])

    def _between(
        self, path: Path, kind: str, context: Mapping[str, Any], given: Any, message: str
    ) -> Refusal:
        """A fault that stands between two values."""
        if kind == "out_of_order":
            return self._out_of_order(path, context)
        if kind == "shared_key":
            facts = {"given": f'"{context["key"]}"', "other": spoken(("grades", context["first"], "key"))}
            return self._refuse("same", ("grades", context["second"], "key"), **facts)
        if kind == "no_such_grade":
            named = (*path, context["name"])
            return self._word(named, at_path(given, (context["name"],)), str(context["known"]).split(", "))
        return self._rule(path, str(context.get("error", message)))

    def _value(
        self, path: Path, kind: str, context: Mapping[str, Any], given: Any, example: str | None, message: str
    ) -> Refusal:
        """A fault of one value."""
        if kind in _WANTED:
            return self.kind(path, given, _WANTED[kind])
        if kind in _LIMITS:
            words, bound = _LIMITS[kind]
            facts = {"given": shown(given), "limit": f"{context[bound]:g}", "example": example or ""}
            return self._refuse(words, path, write="limit" if example else "limit-bare", **facts)
        if kind == "literal_error":
            known = [word.strip("'") for word in str(context["expected"]).replace(" or ", ", ").split(", ")]
            return self._word(path, given, known)
        if kind == "string_pattern_mismatch":
            form = say("settings-form-colour" if "#" in str(context["pattern"]) else "settings-form-key")
            facts = {"given": given_words(given), "form": form}
            return self._refuse("pattern", path, **facts, example=example or "…")
        if kind == "string_too_short":
            write = None if example else "empty-text-bare"
            return self._refuse("empty-text", path, write=write, example=example or "")
        if kind in ("too_short", "too_long"):
            return self._entries("too-few" if kind == "too_short" else "too-many", path)
        return self._refuse("rule", path, write="other", why=message)

    def _entries(self, kind: str, path: Path) -> Refusal:
        example = self._example(path)
        return self._refuse(kind, path, write="entries" if example else "entries-bare", example=example or "")

    def _out_of_order(self, table: Path, context: Mapping[str, str]) -> Refusal:
        small, large = (*table, context["small"]), (*table, context["large"])
        facts = {key: context[key] for key in ("a", "b", "words", "large")}
        examples = [self._example(path) or "" for path in (small, large)]
        return self._refuse("out-of-order", small, **facts, example=listed(examples))

    def _word(self, path: Path, given: Any, known: list[str]) -> Refusal:
        near = guess(given, known) if isinstance(given, str) else None
        facts = {
            "given": given_words(given),
            "known": listed(f'"{word}"' for word in known),
            "guess": f'"{near}"',
        }
        return self._refuse("word", path, write="word-guess" if near else "word", **facts)

    def _rule(self, path: Path, why: str) -> Refusal:
        # A rule of the type itself begins with the key it speaks of.
        key = why.split(" ", 1)[0]
        named = (*path, key)
        return self._refuse("rule", named if named in self.places else path, why=why)


def _homes(shipped: Any, key: str, path: Path = ()) -> Iterator[Path]:
    """Where in the shipped file a key of this name stands."""
    if isinstance(shipped, dict):
        for name, inner in shipped.items():
            if name == key:
                yield (*path, name)
            yield from _homes(inner, key, (*path, name))
