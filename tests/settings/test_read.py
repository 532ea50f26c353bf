"""Faults of the ward's files: each named at its place, all at once, with what to write."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import Any

import pytest

from cbi_monitor.model.findings import Refusal, Refused
from cbi_monitor.settings import (
    CHART_MAP,
    SCALE,
    THRESHOLDS,
    WARD,
    Kind,
    load_scale,
    load_thresholds,
    load_ward,
    read_bytes,
    shipped_maps,
)
from cbi_monitor.settings.checks import _ORDERED

KINDS = {"ward": WARD, "scale": SCALE, "thresholds": THRESHOLDS, "map": CHART_MAP}


def refused(kind: Kind[Any], text: str | bytes) -> tuple[Refusal, ...]:
    with pytest.raises(Refused) as caught:
        read_bytes(kind, text.encode() if isinstance(text, str) else text, "own.toml")
    return caught.value.refusals


def changed(kind: Kind[Any], *pairs: tuple[str, str]) -> str:
    text = kind.shipped
    for old, new in pairs:
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    return text


def line_of(text: str, part: str) -> int:
    return text[: text.index(part)].count("\n") + 1


def test_shipped_files_pass() -> None:
    assert load_ward().zone == "Europe/London"
    assert [grade.key for grade in load_scale().grades] == [
        "clear_or_straw",
        "pale_pink",
        "pink",
        "red",
        "dark_red",
    ]
    assert load_thresholds().retention.medium_behind_ml == 120


@pytest.mark.parametrize("path", shipped_maps(), ids=lambda path: path.stem)
def test_shipped_maps_pass(path: Path) -> None:
    read_bytes(CHART_MAP, path.read_bytes(), path.name)


# what is changed, and: the line's text, the column, the field, words of what and of what to write
SLIPS = [
    ("thresholds", "high_behind_ml = 250", "high_behind_ml = -1", 18, "retention.high_behind_ml", "above 0", "= 250"),
    ("thresholds", "medium_behind_ml = 120", "medium_behnid_ml = 120", 1, "retention.medium_behnid_ml", "not a key",
     "did you mean medium_behind_ml?"),
    ("thresholds", "needs_u = 3", "needs_u = 2,5", 11, "retention.needs_u", "comma", "needs_u = 2.5"),
    ("thresholds", "needs_u = 3", "needs_u = 3 u", 11, "retention.needs_u", "unit or a word", "needs_u = 3"),
    ("thresholds", "needs_u = 3", "needs_u 3", 9, "retention.needs_u", "no equals sign", "needs_u = 3"),
    ("thresholds", "needs_u = 3", "needs_u: 3", 8, "retention.needs_u", "no equals sign", "needs_u = 3"),
    ("thresholds", "needs_u = 3", "needs_u =", 10, "retention.needs_u", "no value", "needs_u = …"),
    ("thresholds", "needs_u = 3", 'needs_u = "3"', 11, "retention.needs_u", 'the text "3"', "needs_u = 3"),
    ("thresholds", "needs_u = 3", "needs_u = true", 11, "retention.needs_u", "is true, but must be a number", "= 3"),
    ("thresholds", "needs_u = 3", "needs_u = nan", 11, "retention.needs_u", "nan", "needs_u = 3"),
    ("thresholds", "needs_u = 3", "needs_u = inf", 11, "retention.needs_u", "inf", "needs_u = 3"),
    ("thresholds", "needs_u = 3", "needs_u = [3]", 11, "retention.needs_u", "a list", "needs_u = 3"),
    ("thresholds", "needs_u = 3", "needs_u = { u = 3 }", 11, "retention.needs_u", "a table", "needs_u = 3"),
    ("thresholds", "needs_u = 3", "needs_u = 07:00:00", 11, "retention.needs_u", "07:00:00", "needs_u = 3"),
    ("thresholds", "pain_from_points = 4", "pain_from_points = 4.5", 20, "retention.pain_from_points",
     "must be a whole number", "= 4"),
    ("thresholds", "pain_from_points = 4", "pain_from_points = 11", 20, "retention.pain_from_points", "at most 10",
     "4"),
    ("thresholds", "clears_below_behind_ml = 80", "clears_below_behind_ml = 120", 26,
     "retention.clears_below_behind_ml", "below medium_behind_ml, which is 120", "medium_behind_ml = 120"),
    ("thresholds", '"pulled_out"', '"pulled"', 22, "catheter_out.unplanned_reasons[1]", "none of the words",
     'did you mean "pulled_out"?'),
    ("thresholds", '["latex"]', "[]", 18, "catheter_mismatch.allergen_words", "too few", '["latex"]'),
    ("thresholds", "[life]", "[life2]", 1, "life2", "not a table", "did you mean life?"),
    ("ward", 'zone = "Europe/London"', 'zone = "Europe/Lodnon"', 8, "zone", "no time zone", '"Europe/London"?'),
    ("ward", 'zone = "Europe/London"', 'zone = "Europe"', 8, "zone", "no time zone", "Europe/"),
    ("ward", '"levels"\n', '"level"\n', 17, "reading_habit", "none of the words", 'did you mean "levels"?'),
    ("ward", "milking_allowed = false", "milking_allowed = no", 19, "milking_allowed", "quotation marks", "= false"),
    ("ward", "milking_allowed = false", "milking_allowed = 0", 19, "milking_allowed", "must be true or false", "false"),
    ("ward", 'name = "Harbour ward"', 'name = ""', 8, "name", "empty text", "Harbour"),
    ("ward", 'name = "Harbour ward"', "name = Harbour ward", 8, "name", "quotation marks", 'name = "Harbour ward"'),
    ("ward", 'name = "Harbour ward"', 'name = "Harbour ward', 21, "name", "never closed", "quotation mark"),
    ("ward", '"07:00"', "07:00", 10, "shifts[1].starts", "time of day", 'starts = "07:00"'),
    ("ward", '"07:00"', "07:00:00", 10, "shifts[1].starts", "07:00:00", 'starts = "07:00"'),
    ("ward", '"07:00"', '"7 am"', 10, "shifts[1].starts", "time of day", 'starts = "07:00"'),
    ("ward", '"07:00"', '"07:00+01:00"', 10, "shifts[1].starts", "form", 'starts = "07:00"'),
    ("ward", '"07:00"', "25200", 10, "shifts[1].starts", "time of day", 'starts = "07:00"'),
    ("ward", '"19:00"', '"07:00"', 10, "shifts[2].starts", "as is shifts[1].starts", "own"),
    ("ward", 'default_fluid = "saline_0_9"', 'default_fluid = "salt"', 17, "default_fluid", "[fluids]", "saline_0_9"),
    ("ward", "slow = [60, 200]", "slow = [200, 60]", 8, "rates.slow", "begins at 200", "lower number first"),
    ("ward", "slow = [60, 200]", "slow = [60]", 8, "rates.slow", "too few", "slow = [60, 200]"),
    ("ward", "slow = [60, 200]", "slow = [60, 200, 300]", 8, "rates.slow", "too many", "slow = [60, 200]"),
    ("ward", "slow = [60, 200]", "slow = [60, 200", 1, "rates.slow", "never closed", "]"),
    ("ward", "slow = [60, 200]", 'slow = [60, "x"]', 13, "rates.slow[2]", "must be a number", "slow = 200"),
    ("ward", "high = 0.056", "high = 5.6", 8, "overfill.high", "at most 1", "high = 0.056"),
    ("ward", "low = 0.0\n", "low = 0.2\n", 7, "overfill.low", "at most high", "high = 0.056"),
    ("ward", "3000 = 75", "big = 75", 1, "sizes.irrigant_tare_g.big", "no bag volume", "3000 = 75"),
    ("scale", '"#f3cfc4"', '"pink"', 10, "grades[2].swatch", "#rrggbb", "#f3cfc4"),
    ("scale", 'key = "red"', 'key = "pink"', 7, "grades[4].key", "as is grades[3].key", "own"),
    ("scale", 'red_from = "red"', 'red_from = "crimson"', 12, "red_from", "none of the words", "dark_red"),
    ("scale", 'coloured_from = "pink"', 'coloured_from = "dark_red"', 17, "coloured_from", "at most red_from", "red"),
    ("map", '"drainage_emptied"', '"drainage_emptid"', 9, "items.227489.event", "no event", "drainage_emptied"),
    ("map", 'value_to = "volume"', 'value_to = "amount"', 12, "items.227488.value_to", "no field", "volume"),
    ("map", 'unit = "mL"\n', 'unit = "oz"\n', 8, "items.227488.unit", "[units]", "mL"),
    ("map", 'zone = "UTC"', 'zone = "+25:00"', 8, "chart.zone", "no time zone", "offset"),
    ("map", 'encoding = "utf-8"', 'encoding = "utf-99"', 12, "chart.encoding", "no encoding", "cp1252"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "old", "new", "column", "field", "what", "write"), SLIPS, ids=[f"{s[0]}: {s[2]}" for s in SLIPS]
)
def test_one_slip(name: str, old: str, new: str, column: int, field: str, what: str, write: str) -> None:
    kind = KINDS[name]
    text = changed(kind, (old, new))
    found = refused(kind, text)
    assert len(found) == 1, [str(one) for one in found]
    slip = found[0]
    assert slip.line == line_of(kind.shipped, old), str(slip)
    assert (slip.where, slip.column, slip.field) == ("own.toml", column, field), str(slip)
    assert what in slip.what, str(slip)
    assert write in slip.write, str(slip)
    assert str(slip).startswith(f"own.toml:{slip.line}:{column}: {field}: ")


def test_all_slips_at_once() -> None:
    pairs = (
        ("high_behind_ml = 250", "high_behind_ml = 250,5"),
        ("pain_from_points = 4", "pain_from_points = four"),
        ("clears_below_behind_ml = 80", "clears_below_behind_ml = 300"),
        ("[no_outflow]", "[no_outflow]\nsurplus = 1"),
        ("volume_needs_u = 2.8\n", ""),
        ("low_from_ml = 300", 'low_from_ml = "300"'),
        ("medium_minutes = 15", "medium_minutes = 15\nmedium_minutes = 16"),
        ("going_quiet_minutes", "quiet_going_minutes"),
    )
    text = changed(THRESHOLDS, *pairs)
    found = refused(THRESHOLDS, text)
    lines = [one.line for one in found]
    assert lines == sorted(lines)
    assert [one.field for one in found] == [
        "retention.high_behind_ml",
        "retention.pain_from_points",
        "retention.clears_below_behind_ml",
        "no_outflow.volume_needs_u",
        "no_outflow.surplus",
        "bag_running_out.medium_minutes",
        "unrecorded_volume.low_from_ml",
        "life.going_quiet_minutes",
        "life.quiet_going_minutes",
    ]


def test_what_was_set_in_for_a_faulty_value_is_never_blamed() -> None:
    """medium_behind_ml cannot be read; that the shipped 120 set in for it is below 200 is no fault of the ward's."""
    text = changed(
        THRESHOLDS,
        ("medium_behind_ml = 120", "medium_behind_ml = lots"),
        ("clears_below_behind_ml = 80", "clears_below_behind_ml = 200"),
        ("high_with_signs_behind_ml = 120", "high_with_signs_behind_ml = 210"),
    )
    assert [one.field for one in refused(THRESHOLDS, text)] == ["retention.medium_behind_ml"]


