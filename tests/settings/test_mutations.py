"""Any one change to a shipped file is either refused at its line, or read as exactly what was written."""

from __future__ import annotations

import json
import tomllib
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from cbi_monitor.model.findings import Refused
from cbi_monitor.settings import SCALE, THRESHOLDS, WARD, Kind, load_thresholds, read_bytes
from cbi_monitor.settings.layout import Path, layout_of, spoken

KINDS = [WARD, SCALE, THRESHOLDS]


def _leaves(values: Any, path: Path = ()) -> list[Path]:
    if isinstance(values, dict):
        return [leaf for key, inner in values.items() for leaf in _leaves(inner, (*path, key))]
    if isinstance(values, list) and values and isinstance(values[0], dict):
        return [leaf for nth, inner in enumerate(values) for leaf in _leaves(inner, (*path, nth))]
    return [path]


def _at(values: Any, path: Path) -> Any:
    for step in path:
        values = values[step]
    return values


KEYS = [(kind, path) for kind in KINDS for path in _leaves(tomllib.loads(kind.shipped))]
NAMES = [f"{kind.name}: {spoken(path)}" for kind, path in KEYS]


def _with_line(kind: Kind[Any], path: Path, new: str | None) -> tuple[str, int]:
    line = layout_of(kind.shipped)[path].line
    lines = kind.shipped.split("\n")
    lines[line - 1 : line] = [] if new is None else [new]
    return "\n".join(lines), line


def _whole(value: Any) -> str:
    """A value read back, whole numbers without a point."""
    return json.dumps(json.loads(json.dumps(value), parse_float=float), sort_keys=True)


def _same_number(a: Any, b: Any) -> bool:
    if isinstance(a, bool) or isinstance(b, bool):
        return a is b
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(map(_same_number, a, b))
    return bool(a == b)


FIXED = [(kind, path) for kind, path in KEYS if not str(path[-1]).isdecimal() and path[0] != "fluids"]
"""Keys that the ward cannot choose itself."""


@pytest.mark.parametrize(
    ("kind", "path"), FIXED, ids=[f"{kind.name}: {spoken(path)}" for kind, path in FIXED]
)
def test_renamed_key_is_refused_at_its_line_with_a_guess(kind: Kind[Any], path: Path) -> None:
    key = str(path[-1])
    value = kind.shipped.split("\n")[layout_of(kind.shipped)[path].line - 1].partition("=")[2]
    text, line = _with_line(kind, path, f"{key[:-1]}x{key[-1]} ={value}")
    with pytest.raises(Refused) as caught:
        read_bytes(kind, text.encode(), "own.toml")
    here = [slip for slip in caught.value.refusals if slip.line == line]
    assert len(here) == 1
    if len(key) > 4:
        assert len(caught.value.refusals) == 1, "the key is not missing besides: it is misspelt"
        assert f"did you mean {key}?" in here[0].write


@pytest.mark.parametrize(("kind", "path"), KEYS, ids=NAMES)
def test_key_left_out_is_named_with_what_to_write(kind: Kind[Any], path: Path) -> None:
    text, line = _with_line(kind, path, None)
    optional = str(path[-1]).isdecimal() or (kind is SCALE and path[-1] == "hint")
    if optional:
        read_bytes(kind, text.encode(), "own.toml")
        return
    with pytest.raises(Refused) as caught:
        read_bytes(kind, text.encode(), "own.toml")
    (slip,) = caught.value.refusals
    assert slip.field == spoken(path)
    assert slip.what == "is missing"
    assert slip.line < line or path[:-1] == ()
    old = kind.shipped.split("\n")[line - 1]
    shipped = tomllib.loads(old)
    assert tomllib.loads(slip.write.removeprefix("write ")) == shipped


@pytest.mark.parametrize(("kind", "path"), KEYS, ids=NAMES)
def test_key_written_twice_is_refused_at_the_second(kind: Kind[Any], path: Path) -> None:
    old = kind.shipped.split("\n")[layout_of(kind.shipped)[path].line - 1]
    text, line = _with_line(kind, path, f"{old}\n{old}")
    with pytest.raises(Refused) as caught:
        read_bytes(kind, text.encode(), "own.toml")
    (slip,) = caught.value.refusals
    assert (slip.line, slip.field) == (line + 1, spoken(path))


_texts = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), max_size=12)
VALUES = st.one_of(
    st.integers(-10, 20_000),
    st.floats(allow_nan=False, allow_infinity=False, width=32),
    st.sampled_from([0, 1, 0.5, 1e9, -0.0, 10**400]),
    st.booleans(),
    _texts,
    st.sampled_from(["levels", "emptied", "pink", "red", "UTC", "19:00", "saline_0_9", "#000000"]),
    st.lists(st.one_of(st.integers(0, 3000), _texts), max_size=3),
    st.just({"a": 1}),
)
RAW = st.sampled_from(["nan", "-inf", "2026-03-01", "07:00:00", "2026-03-01T07:00:00Z"])


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    return repr(value) if isinstance(value, float) else json.dumps(value, ensure_ascii=True)


@example((WARD, ("drained_density",)), "1" + 400 * "0")
@given(st.sampled_from(KEYS), st.one_of(VALUES.map(_toml), RAW))
def test_any_other_value_is_refused_at_its_line_or_read_as_written(
    key: tuple[Kind[Any], Path], new: str
) -> None:
    kind, path = key
    text, line = _with_line(kind, path, f"{path[-1]} = {new}")
    try:
        taken = read_bytes(kind, text.encode(), "own.toml").value
    except Refused as refused:
        # A value that clashes with another one is blamed there or here, but both are named; where a border of the scale
        # named a step that is now called otherwise, the border is to blame.
        places = {slip.line for slip in refused.refusals}
        words = " ".join(str(slip) for slip in refused.refusals)
        is_border = path[-1] == "key" and "_from: is the text" in words
        assert line in places or str(path[-1]) in words or is_border
        return
    written = tomllib.loads(text)
    assert (
        _same_number(_at(json.loads(taken.model_dump_json()), path), _at(written, path))
        or path[-1] == "starts"
    )
    # and nothing else has changed
    before = json.loads(read_bytes(kind, kind.shipped.encode(), "").value.model_dump_json())
    after = json.loads(taken.model_dump_json())
    _at(after, path[:-1])[path[-1]] = _at(before, path)
    assert _whole(after) == _whole(before)


def test_the_property_can_fail() -> None:
    """A reader that took true for 1 would pass a flag as a limit; the real one names the line."""
    line = "medium_behind_ml = true"
    text = THRESHOLDS.shipped.replace("medium_behind_ml = 120", line)
    with pytest.raises(Refused):
        read_bytes(THRESHOLDS, text.encode(), "own.toml")
    assert not _same_number(True, 1.0)
    assert load_thresholds().retention.medium_behind_ml == 120
