"""Places in a TOML text: told by eye for the odd forms, against tomllib's own positions of faults for every key."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cbi_monitor.settings.layout import layout_of, nearest, spoken
from cbi_monitor.settings.reading import SCALE, THRESHOLDS, WARD

ODD = '''\
# stands alone

# above a
# twice
a = 1  # behind
"b c" . d = "x # no comment ] }"
'e' = 'it"s'
[t]   # a table
long = """
[not] = "a table"
"""
list = [ 1, # one
  [2, 3],
  { p = 4, q.r = 5 },
]
[[many]]
x = 2026-03-01 07:00:00
[[many]]
  x = 07:00:00
[many.inner]
y = -1e3
'''


def test_odd_forms() -> None:
    places = layout_of(ODD)
    lines = ODD.split("\n")
    expected = {
        ("a",): (5, 1, 5),
        ("b c", "d"): (6, 1, 13),
        ("e",): (7, 1, 7),
        ("t",): (8, 1, 1),
        ("t", "long"): (9, 1, 8),
        ("t", "list"): (12, 1, 8),
        ("t", "list", 0): (12, 10, 10),
        ("t", "list", 1): (13, 3, 3),
        ("t", "list", 1, 1): (13, 7, 7),
        ("t", "list", 2, "p"): (14, 5, 9),
        ("t", "list", 2, "q", "r"): (14, 12, 18),
        ("many", 0, "x"): (17, 1, 5),
        ("many", 1, "x"): (19, 3, 7),
        ("many", 1, "inner", "y"): (21, 1, 5),
    }
    for path, (line, column, value) in expected.items():
        place = places[path]
        assert (place.line, place.column, place.value_column) == (line, column, value), (
            path,
            lines[line - 1],
        )
    assert places[("a",)].comment == ("above a", "twice")
    assert places[("b c",)].comment == ()


def _leaves(values: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    if isinstance(values, dict):
        return [leaf for key, inner in values.items() for leaf in _leaves(inner, (*path, key))]
    if isinstance(values, list):
        return [leaf for nth, inner in enumerate(values) for leaf in _leaves(inner, (*path, nth))] or [path]
    return [path]


@pytest.mark.parametrize("text", [WARD.shipped, SCALE.shipped, THRESHOLDS.shipped, ODD], ids="wste")
def test_every_value_has_a_place_where_that_value_stands(text: str) -> None:
    places = layout_of(text)
    lines = text.split("\n")
    for path in _leaves(tomllib.loads(text)):
        place = places[path]
        rest = lines[place.value_line - 1][place.value_column - 1 :]
        # tomllib is the judge: a mark that is no TOML, put at this very place, is what it stumbles over.
        broken = [*lines]
        broken[place.value_line - 1] = lines[place.value_line - 1][: place.value_column - 1] + "@" + rest
        with pytest.raises(
            tomllib.TOMLDecodeError, match=rf"line {place.value_line}, column {place.value_column}\)"
        ):
            tomllib.loads("\n".join(broken))


_keys = st.text("abcXYZ019_-", min_size=1, max_size=6)
_values = st.one_of(
    st.integers(-(10**6), 10**6).map(str),
    st.sampled_from(["true", "1.5", '"a#b"', "'[x]'", '"\\"="', "[]", "[1, 2]", "{ k = 1 }", "07:00:00"]),
)


@given(st.dictionaries(_keys, st.dictionaries(_keys, _values, max_size=4), max_size=5))
def test_any_file_gives_every_key_its_line(tables: dict[str, dict[str, str]]) -> None:
    lines: list[str] = []
    where: dict[tuple[str, ...], int] = {}
    for table, pairs in tables.items():
        lines += ["", f"[{table}]"]
        for key, value in pairs.items():
            lines.append(f"  {key} = {value} # why")
            where[(table, key)] = len(lines)
    places = layout_of("\n".join(lines))
    for path, line in where.items():
        assert (places[path].line, places[path].column) == (line, 3)


def test_a_missing_key_is_shown_at_its_table() -> None:
    places = layout_of("a = 1\n[t]\nb = 2\n")
    assert nearest(places, ("t", "c")).line == 2
    assert nearest(places, ("u", "c")).line == 1


def test_paths_are_spoken_from_one() -> None:
    assert spoken(("shifts", 0, "name")) == "shifts[1].name"
