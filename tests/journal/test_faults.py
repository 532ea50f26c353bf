"""A disk or database that fails: never "saved", always a fault with a reference."""

from __future__ import annotations

import resource
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from cbi_monitor.journal.migrations import SCHEMA
from cbi_monitor.journal.port import Fault
from cbi_monitor.journal.sqlite import SqliteJournal
from tests.journal.lines import bag, event, opened


def fault_at_opening(path: Path, **how: bool) -> Fault:
    with pytest.raises(Fault) as caught:
        SqliteJournal(path, **how)
    assert str(path) in str(caught.value)
    assert caught.value.reference in str(caught.value)
    return caught.value


def big(entry: str) -> object:
    return event("note", entry, text="x" * 4000)


def test_a_full_database_is_not_saved_and_goes_on_once_there_is_room(tmp_path: Path):
    with SqliteJournal(tmp_path / "j") as journal:
        journal.append([opened()])
        pages = journal._connection.execute("PRAGMA page_count").fetchone()[0]
        journal._connection.execute(f"PRAGMA max_page_count = {pages + 2}")
        with pytest.raises(Fault) as caught:
            journal.append([big(f"n{n}") for n in range(5)])
        assert caught.value.kind == "full"
        assert "Nothing was saved" in str(caught.value)
        assert [stored.event for stored in journal.read_after(0)] == [opened()]
        journal._connection.execute(f"PRAGMA max_page_count = {pages + 200}")
        assert journal.append([big(f"n{n}") for n in range(5)]).seq == 6
        assert journal.verify().whole


FULL_DISK = """
import resource, signal, sys
from pathlib import Path
from cbi_monitor.journal.port import Fault
from cbi_monitor.journal.sqlite import SqliteJournal
from tests.journal.lines import event, opened
path = Path(sys.argv[1])
journal = SqliteJournal(path)
journal.append([opened()])
wal = path.with_name(path.name + "-wal").stat().st_size
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (wal + 6000, resource.getrlimit(resource.RLIMIT_FSIZE)[1]))
try:
    journal.append([event("note", f"n{n}", text="x" * 4000) for n in range(5)])
except Fault as fault:
    print(fault.kind, len(journal.read_after(0)))
"""


def test_a_disk_that_takes_no_more_bytes_is_not_saved(tmp_path: Path):
    """The system itself refuses to let the file grow (RLIMIT_FSIZE), in the middle of a commit."""
    if resource.getrlimit(resource.RLIMIT_FSIZE)[1] != resource.RLIM_INFINITY:
        pytest.skip("this machine limits file sizes already")
    told = subprocess.run(
        [sys.executable, "-c", FULL_DISK, str(tmp_path / "j")],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[2],
    )
    assert told.stdout.splitlines()[-1] in ("disk 1", "full 1"), told
    with SqliteJournal(tmp_path / "j") as journal:
        assert [stored.event for stored in journal.read_after(0)] == [opened()]
        assert journal.verify().whole


def test_a_journal_held_by_another_program_is_a_fault_after_waiting(tmp_path: Path):
    with SqliteJournal(tmp_path / "j", busy_seconds=0.1) as journal:
        journal.append([opened()])
        other = sqlite3.connect(tmp_path / "j", isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(Fault) as caught:
            journal.append([bag()])
        assert caught.value.kind == "busy"
        assert [stored.event for stored in journal.read_after(0)] == [opened()], "reading never waits"
        other.execute("ROLLBACK")
        other.close()
        assert journal.append([bag()]).seq == 2


def test_a_read_only_journal_is_read_and_not_written(tmp_path: Path):
    with SqliteJournal(tmp_path / "j") as journal:
        journal.append([opened()])
    with SqliteJournal(tmp_path / "j", read_only=True) as journal:
        assert len(journal.read_after(0)) == 1
        assert journal.verify().whole
        with pytest.raises(Fault) as caught:
            journal.append([bag()])
        assert caught.value.kind == "read_only"


@pytest.mark.parametrize("how", [{"create": False}, {"read_only": True}])
def test_no_journal(tmp_path: Path, how: dict[str, bool]):
    assert fault_at_opening(tmp_path / "none", **how).kind == "missing"
    assert not (tmp_path / "none").exists()


def test_a_folder(tmp_path: Path):
    assert fault_at_opening(tmp_path).kind == "disk"


@pytest.mark.parametrize("content", [b"event,at\n" * 200, b"\x00" * 4096])
def test_a_file_that_is_no_database(tmp_path: Path, content: bytes):
    path = tmp_path / "j"
    path.write_bytes(content)
    assert fault_at_opening(path).kind == "not_a_journal"
    assert path.read_bytes() == content


def test_another_programs_database(tmp_path: Path):
    connection = sqlite3.connect(tmp_path / "j")
    connection.execute("CREATE TABLE bookmarks (url)")
    connection.close()
    before = (tmp_path / "j").read_bytes()
    assert fault_at_opening(tmp_path / "j").kind == "not_a_journal"
    assert (tmp_path / "j").read_bytes() == before


def test_a_newer_journal_is_left_alone(tmp_path: Path):
    with SqliteJournal(tmp_path / "j") as journal:
        journal.append([opened()])
    connection = sqlite3.connect(tmp_path / "j")
    connection.execute(f"PRAGMA user_version = {SCHEMA + 1}")
    connection.close()
    fault = fault_at_opening(tmp_path / "j")
    assert fault.kind == "newer"
    assert f"{SCHEMA + 1} > {SCHEMA}" in str(fault)
    assert fault_at_opening(tmp_path / "j", read_only=True).kind == "newer"


def test_a_journal_whose_making_was_cut_off_is_made_anew(tmp_path: Path):
    (tmp_path / "j").touch()
    with SqliteJournal(tmp_path / "j") as journal:
        assert journal.append([opened()]).seq == 1


def test_a_damaged_file_is_a_fault_and_verifying_says_so(tmp_path: Path):
    path = tmp_path / "j"
    with SqliteJournal(path) as journal:
        journal.append([opened(), *(event("note", f"n{n}", text="x" * 3000) for n in range(40))])
    data = bytearray(path.read_bytes())
    half = len(data) // 2 // 4096 * 4096
    data[half : half + 8192] = b"\xa5" * 8192
    path.write_bytes(bytes(data))
    with SqliteJournal(path) as journal:
        assert not journal.verify().whole
        with pytest.raises(Fault) as caught:
            journal.read_after(0)
        assert caught.value.kind == "corrupt"
        assert "damaged" in str(caught.value)


def test_a_fault_stands_in_the_log_under_its_reference(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    fault = fault_at_opening(tmp_path / "none", create=False)
    told = capsys.readouterr()
    assert fault.reference in told.out + told.err
