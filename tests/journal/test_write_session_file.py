"""Session files are written in canonical form, whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cbi_monitor.journal.codec import parse_bytes, read_session_file, session_bytes, write_session_file
from cbi_monitor.model.canonical import order_key
from cbi_monitor.model.events import Event
from tests.journal.lines import bag, event, opened
from tests.strategies import charts, events


@settings(max_examples=40)
@given(st.lists(events(), max_size=5, unique_by=lambda one: one.id))
def test_what_was_written_is_read_back(some: list[Event]):
    parsed = parse_bytes(session_bytes(some), where="x")
    assert [entry.event for entry in parsed.entries] == sorted(some, key=order_key)


@settings(max_examples=40)
@given(charts(most=8))
def test_a_chart_that_a_journal_takes_is_read_from_its_file_and_written_to_the_same_bytes(chart: list[Event]):
    written = session_bytes(chart)
    path = Path(os.environ["XDG_CACHE_HOME"]) / "chart.jsonl"
    path.parent.mkdir(parents=True, exist_ok=True)
    write_session_file(path, reversed(chart))
    assert path.read_bytes() == written
    assert session_bytes(read_session_file(path)) == written


def test_entries_without_ids_get_them(tmp_path: Path):
    bare = [opened().model_copy(update={"id": ""}), bag().model_copy(update={"id": ""})]
    write_session_file(tmp_path / "a", bare)
    assert all(one.id for one in read_session_file(tmp_path / "a"))


def test_the_old_file_stands_where_the_new_one_could_not_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    path = tmp_path / "chart.jsonl"
    write_session_file(path, [opened()])
    before = path.read_bytes()

    def no_room(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", no_room)
    with pytest.raises(OSError, match="No space"):
        write_session_file(path, [opened(), bag(), event("back", "b")])
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["chart.jsonl"]


def test_no_folder_to_write_into(tmp_path: Path):
    with pytest.raises(OSError, match="No such file"):
        write_session_file(tmp_path / "none" / "chart.jsonl", [opened()])
