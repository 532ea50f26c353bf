"""Sessions out of a journal and into it, as files."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cbi_monitor.journal.codec import read_session_file, session_bytes
from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.journal.transfer import Imported, export_bytes, export_file, import_files
from cbi_monitor.model.events import Event
from cbi_monitor.model.findings import Refused
from tests.journal.lines import BAG_A, OPENED, READ_A, file_of, line
from tests.strategies import charts


@settings(max_examples=25)
@given(chart=charts(most=8), chance=st.randoms(use_true_random=False))
def test_export_import_export_gives_the_same_bytes(
    tmp_path_factory: pytest.TempPathFactory, chart: list[Event], chance: object
):
    folder = tmp_path_factory.mktemp("transfer")
    with SqliteJournal(folder / "one") as one, SqliteJournal(folder / "two") as two:
        one.append(chart)
        first = export_bytes(one, "s")
        lines = first.splitlines(keepends=True)
        chance.shuffle(lines)  # type: ignore[attr-defined]
        (folder / "chart.jsonl").write_bytes(b"".join(lines))
        added = import_files(two, [folder / "chart.jsonl"])
        assert added == Imported(len(chart), 0, ("s",))
        assert export_bytes(two, "s") == first
        assert import_files(two, [folder / "chart.jsonl"]) == Imported(0, len(chart), ("s",))
        assert export_bytes(two, "s") == first
        assert two.verify().whole


def test_a_file_without_ids_taken_twice_adds_nothing(tmp_path: Path):
    path = file_of(
        tmp_path,
        line("session_opened", patient="demo-12"),
        line("voided", volume=100),
        line("voided", volume=100),
    )
    with SqliteJournal(tmp_path / "j") as journal:
        assert import_files(journal, [path]).added == 3
        assert import_files(journal, [path]) == Imported(0, 3, ("s",))
        assert import_files(journal, [path, path]).added == 0
        assert export_file(journal, "s", tmp_path / "out.jsonl") == 3
    assert [event.event for event in read_session_file(tmp_path / "out.jsonl")] == [
        "session_opened",
        "voided",
        "voided",
    ]
    assert session_bytes(read_session_file(path)) == (tmp_path / "out.jsonl").read_bytes()


def test_several_files_all_or_nothing_with_every_fault(tmp_path: Path):
    good = file_of(tmp_path, OPENED, BAG_A, name="good.jsonl")
    bad = file_of(tmp_path, line("back", at="2026-03-01"), "oops", name="bad.jsonl")
    with SqliteJournal(tmp_path / "j") as journal:
        with pytest.raises(Refused) as caught:
            import_files(journal, [good, bad, tmp_path / "none.jsonl"])
        assert [(Path(f.where).name, f.line) for f in caught.value.refusals] == [
            ("bad.jsonl", 1),
            ("bad.jsonl", 2),
            ("none.jsonl", 0),
        ]
        assert journal.read_after(0) == []
        assert import_files(journal, [good]).added == 2


def test_what_does_not_go_with_the_journal_is_told_by_file_and_line(tmp_path: Path):
    with SqliteJournal(tmp_path / "j") as journal:
        import_files(journal, [file_of(tmp_path, OPENED, BAG_A)])
        second = file_of(
            tmp_path,
            line("session_opened", "again", patient="demo-12"),
            line("bag_read", "r", line="B", left_ml=1),
            line("note", "bag", text="the id of the bag"),
            name="second.jsonl",
        )
        with pytest.raises(Refused) as caught:
            import_files(journal, [second])
        assert [(f.where, f.line, f.field) for f in caught.value.refusals] == [(str(second), 3, "id")]
        third = file_of(tmp_path, *second.read_text().splitlines()[:2], name="third.jsonl")
        with pytest.raises(Refused) as caught:
            import_files(journal, [third])
        assert [(f.line, f.field) for f in caught.value.refusals] == [(1, "session"), (2, "line")]
        assert len(journal.read_after(0)) == 2


def test_a_file_may_go_on_where_another_file_or_the_journal_ends(tmp_path: Path):
    corrected = line("corrected", "c", target="read", fields={"left_ml": 2000}, reason="misread")
    with SqliteJournal(tmp_path / "j") as journal:
        first = file_of(tmp_path, OPENED, BAG_A, name="a.jsonl")
        second = file_of(tmp_path, READ_A, name="b.jsonl")
        third = file_of(tmp_path, corrected, name="c.jsonl")
        assert import_files(journal, [third, second, first]).added == 4
        assert import_files(journal, [third]).added == 0


def test_an_unknown_session_is_not_exported(tmp_path: Path):
    with SqliteJournal(tmp_path / "j") as journal:
        import_files(journal, [file_of(tmp_path, OPENED)])
        with pytest.raises(Refused) as caught:
            export_file(journal, "bed-9", tmp_path / "out.jsonl")
        assert "name one of s" in str(caught.value)
        assert not (tmp_path / "out.jsonl").exists()
