"""The command line: what it prints, what it refuses, and with which status it ends."""

from __future__ import annotations

import csv
import io
import itertools
import json
import re
import subprocess
import sys
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from cbi_monitor.cli import main
from cbi_monitor.cli.output import progress, table
from cbi_monitor.resources import demo_session, demo_sessions
from cbi_monitor.settings import THRESHOLDS

NIGHT = str(demo_session("clot_block"))

BALANCE_FIELDS = (
    *("start", "end", "state", "irrigant_in_ml", "washed_in_ml", "drained_ml", "washed_back_ml", "leaked_ml"),
    *("otherwise_ml", "net_urine_ml", "net_urine_low_ml", "net_urine_high_ml", "running_net_urine_ml"),
    *(
        "running_low_ml",
        "running_high_ml",
        "running_since",
        "behind_by_ml",
        "behind_by_sd_ml",
        "may_hold_low_ml",
    ),
    *(
        "may_hold_ml",
        "may_hold_high_ml",
        "other_in_ml",
        "other_out_ml",
        "fluid_balance_ml",
        "ml_per_kg_per_h",
    ),
    *("start_bags", "end_bags", "end_drainage_ml", "prorated", "remarks"),
)
"""The fields that other programs were promised."""

ALERT_FIELDS = (
    *("file", "session", "id", "condition", "subject", "priority", "raised_at", "cleared_at", "answered"),
    *("behind_by_ml", "may_hold_ml", "may_hold_low_ml", "may_hold_high_ml", "says", "do_first", "spoken_by"),
)


def run(*argv: str) -> int:
    return main(list(argv))


def told(capsys: pytest.CaptureFixture[str], *argv: str) -> str:
    assert run(*argv) == 0
    said = capsys.readouterr()
    assert said.err == ""
    return said.out


