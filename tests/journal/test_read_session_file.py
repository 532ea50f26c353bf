"""What a session file may not hold, and what its writer is told."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cbi_monitor.journal.codec import parse_bytes, read_session_file
from cbi_monitor.model.findings import Refusal, Refused
from tests.journal.lines import AT, BAG_A, OPENED, READ_A, file_of, line


def refusals_of(path: Path) -> tuple[Refusal, ...]:
    with pytest.raises(Refused) as caught:
        read_session_file(path)
    return caught.value.refusals


def refused(folder: Path, *lines: str) -> tuple[Refusal, ...]:
    return refusals_of(file_of(folder, *lines))


def raw(folder: Path, data: bytes) -> Path:
    path = folder / "chart.jsonl"
    path.write_bytes(data)
    return path


# --- the file ---------------------------------------------------------------------------------------------------


def test_a_good_file_is_read_in_the_order_in_which_it_stands(tmp_path: Path):
    events = read_session_file(file_of(tmp_path, OPENED, BAG_A, READ_A))
    assert [event.id for event in events] == ["open", "bag", "read"]


@pytest.mark.parametrize("data", [b"", b"\n", b" \r\n\n", b"\xef\xbb\xbf"])
def test_an_empty_file(tmp_path: Path, data: bytes):
    (fault,) = refusals_of(raw(tmp_path, data))
    assert "no entry" in fault.what


def test_no_file_and_a_folder(tmp_path: Path):
    (missing,) = refusals_of(tmp_path / "nothing.jsonl")
    assert missing.where == str(tmp_path / "nothing.jsonl")
    assert "no such file" in missing.what
    (folder,) = refusals_of(tmp_path)
    assert "folder" in folder.what


def test_a_truncated_last_line(tmp_path: Path):
    whole = f"{OPENED}\n{BAG_A}\n".encode()
    (fault,) = refusals_of(raw(tmp_path, whole[:-20]))
    assert (fault.line, fault.what[:13]) == (2, "the last line")
    assert "cut short" in fault.what


def test_a_file_cut_inside_a_letter(tmp_path: Path):
    whole = f"{OPENED}\n{line('note', 'n', text='Müller')}".encode()
    (fault,) = refusals_of(raw(tmp_path, whole[: whole.index("ü".encode()) + 1]))
    assert "cut short" in fault.what
    assert fault.line == 2


def test_a_last_line_without_its_end_is_read_when_it_is_whole(tmp_path: Path):
    assert len(read_session_file(raw(tmp_path, f"{OPENED}\n{BAG_A}".encode()))) == 2


def test_byte_order_mark_and_windows_line_ends_are_read(tmp_path: Path):
    data = b"\xef\xbb\xbf" + f"{OPENED}\r\n{BAG_A}\r\n\r\n".encode()
    assert len(read_session_file(raw(tmp_path, data))) == 2


def test_a_wrong_encoding_names_byte_and_line(tmp_path: Path):
    data = f"{OPENED}\n{line('note', 'n', text='Müller')}\n".encode("latin-1")
    (fault,) = refusals_of(raw(tmp_path, data))
    offset = data.index(b"\xfc")
    assert fault.line == 2
    assert f"offset {offset} " in fault.what
    assert "0xFC" in fault.what
    assert fault.column == offset - data.index(b"\n")
    assert "UTF-8" in fault.write


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-32"])
def test_a_wider_encoding_is_one_refusal(tmp_path: Path, encoding: str):
    (fault,) = refusals_of(raw(tmp_path, f"{OPENED}\n{BAG_A}\n".encode(encoding)))
    assert "UTF-8" in fault.what


# --- one line ---------------------------------------------------------------------------------------------------


def only(folder: Path, text: str) -> Refusal:
    (fault,) = refused(folder, text)
    assert fault.where == str(folder / "chart.jsonl")
    assert fault.line == 1
    assert fault.what
    assert fault.write
    return fault


def test_no_json_names_the_column(tmp_path: Path):
    fault = only(tmp_path, '{"event":"note","session":"s",}')
    assert "not JSON" in fault.what
    assert fault.column == 31


@pytest.mark.parametrize("text", ["[]", "7", '"note"', "null"])
def test_a_line_that_is_no_object(tmp_path: Path, text: str):
    assert "not an entry" in only(tmp_path, text).what


def test_a_field_twice(tmp_path: Path):
    text = OPENED[:-1] + ', "patient": "demo-13"}'
    fault = only(tmp_path, text)
    assert (fault.field, fault.column) == ("patient", text.rindex('"patient"') + 1)
    assert "twice" in fault.what


@pytest.mark.parametrize("figure", ["NaN", "Infinity", "-Infinity", "1e999"])
def test_what_is_no_number(tmp_path: Path, figure: str):
    text = BAG_A.replace("3000", figure)
    fault = only(tmp_path, text)
    assert figure in fault.what
    assert fault.column == text.index(figure) + 1


def test_numbers_and_nesting_beyond_all_measure(tmp_path: Path):
    assert "no number" in only(tmp_path, BAG_A.replace("3000", "9" * 6000)).what
    assert only(tmp_path, "[" * 60_000).what


def test_an_unknown_event(tmp_path: Path):
    fault = only(tmp_path, line("bag_reed", line="A", left_ml=1))
    assert (fault.field, fault.column) == ("event", 2)
    assert "bag_reed" in fault.what
    assert "did you mean bag_read" in fault.write
    assert "one of session_opened, " in only(tmp_path, line("qqqqqq")).write


@pytest.mark.parametrize("text", ['{"session":"s"}', '{"event":7}', '{"event":null}', '{"event":["note"]}'])
def test_no_kind_of_event(tmp_path: Path, text: str):
    assert only(tmp_path, text).field == "event"


def test_an_unknown_field(tmp_path: Path):
    faults = refused(tmp_path, line("bag_read", line="A", left_mL=1, not_measured=True))
    assert [(f.field, f.write) for f in faults] == [("left_mL", "did you mean left_ml?")]
    (far,) = refused(tmp_path, line("back", colour="red"))
    assert "leave it out" in far.write


def test_a_naive_time(tmp_path: Path):
    fault = only(tmp_path, line("back", at="2026-03-01T07:00:00"))
    assert fault.field == "at"
    assert "offset" in fault.what
    assert "2026-03-01T07:00:00+00:00" in fault.write
    assert fault.column == line("back", at="x").index('"at"') + 1


@pytest.mark.parametrize(
    ("text", "field", "what", "write"),
    [
        (line("bag_read", line="A", left_ml="850 mL"), "left_ml", "850 mL", "without quotes"),
        (line("bag_read", line="A", left_ml=-5), "left_ml", "-5 is below 0", "0 or more"),
        (line("bag_read", line=7, left_ml=5), "line", "7 is no text", "double quotes"),
        (line("bag_read", line="A"), "", "no volume", "not_measured"),
        (line("bag_read", line="A", left_ml=1, left_g=1), "", "exclude", "keep one"),
        (line("bag_read", left_ml=1), "line", "needs line", 'add "line"'),
        (line("outflow_seen", running="yes"), "running", "neither true nor false", "true or false"),
        (line("inflow_set", setting="fsat"), "setting", "fsat", "did you mean fast?"),
        (line("inflow_set", setting=5), "setting", "5 ", "one of off, slow"),
        (line("symptoms", pain=11), "pain", "11", "0 to 10"),
        (line("washout", pushes=2.5, syringe_ml=50), "pushes", "no whole number", "whole"),
        (line("washout", pushes=2), "", "only one of them", "both or neither"),
        (line("session_opened", patient=""), "patient", "empty", "at least one"),
        (line("session_opened", patient="x", weight_kg=0), "weight_kg", "not above 0", "above 0"),
        (line("session_opened", patient="x", allergies=[1]), "allergies.1", "no text", "quotes"),
        (line("session_opened", patient="x", allergies={"a": 1}), "allergies", "no list", "list"),
        (line("voided", volume=1, volume_ml=2), "volume_ml", "same field", "keep volume"),
        (line("catheter_placed", french=22, ways=4, tip="coude", material="x"), "ways", "4 ", "2 or 3"),
        (line("corrected", target="x", fields={"id": "y"}, reason="r"), "", "id of an entry", "strike"),
        (line("corrected", target="x", fields={}, reason="r"), "", "no field", "at least one"),
        (line("corrected", target="x", fields=7, reason="r"), "fields", "no set", "curly"),
        (line("alert_shown", alert="a", condition="c", subject="s", priority="low", text="t", numbers={"a": [1]}),
         "numbers.a", "[1]", "a number, text"),
        (line("note", text="\ud800").replace("\ud800", "\\ud800"), "text", "no text", "quotes"),
        (line("note", text="x" * 4001), "text", "4000", "shorter"),
        (line("back", at="0500-01-01T00:00:00+00:00"), "at", "years", "check the year"),
    ],
)  # fmt: skip
def test_a_wrong_value_names_its_field_and_the_remedy(
    tmp_path: Path, text: str, field: str, what: str, write: str
):
    if '"corrected"' in text:
        text = text[:-1] + ', "id": "c"}'
        assert any(f.field == field and what in f.what and write in f.write for f in refused(tmp_path, text))
        return
    fault = only(tmp_path, text)
    assert fault.field == field
    assert what in fault.what
    assert write in fault.write


def test_every_fault_of_a_file_is_told_at_once_in_the_order_of_lines(tmp_path: Path):
    faults = refused(
        tmp_path,
        OPENED,
        line("bag_reed", line="A"),
        BAG_A,
        "oops",
        line("bag_read", line="A", left_ml="x", of="old", colour="red"),
        line("session_opened", "again", patient="demo-12"),
        line("back", at="2026-03-01"),
    )
    assert [(f.line, f.field) for f in faults] == [
        (2, "event"), (4, ""), (5, "left_ml"), (5, "of"), (5, "colour"), (6, "session"), (7, "at"),
    ]  # fmt: skip


def test_a_refusal_says_place_field_what_and_what_to_write(tmp_path: Path):
    (fault,) = refused(tmp_path, OPENED, line("inflow_set", setting="fsat"))
    path = tmp_path / "chart.jsonl"
    column = line("inflow_set", setting="fsat").index('"setting"') + 1
    assert str(fault).startswith(f'{path}:2:{column}: setting: "fsat" is none of the words')
    assert "; did you mean fast? One of off, slow," in str(fault)


# --- entries together -------------------------------------------------------------------------------------------


def test_a_second_opening(tmp_path: Path):
    again = line("session_opened", "again", patient="demo-12", at="2026-03-01T08:00:00+00:00")
    (fault,) = refused(tmp_path, OPENED, again)
    assert (fault.line, fault.field) == (2, "session")
    assert "opened already" in fault.what
    other = line("session_opened", "other", session="t", patient="demo-13")
    assert len(read_session_file(file_of(tmp_path, OPENED, other))) == 2


@pytest.mark.parametrize(
    "text",
    [
        line("bag_read", "x", line="B", left_ml=1),
        line("bag_down", "x", line="B", left_ml=1),
        line("line_clamped", "x", line="B"),
        line("line_opened", "x", line="B"),
        line("inflow_set", "x", line="B", ml_per_h=500),
        line("irrigant_run_in", "x", line="B", volume=500),
        line("bag_read", "x", line="A", left_ml=1, at="2026-03-01T06:59:59+00:00"),
    ],
)
def test_an_unknown_line(tmp_path: Path, text: str):
    (fault,) = refused(tmp_path, OPENED, BAG_A, text)
    assert (fault.line, fault.field) == (3, "line")
    assert "no bag was hung" in fault.what
    assert "lines A" in fault.write


def test_a_line_is_known_from_the_instant_on_at_which_a_bag_hung_wherever_it_stands_in_the_file(
    tmp_path: Path,
):
    later = line("bag_read", "x", line="A", left_ml=1, at="2026-03-01T08:00:00+01:00")
    assert len(read_session_file(file_of(tmp_path, later, READ_A, BAG_A, OPENED))) == 4


def test_a_line_of_another_session_is_not_known(tmp_path: Path):
    (fault,) = refused(tmp_path, BAG_A, line("bag_read", "x", session="t", line="A", left_ml=1))
    assert "no bag is charted" in fault.what


def test_a_chart_that_gives_volumes_may_name_lines_without_bags(tmp_path: Path):
    lines = (
        line("irrigant_run_in", "a", line="A", volume=500),
        line("inflow_set", "b", line="A", ml_per_h=500),
    )
    assert len(read_session_file(file_of(tmp_path, OPENED, *lines))) == 3


def test_a_bag_charted_later_makes_no_line_wrong_that_was_taken_before(tmp_path: Path):
    early = line("inflow_set", "b", line="B", ml_per_h=500, recorded="2026-03-01T07:00:00+00:00")
    late = line("bag_hung", "c", line="A", label_ml=3000, fluid="x", recorded="2026-03-01T09:00:00+00:00")
    assert len(read_session_file(file_of(tmp_path, early, late))) == 2


def test_that_the_inflow_was_stopped_is_taken_whatever_the_line_is_called(tmp_path: Path):
    stop = line("inflow_stopped", "x", line="left", reason="not_draining")
    assert len(read_session_file(file_of(tmp_path, OPENED, BAG_A, stop))) == 3


def test_two_entries_with_one_id(tmp_path: Path):
    (fault,) = refused(tmp_path, BAG_A, READ_A, line("bag_read", "read", line="A", left_ml=2000))
    assert (fault.line, fault.field) == (3, "id")
    assert f"{tmp_path / 'chart.jsonl'}:2" in fault.what


def test_the_same_line_twice_is_taken_once(tmp_path: Path):
    spaced = READ_A.replace("2100", "2100.0").replace('{"', '{ "')
    assert [e.id for e in read_session_file(file_of(tmp_path, BAG_A, READ_A, spaced))] == ["bag", "read"]


def test_the_same_line_twice_without_an_id_is_two_entries(tmp_path: Path):
    twice = line("voided", volume=100)
    assert len({e.id for e in read_session_file(file_of(tmp_path, twice, twice))}) == 2


@pytest.mark.parametrize(
    "text",
    [
        line("corrected", "c", target="read", fields={"left_ml": 1}, reason="r"),
        line("struck_out", "c", target="read", reason="r"),
        line("answered", "c", finding="level_up:read", answer="confirmed", reason="r"),
    ],
)
def test_entries_that_speak_of_entries_need_ids_throughout(tmp_path: Path, text: str):
    faults = refused(tmp_path, line("session_opened", patient="x"), BAG_A, READ_A, line("back"), text)
    assert [(f.line, f.field) for f in faults] == [(5, "id")]
    assert "2 entries have none, the first on line 1" in faults[0].what
    assert len(read_session_file(file_of(tmp_path, OPENED, BAG_A, READ_A, text))) == 4


CORRECTED = line("corrected", "c", target="read", fields={"left_ml": 2050}, reason="misread")


def test_a_correction_or_strike_out_of_an_unknown_entry(tmp_path: Path):
    struck = line("struck_out", "x", target="nowhere", reason="r")
    other = line("struck_out", "y", session="t", target="read", reason="r")
    faults = refused(tmp_path, BAG_A, READ_A, CORRECTED.replace("read", "red"), struck, other)
    assert [(f.line, f.field) for f in faults] == [(3, "target"), (4, "target"), (5, "target")]


def test_a_correction_of_a_correction(tmp_path: Path):
    again = line("corrected", "d", target="c", fields={"left_ml": 1}, reason="r")
    (fault,) = refused(tmp_path, BAG_A, READ_A, CORRECTED, again)
    assert (fault.line, fault.field) == (4, "target")
    assert "itself a correction" in fault.what


def test_a_correction_may_be_struck_out_and_a_strike_out_stays(tmp_path: Path):
    strike = line("struck_out", "d", target="c", reason="r")
    assert len(read_session_file(file_of(tmp_path, BAG_A, READ_A, CORRECTED, strike))) == 4
    back = line("struck_out", "e", target="d", reason="r")
    undo = line("corrected", "f", target="d", fields={"reason": "x"}, reason="r")
    faults = refused(tmp_path, BAG_A, READ_A, CORRECTED, strike, back, undo)
    assert [(f.line, f.field) for f in faults] == [(5, "target"), (6, "target")]
    assert all("stays so" in f.what for f in faults)


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"left_ml": -1}, "fields.left_ml"),
        ({"left_ml": None}, "fields"),
        ({"left_g": 900}, "fields"),
        ({"colour": "red"}, "fields.colour"),
        ({"at": "2026-03-01T07:00:00"}, "fields.at"),
        ({"line": "B"}, "fields.line"),
        ({"at": "2026-03-01T06:00:00+00:00"}, "fields.line"),
    ],
)
def test_what_is_corrected_must_pass_as_a_new_entry(tmp_path: Path, fields: dict[str, object], field: str):
    (fault,) = refused(
        tmp_path, BAG_A, READ_A, line("corrected", "c", target="read", fields=fields, reason="r")
    )
    assert (fault.line, fault.field) == (3, field)


def test_corrections_are_laid_over_in_order_of_when_they_were_typed(tmp_path: Path):
    grams = line("corrected", "c1", target="read", fields={"left_ml": None, "left_g": 900}, reason="r",
                 recorded="2026-03-01T08:00:00+00:00")  # fmt: skip
    less = line(
        "corrected",
        "c2",
        target="read",
        fields={"left_g": 800},
        reason="r",
        recorded="2026-03-01T09:00:00+00:00",
    )
    assert len(read_session_file(file_of(tmp_path, less, grams, READ_A, BAG_A))) == 4
    (fault,) = refused(tmp_path, grams.replace("T08", "T10"), less, READ_A, BAG_A)
    assert fault.line == 2


def test_a_line_that_could_not_be_read_is_not_told_as_an_unknown_target_too(tmp_path: Path):
    faults = refused(tmp_path, BAG_A.replace("3000", '"x"'), READ_A, CORRECTED)
    assert [(f.line, f.field) for f in faults] == [(1, "label_ml")]


# --- anything at all --------------------------------------------------------------------------------------------


@given(st.binary(max_size=200) | st.text(max_size=100).map(str.encode))
def test_no_bytes_make_the_reader_fail(data: bytes):
    parsed = parse_bytes(data, where="x")
    assert parsed.entries or parsed.refusals


_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


@given(st.sampled_from([BAG_A, READ_A, CORRECTED, OPENED]), st.data())
def test_no_value_in_any_field_makes_the_reader_fail(text: str, data: st.DataObject):
    import json

    told = json.loads(text)
    told[data.draw(st.sampled_from([*told, "pain", "numbers"]))] = data.draw(_JSON)
    parsed = parse_bytes(json.dumps(told).encode(), where="x")
    assert parsed.entries or all(fault.what for fault in parsed.refusals)


def test_the_same_time_zone_oddities_are_no_matter(tmp_path: Path):
    assert read_session_file(file_of(tmp_path, line("back", at=AT.replace("+00:00", "Z"))))