def test_missing_table_says_what_to_write() -> None:
    text = THRESHOLDS.shipped.replace("[away_overdue]", "").replace("low_late_minutes = 15", "")
    (slip,) = refused(THRESHOLDS, text)
    assert slip.field == "away_overdue"
    assert slip.write == "write [away_overdue] low_late_minutes = 15"


def test_a_key_in_the_wrong_table_is_sent_home() -> None:
    text = changed(THRESHOLDS, ("[no_outflow]", "[no_outflow]\nsodium_below_mmol_per_l = 130"))
    (slip,) = refused(THRESHOLDS, text)
    assert slip.write == "did you mean absorption.sodium_below_mmol_per_l?"


def test_broken_heading_stops_the_reading_there() -> None:
    (slip,) = refused(WARD, changed(WARD, ("[overfill]", "[overfill"), ("zone = ", "zone ")))[1:]
    assert slip.line == line_of(changed(WARD, ("[overfill]", "[overfill")), "[overfill\n")


def test_table_begun_twice() -> None:
    text = WARD.shipped + "[looks]\nat_least_every = 30\n"
    (slip,) = refused(WARD, text)
    assert (slip.line, slip.field) == (text.count("\n") - 1, "looks")
    assert "begun twice" in slip.what


@pytest.mark.parametrize("field", _ORDERED, ids=lambda field: f"{field[0]}.{field[1]}")
def test_ward_values_in_order(field: tuple[str, str, str, str]) -> None:
    table, small, _, large = field
    shipped = getattr(load_ward(), table)
    text = WARD.shipped
    head, tail = text.split(f"\n[{table}]\n")
    old = next(line for line in tail.split("\n") if line.startswith(f"{small} = "))
    tail = tail.replace(old, f"{small} = {getattr(shipped, large) + 0.01:g}", 1)
    found = refused(WARD, f"{head}\n[{table}]\n{tail}")
    assert f"{table}.{small}" in [one.field for one in found]


