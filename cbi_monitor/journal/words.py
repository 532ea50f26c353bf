"""What is wrong with an entry, in plain words: from the faults that its class names to refusals with a remedy."""

from __future__ import annotations

import difflib
import json
import re
from collections.abc import Iterable, Mapping
from typing import Any

from pydantic import ValidationError

from cbi_monitor.model.events import BY_NAME, Event
from cbi_monitor.model.findings import Refusal

# What pydantic calls a fault, and what we call it. A fault of our own model has its own name already.
_KINDS = {
    "missing": "missing",
    "extra_forbidden": "unknown-field",
    "literal_error": "unknown-word",
    "string_type": "not-text",
    "string_unicode": "not-text",
    "string_too_short": "empty-text",
    "string_too_long": "long-text",
    "float_type": "not-number",
    "finite_number": "not-number",
    "int_type": "not-whole",
    "int_from_float": "not-whole",
    "int_parsing_size": "not-number",
    "bool_type": "not-yes-no",
    "greater_than_equal": "too-small",
    "greater_than": "not-above",
    "less_than_equal": "too-large",
    "tuple_type": "not-list",
    "dict_type": "not-fields",
    "naive_time": "naive-time",
    "not_a_time": "not-a-time",
    "year_out_of_range": "year",
    "excluding": "excluding",
    "together": "together",
    "no_measure": "no-measure",
    "no_rate": "no-rate",
    "running_and_none": "running-and-none",
    "still_and_steady": "still-and-steady",
    "never_corrected": "never-corrected",
    "nothing_corrected": "nothing-corrected",
}


def refusal(
    kind: str, *, where: str = "", line: int = 0, column: int = 0, field: str = "", **facts: Any
) -> Refusal:
    """A refusal by its kind; its two sentences are ``refusal-journal-<kind>-what`` and ``-write``."""
    # Refusals are rare: the catalogue is read when the first one is spoken.
    from cbi_monitor.wording import say

    # Figures go in as they are to be read, without a language's thousands signs; only a count asks for its plural.
    told = {name: value if name == "count" else str(value) for name, value in facts.items()}
    return Refusal(
        where,
        line,
        column,
        field,
        say(f"refusal-journal-{kind}-what", **told),
        say(f"refusal-journal-{kind}-write", **told),
    )


def meant(word: str, known: Iterable[str]) -> str:
    """The known word that lies nearest, or an empty text."""
    near = difflib.get_close_matches(word, list(known), n=1, cutoff=0.6)
    return near[0] if near else ""


def shown(value: Any, most: int = 60) -> str:
    """A value as it stood in the file, cut where it is long."""
    try:
        text = json.dumps(value, ensure_ascii=False, default=str)
    except (ValueError, RecursionError):
        text = repr(value)
    return text if len(text) <= most else text[: most - 1] + "…"


def column_of(text: str, field: str) -> int:
    """The column, from 1, at which a field's name stands in a line of a file; 0 where it does not."""
    if not text or not field:
        return 0
    name = re.escape(json.dumps(field.split(".", maxsplit=1)[0], ensure_ascii=False))
    found = re.search(name + r"\s*:", text)
    return found.start() + 1 if found else 0


def fields_of(kind: type[Event]) -> list[str]:
    """The names under which a kind's fields are written."""
    names = [told.alias or name for name, told in kind.model_fields.items()]
    if "volume" in names and "volume_ml" not in names:
        names.append("volume_ml")
    return names


def unknown_kind(name: object, *, where: str, line: int, text: str) -> Refusal:
    """The refusal of an entry whose ``event`` is no kind that a chart can hold."""
    place: dict[str, Any] = {
        "where": where,
        "line": line,
        "column": column_of(text, "event"),
        "field": "event",
    }
    if name is None:
        return refusal("no-kind", **{**place, "column": 0})
    if not isinstance(name, str):
        return refusal("kind-not-text", **place, given=shown(name))
    near = meant(name, BY_NAME)
    if near:
        return refusal("unknown-kind-near", **place, given=name, near=near)
    return refusal("unknown-kind", **place, given=name, kinds=", ".join(BY_NAME))


