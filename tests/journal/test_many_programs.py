"""Programs that write at the same time, and programs that are killed while they write."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

from cbi_monitor.journal.sqlite import SqliteJournal

HOUSE = Path(__file__).parents[2]

WRITER = """
import sys
from cbi_monitor.journal.sqlite import SqliteJournal
from tests.journal.lines import event
path, name, rounds = sys.argv[1], sys.argv[2], int(sys.argv[3])
sys.stdin.readline()
with SqliteJournal(path) as journal:
    n = 0
    while n < rounds:
        # Each check is six entries; it counts as saved only once it is told.
        saved = journal.append([event("note", f"{name}-{n}-{m}", session=name, text="x" * 300) for m in range(6)])
        print(n, saved.seq, flush=True)
        n += 1
"""


def writer(path: Path, name: str, rounds: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), name, str(rounds)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=HOUSE,
    )


def test_two_programs_that_make_and_write_one_journal_at_once_both_succeed(tmp_path: Path):
    path = tmp_path / "journal.sqlite"
    both = [writer(path, name, 40) for name in ("desk", "cart")]
    for one in both:
        one.stdin.write("\n")
        one.stdin.flush()
    told = [one.communicate(timeout=120)[0].splitlines() for one in both]
    assert [one.returncode for one in both] == [0, 0]
    assert [len(lines) for lines in told] == [40, 40]
    with SqliteJournal(path) as journal:
        assert journal.verify().whole
        assert len(journal.read_after(0)) == 480
        assert {name: len(journal.events(name)) for name in ("desk", "cart")} == {"desk": 240, "cart": 240}


def test_what_was_told_as_saved_is_there_after_a_kill_and_no_half_check_is(tmp_path: Path):
    path = tmp_path / "journal.sqlite"
    SqliteJournal(path).close()
    for attempt in range(4):
        name = f"w{attempt}"
        one = writer(path, name, 100_000)
        one.stdin.write("\n")
        one.stdin.flush()
        first = one.stdout.readline()
        time.sleep(0.02 + 0.03 * attempt)
        os.kill(one.pid, signal.SIGKILL)
        told = [first, *one.stdout.read().splitlines()]
        one.wait(30)
        one.stdin.close()
        one.stdout.close()
        assert one.returncode == -signal.SIGKILL
        with SqliteJournal(path) as journal:
            entries = journal.events(name)
            # All of what was told is there; the check that was under way when the program died is whole or absent.
            assert len(entries) in (6 * len(told), 6 * len(told) + 6)
            assert journal.verify().whole