def rows(capsys: pytest.CaptureFixture[str], *argv: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(told(capsys, "balance", *argv, "--format", "json"))
    return found


# --- balance --------------------------------------------------------------------------------------------------------


def test_balance_json_has_the_promised_fields_and_types(capsys: pytest.CaptureFixture[str]) -> None:
    found = rows(capsys, NIGHT)
    assert len(found) > 10
    for row in found:
        assert set(BALANCE_FIELDS) <= set(row)
        for name, value in row.items():
            if name.endswith("_ml") and value is not None:
                assert isinstance(value, int), name
        assert datetime.fromisoformat(row["start"]).utcoffset() is not None
        assert row["state"] in ("closed", "open", "questioned")
        assert row["prorated"] is False
        for remark in row["remarks"]:
            assert set(remark) == {"kind", "text", "events"}
            assert remark["text"]


def test_times_carry_the_wards_offset(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    # The clot session is in April: Europe/London is on summer time (IANA tz data).
    assert {row["start"][-6:] for row in rows(capsys, NIGHT)} == {"+01:00"}
    ward = tmp_path / "ward.toml"
    from cbi_monitor.settings import WARD

    ward.write_text(WARD.shipped.replace('"Europe/London"', '"Asia/Tokyo"'), "utf-8")
    assert {row["start"][-6:] for row in rows(capsys, NIGHT, "--ward", str(ward))} == {"+09:00"}


@pytest.mark.parametrize("by", ["hour", "shift", "day"])
@pytest.mark.parametrize(
    "file", [str(file) for file in demo_sessions()], ids=[f.stem for f in demo_sessions()]
)
def test_prorated_rows_add_up_to_the_checks(capsys: pytest.CaptureFixture[str], by: str, file: str) -> None:
    checks, spans = rows(capsys, file), rows(capsys, file, "--by", by)
    assert spans[0]["start"] == checks[0]["start"]
    for one, after in itertools.pairwise(spans):
        assert one["end"] == after["start"]
    for name in ("irrigant_in_ml", "drained_ml", "washed_in_ml", "net_urine_ml"):
        known = [row[name] for row in checks]
        if None not in known and None not in [row[name] for row in spans]:
            assert sum(row[name] for row in spans) == sum(known)


def test_hours_of_the_night_on_which_the_clock_goes_back(capsys: pytest.CaptureFixture[str]) -> None:
    hours = rows(capsys, str(demo_session("clock_goes_back")), "--by", "hour")
    offsets = [row["start"][-6:] for row in hours]
    assert set(offsets) == {"+01:00", "+00:00"}
    twice = [row["start"] for row in hours if row["start"][11:16] == "01:00"]
    assert len(twice) == 2
    assert twice[0][-6:] != twice[1][-6:]


def test_unknown_is_null_and_a_question_mark_never_zero(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = _written(
        tmp_path,
        {"event": "session_opened", "patient": "P-1", "at": "2026-03-01T08:00:00+00:00"},
        {
            "event": "bag_hung",
            "line": "A",
            "label_ml": 3000,
            "fluid": "saline_0_9",
            "at": "2026-03-01T08:00:00+00:00",
        },
        {
            "event": "drainage_bag_placed",
            "capacity_ml": 4000,
            "contents_ml": 0,
            "at": "2026-03-01T08:00:00+00:00",
        },
        {"event": "bag_read", "line": "A", "left_ml": 2400, "at": "2026-03-01T09:00:00+00:00"},
        {"event": "drainage_read", "not_measured": True, "at": "2026-03-01T09:00:00+00:00"},
    )
    (row,) = rows(capsys, file)
    assert row["state"] == "open"
    assert (row["irrigant_in_ml"], row["drained_ml"], row["net_urine_ml"]) == (600, None, None)
    line = next(line for line in told(capsys, "balance", file).splitlines() if "08:00" in line)
    assert "600" in line
    assert "?" in line


def test_csv_has_the_same_figures(capsys: pytest.CaptureFixture[str]) -> None:
    found = rows(capsys, NIGHT)
    text = told(capsys, "balance", NIGHT, "--format", "csv")
    assert text.count("\r\n") == len(found) + 1
    for line, row in zip(csv.DictReader(io.StringIO(text)), found, strict=True):
        assert set(BALANCE_FIELDS) <= set(line)
        for name in ("irrigant_in_ml", "drained_ml", "net_urine_ml", "behind_by_ml"):
            assert line[name] == ("" if row[name] is None else str(row[name]))


def test_the_table_shows_every_row_and_says_its_units(capsys: pytest.CaptureFixture[str]) -> None:
    text = told(capsys, "balance", NIGHT)
    found = rows(capsys, NIGHT)
    for row in found:
        assert row["end"][11:16] in text
    assert "Volumes in mL" in text


def test_findings_are_printed_and_are_no_failure(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = _written(
        tmp_path,
        {"event": "session_opened", "patient": "P-1", "at": "2026-03-01T08:00:00+00:00"},
        {"event": "drainage_emptied", "volume": 28000, "at": "2026-03-01T09:00:00+00:00"},
        {"event": "irrigant_run_in", "volume": 500, "at": "2026-03-01T09:00:00+00:00"},
    )
    text = told(capsys, "balance", file)
    assert "28,000" in text.partition("Findings")[2]


# --- alerts ---------------------------------------------------------------------------------------------------------


def test_alerts_json_is_one_object_a_line_with_the_promised_fields(
    capsys: pytest.CaptureFixture[str],
) -> None:
    lines = told(capsys, "alerts", NIGHT, "--format", "json").splitlines()
    alerts = [json.loads(line) for line in lines]
    assert alerts
    for alert in alerts:
        assert set(ALERT_FIELDS) <= set(alert)
        assert alert["file"] == NIGHT
        assert alert["says"]
        assert alert["do_first"]
    blocked = [alert for alert in alerts if alert["condition"] == "no_outflow"]
    assert any(alert["priority"] == "high" for alert in blocked)
    assert [alert["raised_at"] for alert in alerts] == sorted(alert["raised_at"] for alert in alerts)


def test_tasks_only_when_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    without = told(capsys, "alerts", NIGHT, "--format", "json").splitlines()
    with_tasks = [
        json.loads(line) for line in told(capsys, "alerts", NIGHT, "--format", "json", "--tasks").splitlines()
    ]
    tasks = [record for record in with_tasks if record.get("task") is True]
    assert {task["kind"] for task in tasks} >= {"look", "check"}
    assert len(with_tasks) == len(without) + len(tasks)


def test_until_stops_the_replay(capsys: pytest.CaptureFixture[str]) -> None:
    alerts = [json.loads(line) for line in told(capsys, "alerts", NIGHT, "--format", "json").splitlines()]
    middle = alerts[len(alerts) // 2]["raised_at"]
    early = [
        json.loads(line)
        for line in told(capsys, "alerts", NIGHT, "--format", "json", "--until", middle).splitlines()
    ]
    assert 0 < len(early) < len(alerts)
    assert max(alert["raised_at"] for alert in early) <= middle


def test_hindsight_is_labelled(capsys: pytest.CaptureFixture[str]) -> None:
    assert "with hindsight" in told(capsys, "alerts", NIGHT, "--as", "charted")
    assert "with hindsight" not in told(capsys, "alerts", NIGHT)


def test_several_files_and_other_thresholds(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    other = tmp_path / "thresholds.toml"
    text = re.sub(r"(_grace_minutes) = [\d.]+", r"\1 = 600", THRESHOLDS.shipped)
    other.write_text(text, "utf-8")
    files = [str(file) for file in demo_sessions()[:2]]
    usual = told(capsys, "alerts", *files, "--format", "json")
    lenient = told(capsys, "alerts", *files, "--thresholds", str(other), "--format", "json")
    assert {json.loads(line)["file"] for line in usual.splitlines()} == set(files)
    assert usual.count('"look_due"') > 0
    assert lenient.count('"condition":"look_due"') == 0


# --- backtest, report, thresholds -----------------------------------------------------------------------------------


def test_backtest_side_by_side_with_a_picture(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    shipped = tmp_path / "same.toml"
    shipped.write_text(THRESHOLDS.shipped, "utf-8")
    picture = tmp_path / "load.svg"
    args = ["backtest", NIGHT, "--against", str(shipped), "--picture", str(picture), "--format", "json"]
    text = told(capsys, *args)
    one, other = json.loads(text[: text.rindex("]") + 1])
    assert {**one, "thresholds": ""} == {**other, "thresholds": ""}
    assert one["alerts"] == sum(one["by_priority"].values()) > 0
    assert one["tasks"]["check"] > 0
    assert picture.read_text("utf-8").startswith("<svg")
    assert "EEMUA 191" in told(capsys, "backtest", NIGHT)


def test_report_writes_files_and_overwrites_none_unasked(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    paths = told(capsys, "report", NIGHT, "--out", str(tmp_path), "--format", "pdf,csv").split()
    assert any(path.endswith(".pdf") for path in paths)
    assert sum(path.endswith(".csv") for path in paths) >= 5
    assert all(Path(path).stat().st_size for path in paths)
    assert run("report", NIGHT, "--out", str(tmp_path)) == 2
    assert "already" in capsys.readouterr().err
    assert run("report", NIGHT, "--out", str(tmp_path), "--overwrite") == 0


def test_report_of_a_shift_or_a_span(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (night,) = told(
        capsys, "report", NIGHT, "--shift", "night", "--out", str(tmp_path), "--format", "pdf"
    ).split()
    assert Path(night).exists()
    span = ["--from", "2026-04-11T18:00:00+01:00", "--to", "2026-04-11T20:00:00+01:00"]
    (own,) = told(capsys, "report", NIGHT, *span, "--out", str(tmp_path), "--format", "pdf").split()
    assert own != night


@pytest.mark.parametrize(
    ("args", "word"),
    [
        (["--shift", "noon"], "day, night"),
        (["--shift", "day", "--from", "2026-04-11T18:00Z"], "--shift"),
        (["--from", "2026-04-11T18:00Z"], "both"),
        (["--from", "2026-04-11T18:00Z", "--to", "2026-04-11T17:00Z"], "later"),
        (["--format", "docx"], "docx"),
    ],
)
def test_wrong_use_of_report(
    args: list[str], word: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert run("report", NIGHT, "--out", str(tmp_path), *args) == 2
    assert word in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_thresholds_check_names_every_fault_with_its_place(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    good, bad = tmp_path / "good.toml", tmp_path / "bad.toml"
    good.write_text(THRESHOLDS.shipped, "utf-8")
    bad.write_text(THRESHOLDS.shipped.replace("needs_u = 3", "need_u = 3", 1), "utf-8")
    assert run("thresholds", "check", str(good), str(bad)) == 1
    said = capsys.readouterr()
    assert f"{good}: no fault" in said.out
    assert f"{bad}:" in said.err
    assert "needs_u" in said.err


def test_thresholds_show_what_differs(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    own.write_text(THRESHOLDS.shipped.replace("medium_behind_ml = 120", "medium_behind_ml = 140", 1), "utf-8")
    (changed,) = json.loads(told(capsys, "thresholds", "show", str(own), "--format", "json"))
    assert (changed["name"], changed["value"], changed["shipped"]) == ("retention.medium_behind_ml", 140, 120)
    assert "140" in told(capsys, "thresholds", "show", str(own))
    every = json.loads(told(capsys, "thresholds", "show", "--format", "json"))
    assert len(every) > 100
    assert all(value["unit"] and value["source"] for value in every)


def test_thresholds_explain(capsys: pytest.CaptureFixture[str]) -> None:
    text = told(capsys, "thresholds", "explain", "retention")
    assert "medium_behind_ml = 120" in text
    assert "Source:" in text
    assert "no_outflow" in told(capsys, "thresholds", "explain")
    from cbi_monitor.alerts.conditions import ALL_CONDITIONS

    for condition in (*ALL_CONDITIONS, "life"):
        words = told(capsys, "thresholds", "explain", condition).splitlines()
        assert words[0] == condition
        assert len(words[1]) > 40
    assert run("thresholds", "explain", "retenton") == 2
    assert "Did you mean retention?" in capsys.readouterr().err


def test_thresholds_test(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "expected.toml"
    file.write_text(f'[[session]]\nfile = "{NIGHT}"\nexpect = [ {{ condition = "no_outflow" }} ]\n', "utf-8")
    assert run("thresholds", "test", str(file)) == 0
    file.write_text(f'[[session]]\nfile = "{NIGHT}"\nnever = [ {{ condition = "no_outflow" }} ]\n', "utf-8")
    capsys.readouterr()
    assert run("thresholds", "test", str(file)) == 1
    assert f"{file}:3: " in capsys.readouterr().err


# --- journal --------------------------------------------------------------------------------------------------------


def test_journal_import_verify_export_and_import_again(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    journal = ["--journal", str(tmp_path / "ward.db")]
    files = [str(file) for file in demo_sessions()]
    assert "0 stood there already" in told(capsys, "journal", "import", *files, *journal)
    assert " 0 entries taken" in told(capsys, "journal", "import", *files, *journal)
    assert "Whole" in told(capsys, "journal", "verify", *journal)
    out, again = tmp_path / "all.jsonl", tmp_path / "again.jsonl"
    told(capsys, "journal", "export", str(out), *journal)
    other = ["--journal", str(tmp_path / "other.db")]
    told(capsys, "journal", "import", str(out), *other)
    told(capsys, "journal", "export", str(again), *other)
    assert again.read_bytes() == out.read_bytes()
    assert run("journal", "export", str(out), *journal) == 2


def test_sessions_of_a_journal(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    journal = ["--journal", str(tmp_path / "ward.db")]
    told(capsys, "journal", "import", NIGHT, str(demo_session("smooth_wean")), *journal)
    assert run("balance", *journal) == 2
    assert "--session" in capsys.readouterr().err
    session = rows(capsys, NIGHT)
    assert rows(capsys, *journal, "--session", _session_of(NIGHT)) == session
    assert run("balance", *journal, "--session", "nobody") == 2
    assert "nobody" in capsys.readouterr().err


def test_backup_and_restore(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    journal, copy, back = (str(tmp_path / name) for name in ("ward.db", "copy.db", "back.db"))
    told(capsys, "journal", "import", NIGHT, "--journal", journal)
    assert "Whole" in told(capsys, "journal", "backup", copy, "--journal", journal)
    assert run("journal", "backup", copy, "--journal", journal) == 1
    assert copy in capsys.readouterr().err
    told(capsys, "journal", "restore", copy, "--journal", back)
    assert rows(capsys, "--journal", back) == rows(capsys, NIGHT)
    assert run("journal", "restore", copy, "--journal", back) == 1


def test_a_damaged_journal_is_not_whole(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    import sqlite3

    path = tmp_path / "ward.db"
    told(capsys, "journal", "import", NIGHT, "--journal", str(path))
    with sqlite3.connect(path, isolation_level=None) as behind:
        behind.execute("DROP TRIGGER entries_never_changed")
        behind.execute(
            "UPDATE entries SET payload = replace(payload, '600', '601') WHERE payload LIKE '%600%'"
        )
    behind.close()
    assert run("journal", "verify", "--journal", str(path)) == 1
    said = capsys.readouterr()
    assert "NOT WHOLE" in said.out
    assert f"{path}:" in said.err


def test_a_journal_that_is_not_there(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "none.db"
    for command in (
        ["journal", "verify"],
        ["balance"],
        ["alerts"],
        ["journal", "export", str(tmp_path / "x")],
    ):
        assert run(*command, "--journal", str(path)) == 1
        said = capsys.readouterr()
        assert str(path) in said.err
        assert said.out == ""
    assert not path.exists()


def test_schema_is_json(capsys: pytest.CaptureFixture[str]) -> None:
    schema = json.loads(told(capsys, "journal", "schema"))
    assert schema["$schema"].endswith("2020-12/schema")
    assert "bag_hung" in json.dumps(schema)


def test_another_programs_chart_by_a_map(
    capsys: pytest.CaptureFixture[str], open_data: Path, tmp_path: Path
) -> None:
    """Three public intensive-care stays, read with the shipped example map (see the records' own README)."""
    from cbi_monitor.resources import folder

    journal = ["--journal", str(tmp_path / "icu.db")]
    chart_map = folder("demo_sessions") / "maps" / "intensive_care_flowsheet.toml"
    chart = str(open_data / "mimiciii_demo14_gu_outputevents.csv")
    stays = str(open_data / "mimiciii_demo14_gu_stays.csv")
    text = told(capsys, "journal", "import", chart, "--map", str(chart_map), "--sessions", stays, *journal)
    assert "261 rows read" in text
    assert "3 sessions" in text
    assert "Whole" in told(capsys, "journal", "verify", *journal)


def test_a_map_goes_with_its_table(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    args = ["journal", "import", "x.csv", "--sessions", "y.csv", "--journal", str(tmp_path / "w.db")]
    assert run(*args) == 2
    assert "--map" in capsys.readouterr().err


# --- refusals and wrong use -----------------------------------------------------------------------------------------


def test_every_refusal_is_named_with_file_and_line(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = _written(
        tmp_path,
        {"event": "session_opened", "patient": "P-1", "at": "2026-03-01T08:00:00"},
        {"event": "drainage_emptied", "volume": -3, "at": "2026-03-01T09:00:00+00:00"},
        {"event": "drainage_filled", "at": "2026-03-01T09:00:00+00:00"},
    )
    assert run("balance", file) == 1
    said = capsys.readouterr()
    assert said.out == ""
    places = [line.split(": ")[0] for line in said.err.splitlines()]
    assert [place.split(":")[1] for place in places] == ["1", "2", "3"]
    assert all(place.startswith(file) for place in places)


@pytest.mark.parametrize(
    "content", [b"", b'{"event": "note", "te', b"\xff\xfe{}"], ids=["empty", "cut", "encoding"]
)
def test_files_that_are_no_session_files(
    content: bytes, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "bad.jsonl"
    file.write_bytes(content)
    journal = tmp_path / "ward.db"
    assert run("journal", "import", NIGHT, str(file), "--journal", str(journal)) == 1
    assert str(file) in capsys.readouterr().err
    assert " 0 entries" in told(capsys, "journal", "verify", "--journal", str(journal)), (
        "nothing half-written"
    )


def test_good_files_beside_a_bad_one_are_still_replayed(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert run("alerts", NIGHT, str(tmp_path / "none.jsonl"), "--format", "json") == 1
    said = capsys.readouterr()
    assert "none.jsonl" in said.err
    assert said.out == "", "a refused run prints no half result"


@pytest.mark.parametrize(
    "argv",
    [
        ["balance"],
        ["balance", "x", "--journal", "y"],
        ["balance", "x", "--by", "week"],
        ["fly"],
        ["thresholds"],
        ["journal", "eat"],
        ["alerts", "x", "--until", "yesterday"],
        ["alerts", "x", "--until", "2026-03-01T04:00"],
        ["backtest", "x", "--beds-per-nurse", "0"],
        ["report", "x"],
    ],
)
def test_wrong_use_is_2(argv: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    try:
        status: object = main(argv)
    except SystemExit as end:
        status = end.code
    assert status == 2
    said = capsys.readouterr()
    assert said.err
    assert said.out == ""


def test_a_faulty_ward_file_is_refused_by_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    ward = tmp_path / "ward.toml"
    ward.write_text("name = 3\n", "utf-8")
    assert run("balance", NIGHT, "--ward", str(ward)) == 1
    assert f"{ward}:1:" in capsys.readouterr().err


def test_options_before_the_command_count_too(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    ward = tmp_path / "ward.toml"
    ward.write_text("name = 3\n", "utf-8")
    assert run("--ward", str(ward), "balance", NIGHT) == 1


# --- as a program among programs ------------------------------------------------------------------------------------


def python(*code: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, *code], capture_output=True, text=True, check=False, timeout=120)


def test_help_is_quick_to_load_and_needs_no_windows() -> None:
    watch = (
        "import sys; from cbi_monitor.cli import main\n"
        "try: main(['balance', '--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'PySide6', 'pandas', 'pyqtgraph', 'reportlab', 'sqlite3', 'numpy', 'pydantic'} & set(sys.modules)\n"
        "assert not heavy, heavy"
    )
    done = python("-c", watch)
    assert done.returncode == 0, done.stderr
    assert "examples:" in done.stdout


@pytest.mark.parametrize("command", [["balance", NIGHT], ["alerts", NIGHT, "--format", "json"]])
def test_commands_load_neither_windows_nor_pandas(command: list[str]) -> None:
    watch = (
        f"import sys; from cbi_monitor.cli import main; status = main({command!r})\n"
        "heavy = {'PySide6', 'pandas', 'pyqtgraph', 'reportlab', 'numpy'} & set(sys.modules)\n"
        "assert not heavy and status == 0, heavy"
    )
    done = python("-c", watch)
    assert done.returncode == 0, done.stderr


def every_command() -> list[list[str]]:
    top = ["demo", "balance", "alerts", "backtest", "report", "thresholds", "journal"]
    acts = {
        "thresholds": ["check", "show", "explain", "test"],
        "journal": ["verify", "backup", "restore", "import", "export", "schema"],
    }
    return [[], *([name] for name in top), *([name, act] for name in acts for act in acts[name])]


@pytest.mark.parametrize("command", every_command(), ids=" ".join)
def test_every_command_explains_itself_with_an_example(
    command: Sequence[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as end:
        main([*command, "--help"])
    assert end.value.code == 0
    text = capsys.readouterr().out
    assert f"cbi-monitor {' '.join(command)}".strip() in text.partition("example")[2]


def test_a_reader_that_has_seen_enough_is_no_fault() -> None:
    program = f"{sys.executable} -m cbi_monitor alerts {' '.join(str(f) for f in demo_sessions()[:3])} --format json"
    piped = f"set -o pipefail; {program} | head -n 1"
    done = subprocess.run(["bash", "-c", piped], capture_output=True, text=True, check=False, timeout=120)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.count("\n") == 1


def test_stopping_by_hand_prints_no_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import cbi_monitor.cli.balance

    def stopped(*_: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(cbi_monitor.cli.balance, "run", stopped)
    assert run("balance", NIGHT) == 130
    assert "Traceback" not in capsys.readouterr().err


def test_progress_is_for_terminals_only(capsys: pytest.CaptureFixture[str]) -> None:
    assert list(progress([1, 2, 3], 3, "x")) == [1, 2, 3]
    assert capsys.readouterr().err == ""


def test_a_table_is_aligned() -> None:
    lines = table(["a", "bb"], [["1", "x"], ["100", "y"]], right=frozenset({0})).splitlines()
    assert lines[0] == "  a  bb"
    assert lines[2:] == ["  1  x", "100  y"]


def test_without_a_display_the_ward_says_what_to_do(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    assert run() == 1
    assert "cbi-monitor demo" in capsys.readouterr().err


def test_the_demo_without_a_display(tmp_path: Path) -> None:
    out = tmp_path / "demo"
    done = python("-m", "cbi_monitor", "demo", "--render", "--out", str(out))
    assert done.returncode == 0, done.stderr
    written = [
        Path(line.strip()) for line in done.stdout.partition("Written:")[2].splitlines() if line.strip()
    ]
    assert {path.name for path in written} >= {"board_light.png", "bedside_light.png", "board_dark.png"}
    assert all(path.stat().st_size > 1000 for path in written)
    assert [path.suffix for path in written].count(".pdf") == 1
    assert set(written) == set(out.iterdir())
    assert "net urine" in done.stdout
    assert "not an alarm system" in done.stdout


# --- helpers --------------------------------------------------------------------------------------------------------


def _written(folder: Path, *events: dict[str, Any]) -> str:
    file = folder / "own.jsonl"
    file.write_text("".join(json.dumps({"session": "s", **event}) + "\n" for event in events), "utf-8")
    return str(file)


def _session_of(file: str) -> str:
    return str(json.loads(Path(file).read_text("utf-8").splitlines()[0])["session"])
