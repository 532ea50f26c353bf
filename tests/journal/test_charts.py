"""Other charts by a map: each readable row an event as it stands, each unreadable one refused by line, all at once."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cbi_monitor.journal.charts import ReadChart, read_chart, told
from cbi_monitor.journal.codec import read_session_file, write_session_file
from cbi_monitor.model.chart_map import ChartMap
from cbi_monitor.model.events import (
    DrainageEmptied,
    EffluentGraded,
    IrrigantRunIn,
    Note,
    SessionClosed,
    SessionOpened,
    StruckOut,
    Symptoms,
    UrineOtherwise,
    VitalSign,
)
from cbi_monitor.model.findings import Refused
from cbi_monitor.resources import folder
from cbi_monitor.settings import load_chart_map

HEAD = "icustay_id,charttime,storetime,itemid,value,valueuom,cgid,iserror\n"
SESSIONS = (
    "icustay_id,weight_kg_median,gender,intime,outtime\n7,81.5,F,2026-03-01 06:00:00,2026-03-02 06:00:00\n"
)
IN, OUT, CATHETER, OTHER = "227488", "227489", "226559", "226584"


@pytest.fixture(scope="module")
def flowsheet() -> ChartMap:
    return load_chart_map(folder("demo_sessions") / "maps" / "intensive_care_flowsheet.toml")


@pytest.fixture(scope="module")
def observations() -> ChartMap:
    return load_chart_map(folder("demo_sessions") / "maps" / "intensive_care_observations.toml")


def row(item: str, value: str = "250.0", at: str = "2026-03-01 07:00:00", **cells: str) -> str:
    given = {"stored": "2026-03-01 07:12:00", "unit": "mL", "by": "n1", "wrong": "", "session": "7", **cells}
    return f"{given['session']},{at},{given['stored']},{item},{value},{given['unit']},{given['by']},{given['wrong']}\n"


def read(folder: Path, chart_map: ChartMap, text: str | bytes, sessions: str | None = SESSIONS) -> ReadChart:
    path = folder / "chart.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    if sessions is not None:
        (folder / "stays.csv").write_text(sessions, "utf-8")
    return read_chart(path, chart_map)


def refusals(
    folder: Path, chart_map: ChartMap, text: str | bytes, sessions: str | None = SESSIONS
) -> list[str]:
    with pytest.raises(Refused) as caught:
        read(folder, chart_map, text, sessions)
    return [str(one) for one in caught.value.refusals]


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


# --- what can be read -----------------------------------------------------------------------------------------------


def test_each_item_becomes_its_event(tmp_path: Path, flowsheet: ChartMap) -> None:
    chart = HEAD + row(IN, "3000") + row(OUT, "2900.5") + row(CATHETER, "40") + row(OTHER, "30.0")
    opened, run_in, out, catheter, other, closed = read(tmp_path, flowsheet, chart).events
    assert isinstance(opened, SessionOpened)
    assert (opened.patient, opened.weight_kg, opened.sex, opened.at) == (
        "stay-7", 81.5, "female", at("2026-03-01T06:00:00"),
    )  # fmt: skip
    assert isinstance(closed, SessionClosed)
    assert closed.at == at("2026-03-02T06:00:00")
    assert isinstance(run_in, IrrigantRunIn)
    assert (run_in.volume, run_in.since, run_in.line) == (3000, None, None)
    assert isinstance(out, DrainageEmptied)
    assert out.volume == 2900.5
    assert isinstance(catheter, DrainageEmptied)
    assert isinstance(other, UrineOtherwise)
    assert other.route == "ileoconduit"
    for nth, event in enumerate((run_in, out, catheter, other), start=2):
        assert event.source == f"chart.csv:{nth}"
        assert event.session == "stay-7"
        assert event.at == at("2026-03-01T07:00:00")
        assert event.recorded == at("2026-03-01T07:12:00")
        assert event.by == "n1"


def test_rows_that_make_no_sense_are_read_as_they_stand(tmp_path: Path, flowsheet: ChartMap) -> None:
    chart = (
        HEAD
        + row(OUT, "28000")
        + row(OUT, "0", stored="2026-03-01 06:10:00")
        + row(IN, "3000")
        + row(IN, "3000")
    )
    result = read(tmp_path, flowsheet, chart)
    huge, early, twin, other_twin = result.events[1:-1]
    assert isinstance(huge, DrainageEmptied)
    assert huge.volume == 28_000
    assert early.recorded is not None
    assert early.recorded < early.at
    assert twin.id != other_twin.id, "two equal rows are two entries: nothing is merged in silence"
    assert result.report.stored_before == 1


def test_what_is_not_taken_is_counted(tmp_path: Path, flowsheet: ChartMap, observations: ChartMap) -> None:
    report = read(
        tmp_path, flowsheet, HEAD + row(IN) + row("999") + row("999") + row("220045", "80", unit="bpm")
    ).report
    assert (report.rows, dict(report.taken), dict(report.unmapped)) == (4, {IN: 1}, {"999": 2, "220045": 1})
    words = " ".join(told(report, flowsheet))
    assert "2 × item 999: not in the map, not taken" in words
    assert "1 × irrigant volume in (item 227488) became irrigant_run_in" in words
    chart = (
        HEAD + row("224016", "Pink") + row("224016", "Amber") + row("224015", "x") + row("224876", "Clots")
    )
    result = read(tmp_path, observations, chart)
    graded, note = result.events
    assert isinstance(graded, EffluentGraded)
    assert (graded.grade, graded.clots) == ("pink", None)
    assert isinstance(note, Note)
    assert note.text == "urine appearance: Clots"
    assert dict(result.report.left_out_words) == {("224016", "Amber"): 1}
    assert dict(result.report.left_out) == {"224015": 1}


def test_marked_wrong_is_read_and_struck_out(tmp_path: Path, flowsheet: ChartMap) -> None:
    events = read(tmp_path, flowsheet, HEAD + row(OUT, wrong="1") + row(OUT)).events
    wrong, right = events[1:3]
    (strike,) = [event for event in events if isinstance(event, StruckOut)]
    assert strike.target == wrong.id != right.id
    assert strike.source == "chart.csv:2"


def test_it_goes_through_a_session_file(tmp_path: Path, flowsheet: ChartMap) -> None:
    chart = HEAD + row(IN) + row(OUT, wrong="1") + row(OTHER, "28000", stored="")
    events = read(tmp_path, flowsheet, chart).events
    write_session_file(tmp_path / "s.jsonl", events)
    again = read_session_file(tmp_path / "s.jsonl")
    assert sorted(again, key=lambda e: e.id) == sorted(events, key=lambda e: e.id)


def test_reading_twice_gives_the_same_ids(tmp_path: Path, flowsheet: ChartMap) -> None:
    chart = HEAD + row(IN) + row(IN) + row(OUT, wrong="1")
    ids = [event.id for event in read(tmp_path, flowsheet, chart).events]
    assert ids == [event.id for event in read(tmp_path, flowsheet, chart).events]
    assert len(set(ids)) == len(ids)


def test_sessions_that_the_table_does_not_know_are_opened_bare(tmp_path: Path, flowsheet: ChartMap) -> None:
    more = SESSIONS + "8,70,M,2026-03-01 06:00:00,\n"
    result = read(tmp_path, flowsheet, HEAD + row(IN) + row(IN, session="9"), more)
    opened = {event.session: event for event in result.events if isinstance(event, SessionOpened)}
    assert set(opened) == {"stay-7", "stay-9"}
    assert opened["stay-9"].weight_kg is None
    assert result.report.without_details == ("stay-9",)
    assert result.report.unused_sessions == 1
    assert any("stay-9 stands not in the table" in line for line in told(result.report, flowsheet))


def test_charted_before_the_opening_is_said(tmp_path: Path, flowsheet: ChartMap) -> None:
    result = read(tmp_path, flowsheet, HEAD + row(IN, at="2026-03-01 05:00:00"))
    assert result.events[0].at == at("2026-03-01T05:00:00")
    assert result.report.opened_earlier == {"stay-7": (at("2026-03-01T06:00:00"), at("2026-03-01T05:00:00"))}


def test_without_a_table_of_sessions(tmp_path: Path, flowsheet: ChartMap) -> None:
    bare = flowsheet.model_copy(update={"sessions": None})
    events = read(tmp_path, bare, HEAD + row(IN, at="2026-03-01 08:00:00") + row(IN), sessions=None).events
    assert isinstance(events[0], SessionOpened)
    assert events[0].at == at("2026-03-01T07:00:00")


def test_units_are_turned_by_the_map(tmp_path: Path, flowsheet: ChartMap) -> None:
    events = read(tmp_path, flowsheet, HEAD + row(IN, "1.005", unit="L") + row(IN, "3000", unit="ml")).events
    assert [event.volume for event in events if isinstance(event, IrrigantRunIn)] == [1005, 3000]


OTHER_FORM = """\
[chart]
encoding = "cp1252"
delimiter = ";"
decimal = ","
zone = "Europe/London"
time_format = "%d.%m.%Y %H:%M"
clock_going_back = "second"
session_prefix = ""
opens_sessions = false
[columns]
session = "Fall"
charted = "Zeit"
item = "Größe"
value = "Wert"
[units.points]
[units.mmHg]
[items.RR]
words = "systolic pressure"
event = "vital_sign"
value_to = "value"
unit = "mmHg"
fields = { name = "systolic", unit = "mmHg" }
[items.Temp]
words = "temperature"
event = "vital_sign"
value_to = "value"
unit = "points"
fields = { name = "temperature", unit = "Cel" }
[items.Lage]
words = "abdomen"
event = "symptoms"
value_to = "abdomen"
values = { weich = "soft" }
"""


def test_another_hospitals_form(tmp_path: Path) -> None:
    path = tmp_path / "map.toml"
    path.write_text(OTHER_FORM, "utf-8")
    chart_map = load_chart_map(path)
    chart = "Fall;Zeit;Größe;Wert\r\nA 7;25.10.2026 01:30;RR;120\r\nA 7;01.07.2026 08:00;Temp;38,5\r\n"
    chart += "A 7;01.07.2026 08:00;Lage;weich\r\n"
    result = read(tmp_path, chart_map, chart.encode("cp1252"), sessions=None)
    pressure, temperature, abdomen = result.events
    # 25 October 2026, 01:30 comes twice in London; the second is an hour later, at UTC.
    assert pressure.at == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    assert result.report.clock_twice == (2,)
    assert isinstance(temperature, VitalSign)
    assert (temperature.value, temperature.at.utcoffset()) == (38.5, timedelta(hours=1))
    assert isinstance(abdomen, Symptoms)
    assert abdomen.abdomen == "soft"
    first = chart_map.model_copy(
        update={"chart": chart_map.chart.model_copy(update={"clock_going_back": "first"})}
    )
    assert read(tmp_path, first, chart.encode("cp1252"), None).events[0].at == datetime(
        2026, 10, 25, 0, 30, tzinfo=UTC
    )


def test_times_keep_their_own_offset(tmp_path: Path, flowsheet: ChartMap) -> None:
    event = read(tmp_path, flowsheet, HEAD + row(IN, at="2026-03-01T07:00:00+05:45")).events[1]
    assert event.at.isoformat() == "2026-03-01T07:00:00+05:45"
    moved = flowsheet.model_copy(update={"chart": flowsheet.chart.model_copy(update={"zone": "-03:30"})})
    event = read(tmp_path, moved, HEAD + row(IN, at="2026-03-01 07:00:00")).events[1]
    assert event.at == datetime(2026, 3, 1, 7, tzinfo=timezone(-timedelta(hours=3, minutes=30)))


def test_cells_over_several_lines_keep_lines_right(tmp_path: Path, observations: ChartMap) -> None:
    chart = HEAD + row("224876", '"Cloudy,\nwith sediment"') + row("224016", "Pink")
    note, graded = read(tmp_path, observations, chart).events
    assert isinstance(note, Note)
    assert note.text == "urine appearance: Cloudy,\nwith sediment"
    assert (note.source, graded.source) == ("chart.csv:2", "chart.csv:4")


# --- what cannot be read --------------------------------------------------------------------------------------------

REFUSED = [
    (row(IN, ""), "value: is empty; write the value"),
    (row(IN, "lots"), 'value: is "lots", which is no number'),
    (row(IN, "nan"), 'value: is "nan", which is no number'),
    (row(IN, "inf"), 'value: is "inf", which is no number'),
    (row(IN, "1_000"), 'value: is "1_000", which is no number'),
    (row(IN, "١٢"), 'value: is "١٢", which is no number'),
    (row(IN, '"1,000"'), 'value: is "1,000", which is no number with “.” as decimal sign'),
    (row(IN, "-250"), "value: -250 is below 0; write 0 or more"),
    (row(IN, "1e300"), "value: 1e+300 is above"),
    (row(IN, unit="oz"), 'valueuom: is "oz", a unit that the map does not know for mL'),
    (row(IN, unit=""), "valueuom: is empty, but the item is counted in mL"),
    (row(IN, at=""), "charttime: is empty; write the charttime"),
    (row(IN, at="yesterday"), 'charttime: is "yesterday", which is no date and time'),
    (row(IN, at="2026-02-30 07:00:00"), 'charttime: is "2026-02-30 07:00:00", which is no date and time'),
    (row(IN, at="0001-01-01 00:00:00"), "charttime: is \"0001-01-01 00:00:00\", a year"),
    (row(IN, stored="later"), 'storetime: is "later", which is no date and time'),
    (row(IN, session=""), "icustay_id: is empty"),
    (row(""), "itemid: is empty"),
    ("7,2026-03-01 07:00:00,x\n", "has 3 cells, but the heading has 8"),
    (row(IN)[:-1] + ",\n", "has 9 cells, but the heading has 8"),
]  # fmt: skip


@pytest.mark.parametrize(("line", "words"), REFUSED, ids=[words for _, words in REFUSED])
def test_a_row_that_cannot_be_read(tmp_path: Path, flowsheet: ChartMap, line: str, words: str) -> None:
    (slip,) = refusals(tmp_path, flowsheet, HEAD + row(OUT) + line + row(OUT))
    place = "chart.csv:3: " if not words.startswith("has ") else "chart.csv:3:"
    assert slip.startswith(place), slip
    assert words in slip


def test_all_at_once_and_nothing_taken(tmp_path: Path, flowsheet: ChartMap) -> None:
    chart = HEAD + "".join(line for line, _ in REFUSED) + row(IN, "x", at="y", unit="z")
    found = refusals(tmp_path, flowsheet, chart, SESSIONS.replace("81.5", "heavy").replace(",F,", ",?,"))
    # a negative volume is one fault, a row with a bad number, time and unit three
    assert len(found) == len(REFUSED) + 2
    assert {int(slip.split(":")[1]) for slip in found} == set(range(2, len(REFUSED) + 3))


def test_faults_of_the_table_of_sessions(tmp_path: Path, flowsheet: ChartMap) -> None:
    bad = SESSIONS.replace("81.5", "heavy").replace(",F,", ",?,").replace("2026-03-02 06:00:00", "soon")
    bad += "7,70,M,,\n"
    found = refusals(tmp_path, flowsheet, HEAD + row(IN), bad)
    assert [slip.split(": ")[0:2] for slip in found] == [
        ["stays.csv:2", "gender"],
        ["stays.csv:2", "outtime"],
        ["stays.csv:2", "weight_kg_median"],
        ["stays.csv:3", "icustay_id"],
    ]
    (slip,) = refusals(tmp_path, flowsheet, HEAD + row(IN), SESSIONS.replace("81.5", "0"))
    assert slip.startswith("stays.csv:2: weight_kg_median: 0 is not above 0")


def test_a_word_that_the_map_does_not_know(tmp_path: Path, observations: ChartMap) -> None:
    (slip,) = refusals(tmp_path, observations, HEAD + row("224016", "Pinkk"))
    assert slip.startswith('chart.csv:2: value: is "Pinkk"')
    assert "did you mean Pink?" in slip
    (slip,) = refusals(tmp_path, observations, HEAD + row("224016", "Blue"))
    assert "known: Yellow, Light Yellow, Pink, Red, Amber, Icteric, Orange" in slip


def test_columns_that_are_not_there(tmp_path: Path, flowsheet: ChartMap) -> None:
    found = refusals(
        tmp_path, flowsheet, HEAD.replace("charttime", "chart_time").replace("cgid", "itemid") + row(IN)
    )
    known = "icustay_id, chart_time, storetime, itemid, value, valueuom, itemid, iserror"
    assert found == [
        "chart.csv:1: charttime: has no column charttime; did you mean chart_time?",
        "chart.csv:1: itemid: has two columns itemid; rename one of them",
        "chart.csv:1: cgid: has no column cgid; write the column’s name into the map; there are: " + known,
    ]


def test_hours_that_clocks_skip_or_show_twice(tmp_path: Path, flowsheet: ChartMap) -> None:
    london = flowsheet.model_copy(
        update={"chart": flowsheet.chart.model_copy(update={"zone": "Europe/London"})}
    )
    chart = HEAD + row(IN, at="2026-03-29 01:30:00") + row(IN, at="2026-10-25 01:30:00") + row(IN)
    skipped, twice = refusals(tmp_path, london, chart)
    assert "chart.csv:2: charttime:" in skipped
    assert "clocks of Europe/London skipped" in skipped
    assert "chart.csv:3: charttime:" in twice
    assert "showed twice" in twice


@pytest.mark.parametrize("text", [b"", b"\n\n", HEAD.encode(), b"\xef\xbb\xbf"])
def test_empty_files(tmp_path: Path, flowsheet: ChartMap, text: bytes) -> None:
    (slip,) = refusals(tmp_path, flowsheet, text)
    assert "holds no rows" in slip


def test_wrong_encoding(tmp_path: Path, flowsheet: ChartMap) -> None:
    (slip,) = refusals(tmp_path, flowsheet, (HEAD + row(IN, by="Zoë")).encode("cp1252"))
    assert slip.startswith("chart.csv:2: cannot be read as utf-8 (byte 0xeb)")
    (slip,) = refusals(tmp_path, flowsheet, HEAD + row(IN) + "\x00")
    assert slip.startswith("chart.csv:3: cannot be read as utf-8 (byte 0x00)")


def test_no_such_chart_or_sessions(tmp_path: Path, flowsheet: ChartMap) -> None:
    with pytest.raises(Refused, match=r"none\.csv: cannot be opened"):
        read_chart(tmp_path / "none.csv", flowsheet)
    with pytest.raises(Refused, match=r"stays\.csv: cannot be opened"):
        read(tmp_path, flowsheet, HEAD + row(IN), sessions=None)


def test_open_quotation_mark(tmp_path: Path, flowsheet: ChartMap) -> None:
    found = refusals(tmp_path, flowsheet, HEAD + row(IN) + '7,"2026\n' + row(IN))
    assert found[0].startswith("chart.csv:3: is no row of a table")


def test_a_last_line_without_its_end_is_said(tmp_path: Path, flowsheet: ChartMap) -> None:
    whole = HEAD + row(IN) + row(OUT)
    assert read(tmp_path, flowsheet, whole).report.ended
    report = read(tmp_path, flowsheet, whole[:-1]).report
    assert not report.ended
    assert "may be cut off" in told(report, flowsheet)[-1]
    assert "cells" in refusals(tmp_path, flowsheet, whole[:-4])[0]


# --- whatever comes -------------------------------------------------------------------------------------------------

_cells = st.one_of(
    st.sampled_from(
        ["", "250", "-3", "x", "nan", "2026-03-01 07:00:00", "mL", IN, OUT, "999", '"', '""', "7", "1"]
    ),
    st.text(max_size=6),
)


@given(st.lists(st.lists(_cells, min_size=6, max_size=9), max_size=6), st.binary(max_size=6))
def test_every_row_is_taken_counted_or_refused(
    tmp_path_factory: pytest.TempPathFactory, flowsheet: ChartMap, rows: list[list[str]], tail: bytes
) -> None:
    folder = tmp_path_factory.mktemp("wild")
    text = HEAD.encode() + "".join(",".join(cells) + "\n" for cells in rows).encode("utf-8", "replace") + tail
    try:
        result = read(folder, flowsheet, text)
    except Refused as caught:
        where = {one.where for one in caught.refusals}
        if not where or not where <= {"chart.csv", "stays.csv"}:
            pytest.fail(f"refused without a place: {caught}")
        return
    report = result.report
    counted = sum(report.taken.values()) + sum(report.unmapped.values()) + sum(report.left_out.values())
    assert counted + sum(report.left_out_words.values()) == report.rows