# --- encoding, cut files, wrong files -------------------------------------------------------------------------------


def test_byte_order_mark_and_windows_line_ends_pass() -> None:
    data = b"\xef\xbb\xbf" + THRESHOLDS.shipped.replace("\n", "\r\n").encode()
    taken = read_bytes(THRESHOLDS, data, "own.toml")
    assert taken.value == load_thresholds()
    assert taken.text.encode() == data[3:]


def test_windows_line_ends_keep_lines_right() -> None:
    text = changed(THRESHOLDS, ("needs_u = 3", "needs_u = 2,5"))
    (slip,) = refused(THRESHOLDS, text.replace("\n", "\r\n"))
    assert (slip.line, slip.column) == (line_of(text, "needs_u = 2,5"), 11)


@pytest.mark.parametrize("encoding", ["cp1252", "utf-16", "utf-32"])
def test_other_encodings_are_named(encoding: str) -> None:
    (slip,) = refused(WARD, changed(WARD, ("Harbour ward", "Häfen")).encode(encoding, "replace"))
    assert "UTF-8" in slip.what
    if encoding == "cp1252":
        # The shipped comments hold signs beyond ASCII too; the first of them is where it fails.
        text = WARD.shipped
        assert slip.line == line_of(text, 'name = "Harbour')