def refusals_of(
    fault: ValidationError, kind: type[Event], payload: Mapping[str, Any], *, where: str, line: int, text: str
) -> tuple[Refusal, ...]:
    """Every fault of one entry, one refusal a field."""
    result: list[Refusal] = []
    seen: set[str] = set()
    unions = _branches(fault)
    for error in fault.errors(include_url=False):
        field = _field(error["loc"])
        if field in seen and field:
            continue
        seen.add(field)
        place: dict[str, Any] = {
            "where": where,
            "line": line,
            "column": column_of(text, field),
            "field": field,
        }
        if field in unions:
            result.append(refusal("several-ways", **place, given=shown(error["input"]), ways=unions[field]))
        else:
            result.append(_one(dict(error), kind, payload, field, place))
    return tuple(result)


def _one(
    error: dict[str, Any], kind: type[Event], payload: Mapping[str, Any], field: str, place: dict[str, Any]
) -> Refusal:
    name = _KINDS.get(error["type"])
    facts = {**error.get("ctx", {}), "given": shown(error["input"])}
    facts.pop("error", None)
    if name is None:
        return refusal("other", **place, given=facts["given"], message=error["msg"])
    if name == "missing":
        return refusal(
            "missing", **{**place, "column": 0}, event=kind.model_fields["event"].default, name=field
        )
    if name == "unknown-field":
        return _unknown_field(kind, payload, field, place)
    if name == "unknown-word":
        words = re.findall(r"'([^']*)'", facts["expected"]) or [facts["expected"]]
        near = meant(error["input"], words) if isinstance(error["input"], str) else ""
        extra = {"given": facts["given"], "words": ", ".join(words)}
        return (
            refusal("unknown-word-near", **place, **extra, near=near)
            if near
            else refusal(name, **place, **extra)
        )
    if name in ("naive-time", "not-a-time", "year"):
        facts["given"] = str(error.get("ctx", {}).get("given", facts["given"]))
    limits = {"ge": "limit", "gt": "limit", "le": "limit", "max_length": "limit"}
    facts = {limits.get(key, key): _figure(value) for key, value in facts.items()}
    return refusal(name, **place, **facts)


def _unknown_field(
    kind: type[Event], payload: Mapping[str, Any], field: str, place: dict[str, Any]
) -> Refusal:
    known = fields_of(kind)
    event = kind.model_fields["event"].default
    if field == "volume_ml" and "volume" in payload and "volume" in known:
        return refusal("volume-twice", **place)
    near = meant(field, (name for name in known if name not in payload or name == field))
    if near:
        return refusal("unknown-field-near", **place, event=event, given=field, near=near)
    return refusal("unknown-field", **place, event=event, given=field, known=", ".join(known))


def _figure(value: Any) -> Any:
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _field(loc: tuple[int | str, ...]) -> str:
    """The field of a fault; for a list or a table of figures, with the place in it, never with a union's branch."""
    if not loc:
        return ""
    name = str(loc[0])
    if len(loc) > 1 and name == "numbers":
        return f"{name}.{loc[1]}"
    if len(loc) > 1 and isinstance(loc[1], int):
        return f"{name}.{loc[1] + 1}"
    return name


_WAYS = {
    "pain": '0 to 10, or "cannot_say"',
    "blood_thinners": "true, false, or text",
    "numbers": "a number, text, true, false or null",
}


def _branches(fault: ValidationError) -> dict[str, str]:
    """Fields that may be written in more than one way and fit none, with the ways."""
    return {
        field: _WAYS[field.split(".", maxsplit=1)[0]]
        for field in {
            _field(error["loc"]) for error in fault.errors(include_url=False) if len(error["loc"]) > 1
        }
        if field.split(".", maxsplit=1)[0] in _WAYS
    }
