"""The SQLite journal keeps to what every journal must do."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from cbi_monitor.journal.sqlite import SqliteJournal
from tests.journal.contract import JournalContract
from tests.journal.lines import bag, event, opened


class TestSqlite(JournalContract):
    @pytest.fixture
    def journal(self, tmp_path: Path) -> Iterator[SqliteJournal]:
        with SqliteJournal(tmp_path / "journal.sqlite") as journal:
            yield journal


def test_what_was_saved_is_there_after_opening_again(tmp_path: Path):
    path = tmp_path / "journal.sqlite"
    with SqliteJournal(path) as first:
        first.append([opened(), bag()])
        name = first.workstation
    with SqliteJournal(path) as second:
        assert [stored.event for stored in second.read_after()] == [opened(), bag()]
        assert second.workstation == name
        second.append([event("bag_read", "r", line="A", left_ml=1)])
        assert second.verify().whole


def test_another_journal_object_sees_what_one_saved(tmp_path: Path):
    with SqliteJournal(tmp_path / "j") as one, SqliteJournal(tmp_path / "j") as other:
        one.append([opened()])
        assert [stored.seq for stored in other.read_after(0)] == [1]
        other.append([bag()])
        one.append([event("bag_read", "r", line="A", left_ml=1)])
        assert one.read_after(1) == other.read_after(1)
        assert one.verify().whole


def test_each_workstation_has_a_chain_of_its_own(tmp_path: Path):
    with SqliteJournal(tmp_path / "j", workstation="desk") as desk, SqliteJournal(tmp_path / "j") as cart:
        desk.append([opened()])
        cart.append([bag(), event("back", "b")])
        desk.append([event("back", "c")])
        verdict = desk.verify()
        assert verdict.whole
        assert verdict.head.keys() == {"desk", cart.workstation}
        rows = desk._connection.execute(
            "SELECT seq, workstation = 'desk', link FROM entries ORDER BY seq"
        ).fetchall()
        assert rows == [(1, 1, 1), (2, 0, 1), (3, 0, 2), (4, 1, 2)]


def test_opening_and_saving_load_no_table_library(tmp_path: Path):
    """The ward's window must not wait for pandas, which sqlite-utils loads where it finds it."""
    path = tmp_path / "journal.sqlite"
    SqliteJournal(path).close()
    asked = (
        "import sys; from cbi_monitor.journal.sqlite import SqliteJournal; from tests.journal.lines import opened;"
        "j = SqliteJournal(sys.argv[1]); j.append([opened()]); j.read_after(0);"
        "print(sorted({'pandas', 'numpy', 'sqlite_utils', 'structlog', 'fluent'} & sys.modules.keys()))"
    )
    house = Path(__file__).parents[2]
    told = subprocess.run(
        [sys.executable, "-c", asked, str(path)], capture_output=True, text=True, check=True, cwd=house
    )
    assert told.stdout.strip() == "[]"


def test_several_threads_may_use_one_journal(tmp_path: Path):
    with SqliteJournal(tmp_path / "j") as journal:
        threads = [
            threading.Thread(
                target=lambda n=n: [journal.append([event("back", f"{n}-{m}")]) for m in range(20)]
            )
            for n in range(4)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert len(journal.read_after(0)) == 80
        assert journal.verify().whole
