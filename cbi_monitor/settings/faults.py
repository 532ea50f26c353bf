"""What is wrong with a ward's file: place, what, and what to write. The sentences stand in ``settings.ftl``."""

from __future__ import annotations

import datetime as dt
import difflib
import json
from collections.abc import Iterable, Sequence
from typing import Any

from cbi_monitor.model.findings import Refusal
from cbi_monitor.settings.layout import Path
from cbi_monitor.wording import say


def fault(
    kind: str,
    where: str,
    line: int = 0,
    column: int = 0,
    field: str = "",
    *,
    write: str | None = None,
    **facts: str,
) -> Refusal:
    """A refusal by its kind: ``settings-<kind>-what`` and ``settings-<write>-write`` (``write`` absent: the kind).

    Facts are texts already: a number keeps the form in which it was, or is to be, written.
    """
    what = say(f"settings-{kind}-what", **facts)
    return Refusal(where, line, column, field, what, say(f"settings-{write or kind}-write", **facts))


def toml_text(value: Any) -> str:
    """A value as one writes it in a TOML file, on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, float):
        return f"{value:.12g}"
    if isinstance(value, (dt.date, dt.time)):
        return value.isoformat()
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {toml_text(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(toml_text(inner) for inner in value) + "]"
    return str(value)


def line_text(path: Path, value: Any) -> str:
    """The line, or the table, that one writes for this key."""
    key = str(next((step for step in reversed(path) if isinstance(step, str)), ""))
    if isinstance(value, dict):
        tables = ".".join(str(step) for step in path if isinstance(step, str))
        inside = ", ".join(f"{name} = {toml_text(inner)}" for name, inner in value.items())
        return f"[{tables}] {inside}"
    if isinstance(value, list) and value and all(isinstance(inner, dict) for inner in value):
        return " ".join(f"[{line_text(path, inner).replace(']', ']]', 1)}" for inner in value)
    return f"{key} = {toml_text(value)}"


def given_words(value: Any) -> str:
    """What was given instead, in words."""
    if isinstance(value, bool):
        return say("settings-given-yes-no", value=toml_text(value))
    if isinstance(value, str):
        return say("settings-given-text", value=shown(value))
    if isinstance(value, (int, float)):
        return say("settings-given-number", value=shown(value))
    if isinstance(value, (dt.date, dt.time)):
        return say("settings-given-date", value=toml_text(value))
    return say("settings-given-table" if isinstance(value, dict) else "settings-given-list")


def shown(value: Any) -> str:
    """A value as the file has it, cut where it is long."""
    text = toml_text(value)
    return text if len(text) <= 60 else f"{text[:57]}…"


def guess(word: str, known: Iterable[str]) -> str | None:
    """The known word that was probably meant."""
    candidates: Sequence[str] = list(known)
    lowered = {name.casefold(): name for name in candidates}
    close = difflib.get_close_matches(word.casefold().replace("-", "_"), lowered, n=1, cutoff=0.7)
    return lowered[close[0]] if close else None


def listed(words: Iterable[str]) -> str:
    """Words one after the other."""
    return ", ".join(words)