@pytest.mark.parametrize("data", [b"", b" \n\t\r\n", b"\xef\xbb\xbf"])
def test_empty_file(data: bytes) -> None:
    (slip,) = refused(WARD, data)
    assert "holds nothing" in slip.what


@pytest.mark.parametrize("kind", [WARD, SCALE, THRESHOLDS], ids=lambda kind: kind.name)
def test_a_file_cut_off_anywhere_never_gives_another_value(kind: Kind[Any]) -> None:
    data = kind.shipped.encode()
    whole = read_bytes(kind, data, "own.toml").value
    for end in [*range(0, len(data) - 400, 97), *range(len(data) - 400, len(data))]:
        cut = whole
        with contextlib.suppress(Refused):
            cut = read_bytes(kind, data[:end], "own.toml").value
        if kind is SCALE:
            # Its steps are a list, and a shorter list is a scale too: only where a step ends and the borders still fit.
            assert len(cut.grades) in (4, 5)
            assert cut.grades == whole.grades[: len(cut.grades)] or cut.grades[-1].hint == ""
        else:
            assert cut == whole


def test_cut_within_the_last_number() -> None:
    text = THRESHOLDS.shipped.rstrip()
    assert text.endswith("= 120")
    (slip,) = refused(THRESHOLDS, text[:-1])
    assert "cut off" in slip.what


def test_no_such_file(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path, Path("a\0b")):
        with pytest.raises(Refused) as caught:
            load_ward(path)
        assert "cannot be opened" in str(caught.value)


def test_far_too_large(tmp_path: Path) -> None:
    path = tmp_path / "big.toml"
    path.write_bytes(b"#" * 2_000_000)
    with pytest.raises(Refused, match="2000000 bytes"):
        load_ward(path)


@pytest.mark.parametrize(
    "text", ["a = " + "[" * 5000, "a = " + "9" * 5000, 'a = "\\ud800"', "= 1", "[", "]", "a.b.c"]
)
def test_wild_texts_are_refused_not_fallen_over(text: str) -> None:
    assert refused(WARD, text + "\n")
